use std::collections::BTreeMap;

use super::*;
use crate::derive::Segment;
use crate::timebase::Grid;

/// Columns once a second from 100 s on, all on the approach.
pub(super) fn columns(values: &[(&str, &[f64])]) -> Columns {
    let n = values.first().map_or(0, |v| v.1.len());
    let columns: BTreeMap<String, Vec<f64>> = values
        .iter()
        .map(|(name, values)| ((*name).to_owned(), values.to_vec()))
        .collect();
    assert!(columns.values().all(|v| v.len() == n));
    Columns {
        grid: Grid {
            start_s: 100.0,
            step_s: 1.0,
            n,
        },
        columns,
        segment: vec![Segment::Approach; n],
    }
}

#[test]
fn a_value_between_samples_is_on_the_line_and_never_made_up() {
    let columns = columns(&[("cas_kt", &[140.0, 138.0, f64::NAN, 130.0])]);
    assert_eq!(at(&columns, "cas_kt", 100.0), Some(140.0));
    assert_eq!(at(&columns, "cas_kt", 100.5), Some(139.0));
    assert_eq!(at(&columns, "cas_kt", 101.5), None);
    assert_eq!(at(&columns, "cas_kt", 103.0), Some(130.0));
    assert_eq!(at(&columns, "cas_kt", 103.5), None);
    assert_eq!(at(&columns, "cas_kt", 99.0), None);
    assert_eq!(at(&columns, "vapp_kt", 100.0), None);
}

/// A row filled from columns.
pub(super) fn filled(columns: &Columns) -> ApproachRow {
    let mut row = ApproachRow::default();
    fill(&mut row, columns);
    row
}

/// `n` samples of one value.
pub(super) fn steady(n: usize, value: f64) -> Vec<f64> {
    vec![value; n]
}

/// From `from_nm` inwards, a tenth of a mile a sample: 360 kt, so that ten samples are a mile.
pub(super) fn inwards(n: usize, from_nm: f64) -> Vec<f64> {
    (0..n).map(|k| from_nm - 0.1 * k as f64).collect()
}

/// One value in some samples, another in the rest.
pub(super) fn in_samples(
    n: usize,
    range: std::ops::Range<usize>,
    inside: f64,
    outside: f64,
) -> Vec<f64> {
    (0..n)
        .map(|k| if range.contains(&k) { inside } else { outside })
        .collect()
}

pub(super) fn close(actual: Option<f64>, expected: f64) {
    let actual = actual.unwrap();
    assert!(
        (actual - expected).abs() < 1e-6,
        "{actual} is not {expected}"
    );
}

#[test]
fn nothing_is_said_of_an_approach_without_columns() {
    let empty = columns(&[("cas_kt", &[140.0, 139.0])]);
    assert_eq!(filled(&empty), ApproachRow::default());
}

#[test]
fn only_the_approach_segment_counts() {
    let (distance, thrust) = (inwards(40, 10.0), steady(40, 60.0));
    let out = in_samples(40, 30..40, 1.0, 0.0);
    let mut flown = columns(&[
        ("distance_to_threshold_nm", &distance),
        ("thrust_pct", &thrust),
        ("thrust_over_min_pct", &steady(40, 15.0)),
        ("speedbrake", &out),
    ]);
    close(filled(&flown).speedbrake_against_thrust_s, 10.0);
    flown.segment[30..].fill(Segment::Roll);
    close(filled(&flown).speedbrake_against_thrust_s, 0.0);
}

mod any;
mod drag;
mod energy;
mod places;
