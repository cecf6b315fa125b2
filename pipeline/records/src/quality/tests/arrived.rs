//! Thrust that was spooled up to and held is no number that means "no value".

use super::{clean, flight, row, unknown};
use crate::catalogue::Catalogue;
use crate::testing::channel;

/// Once a second: what goes before, a number held for 28 s, what comes after.
fn held(before: &[f64], number: f64, after: &[f64]) -> Vec<f64> {
    let mut value = before.to_vec();
    value.extend([number; 28]);
    value.extend_from_slice(after);
    value
}

fn unknown_of(value: Vec<f64>) -> usize {
    let time_s = (0..value.len()).map(|second| second as f64).collect();
    let mut flight = flight(vec![("n1_1_pct", channel(time_s, value))]);
    let rows = clean(&mut flight, &Catalogue::default(), None);
    let found = unknown(&flight, "n1_1_pct").len();
    assert_eq!(row(&rows, "n1_1_pct").spikes, found as i64);
    found
}

/// N1 of a take-off again as a flight dynamics library flew it: up by ten a second, held to the last
/// digit, down by twelve.
#[test]
fn go_around_thrust_that_is_spooled_up_to_stays() {
    let up = [36.3, 41.5, 48.5, 57.5, 67.6, 77.7, 87.8];
    let down = [86.7, 74.6, 82.7, 85.3];
    assert_eq!(unknown_of(held(&up, 96.5, &down)), 0);
}

#[test]
fn a_number_entered_from_rest_is_taken_out() {
    let rest = [60.1, 60.2, 60.1, 60.3, 60.2];
    assert_eq!(unknown_of(held(&rest, 96.5, &rest)), 28);
    assert_eq!(unknown_of(held(&rest, 0.0, &rest)), 28);
}

/// While the engine spools, a number far beyond where it was going is no arrival.
#[test]
fn a_number_that_interrupts_a_movement_is_taken_out() {
    let up = [40.1, 42.2, 44.1, 46.3, 48.2, 50.1];
    let down = [52.1, 50.2, 48.1, 46.2];
    assert_eq!(unknown_of(held(&up, 110.0, &down)), 28);
}

/// Moving on one side alone does not excuse the leap on the other.
#[test]
fn an_arrival_that_is_left_by_a_leap_is_taken_out() {
    let up = [57.5, 67.6, 77.7, 87.8];
    let rest = [86.2, 86.3, 86.2, 86.3];
    assert_eq!(unknown_of(held(&up, 96.5, &rest)), 28);
}
