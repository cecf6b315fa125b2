use super::*;
use crate::testing::channel;

fn series(step_s: f64, values: &[f64]) -> Series {
    let time_s: Vec<f64> = (0..values.len()).map(|i| i as f64 * step_s).collect();
    Series::known(&channel(time_s, values.to_vec()))
}

fn contact(time_s: f64) -> Contact {
    Contact {
        time_s,
        open_s: 0.125,
        evidence: Evidence::Jolt,
    }
}

fn close(actual: Option<f64>, expected: f64) {
    let actual = actual.unwrap();
    assert!(
        (actual - expected).abs() < 1e-6,
        "{actual} is not {expected}"
    );
}

/// 3 ft a second to a reading of 2 ft on the ground at 4 s: 180 ft/min, whatever the offset.
#[test]
fn sink_is_the_slope_of_radio_altitude_to_its_reading_on_the_ground() {
    let slow = series(1.0, &[14.0, 11.0, 8.0, 5.0, 2.0, 2.0, 2.0, 2.0]);
    close(touchdown_sink_fpm(&slow, contact(4.0)), 180.0);
    let quick: Vec<f64> = (0..40)
        .map(|i| (14.0 - 0.75 * f64::from(i)).max(2.0))
        .collect();
    close(
        touchdown_sink_fpm(&series(0.25, &quick), contact(4.0)),
        180.0,
    );
}

/// A flare: 10 ft/s until 2 s before the contact, 2 ft/s after it. At four a second only the flare counts.
#[test]
fn only_the_last_moment_counts() {
    let height = |i: i32| {
        let left_s = 10.0 - 0.25 * f64::from(i);
        if left_s > 2.0 {
            4.0 + 10.0 * (left_s - 2.0)
        } else {
            (2.0 * left_s).max(0.0)
        }
    };
    let values: Vec<f64> = (0..60).map(height).collect();
    close(
        touchdown_sink_fpm(&series(0.25, &values), contact(10.0)),
        120.0,
    );
}

#[test]
fn sink_is_unknown_where_radio_altitude_or_the_moment_is_too_coarse() {
    let every_two_s = series(2.0, &[14.0, 8.0, 2.0, 2.0, 2.0]);
    assert_eq!(touchdown_sink_fpm(&every_two_s, contact(4.0)), None);
    let radio = series(1.0, &[14.0, 11.0, 8.0, 5.0, 2.0, 2.0]);
    let open = Contact {
        open_s: 1.0,
        ..contact(4.0)
    };
    assert_eq!(touchdown_sink_fpm(&radio, open), None);
    let slow = Contact {
        evidence: Evidence::Slow,
        ..contact(4.0)
    };
    assert_eq!(touchdown_sink_fpm(&radio, slow), None);
    // Silent before the contact, and after it.
    let silent = series(1.0, &[14.0, f64::NAN, f64::NAN, f64::NAN, 2.0, 2.0, 2.0]);
    assert_eq!(touchdown_sink_fpm(&silent, contact(4.0)), None);
    let ends = series(1.0, &[14.0, 11.0, 8.0, 5.0]);
    assert_eq!(touchdown_sink_fpm(&ends, contact(4.0)), None);
    assert_eq!(touchdown_sink_fpm(&Series::default(), contact(4.0)), None);
}

/// Radio altitude and switch once a second, contact at 2 s.
fn counted(radio: &[f64], on_ground: &[f64]) -> Option<i32> {
    let mut signals = Signals::default();
    signals.radio = series(1.0, radio);
    signals.on_ground = series(1.0, on_ground);
    bounces(&signals, contact(2.0))
}

const DOWN: [f64; 14] = [1.0; 14];

fn with(mut values: [f64; 24], changes: &[(usize, f64)]) -> [f64; 24] {
    for &(i, value) in changes {
        values[i] = value;
    }
    values
}

fn roll() -> ([f64; 24], [f64; 24]) {
    let radio = with([0.0; 24], &[(0, 20.0), (1, 8.0)]);
    let switch = with([1.0; 24], &[(0, 0.0), (1, 0.0)]);
    (radio, switch)
}

#[test]
fn each_return_to_the_runway_is_a_bounce() {
    let (radio, switch) = roll();
    assert_eq!(counted(&radio, &switch), Some(0));
    let once = with(switch, &[(4, 0.0), (5, 0.0)]);
    let up = with(radio, &[(4, 4.0), (5, 6.0)]);
    assert_eq!(counted(&up, &once), Some(1));
    let twice = with(once, &[(8, 0.0)]);
    let again = with(up, &[(8, 3.0)]);
    assert_eq!(counted(&again, &twice), Some(2));
}

#[test]
fn a_switch_that_opens_on_the_ground_flickers() {
    let (radio, switch) = roll();
    let flickers = with(switch, &[(2, 0.0), (4, 0.0), (7, 0.0)]);
    assert_eq!(counted(&radio, &flickers), Some(0));
}

#[test]
fn more_than_60_ft_or_10_s_is_no_bounce() {
    let (radio, switch) = roll();
    let aloft = with(switch, &[(4, 0.0), (5, 0.0), (6, 0.0)]);
    let high = with(radio, &[(4, 40.0), (5, 61.0), (6, 20.0)]);
    assert_eq!(counted(&high, &aloft), Some(0));
    let low = with(radio, &[(4, 40.0), (5, 60.0), (6, 20.0)]);
    assert_eq!(counted(&low, &aloft), Some(1));
    let mut long = (radio, switch);
    for i in 3..15 {
        long.0[i] = 10.0;
        long.1[i] = 0.0;
    }
    assert_eq!(counted(&long.0, &long.1), Some(0));
}

#[test]
fn bounces_are_unknown_without_the_seconds_after_the_contact() {
    let (radio, switch) = roll();
    assert_eq!(counted(&radio, &[]), None);
    assert_eq!(counted(&[], &switch), None);
    assert_eq!(counted(&radio, &DOWN[..6]), None);
    let hole = with(switch, &[(5, f64::NAN), (6, f64::NAN), (7, f64::NAN)]);
    assert_eq!(counted(&radio, &hole), None);
}
