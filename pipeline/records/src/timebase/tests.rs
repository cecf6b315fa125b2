use proptest::prelude::*;

use super::*;

fn channel(samples: &[(f64, f64)]) -> Channel {
    let time_s: Vec<f64> = samples.iter().map(|s| s.0).collect();
    let value: Vec<f64> = samples.iter().map(|s| s.1).collect();
    let interval_s = interval_s(&time_s, &value);
    Channel {
        time_s,
        value,
        interval_s,
        holds: false,
    }
}

fn same(a: &[f64], b: &[f64]) {
    assert_eq!(a.len(), b.len());
    for (a, b) in a.iter().zip(b) {
        assert!(
            (a - b).abs() < 1e-9 || (a.is_nan() && b.is_nan()),
            "{a} is not {b}"
        );
    }
}

const GRID: Grid = Grid {
    start_s: 0.0,
    step_s: 1.0,
    n: 5,
};

#[test]
fn interpolates_between_samples_and_not_beyond_them() {
    let c = channel(&[(0.5, 10.0), (2.5, 30.0), (3.5, 20.0)]);
    same(
        &sample(&c, Kind::Continuous, &GRID),
        &[f64::NAN, 15.0, 25.0, 25.0, f64::NAN],
    );
}

#[test]
fn a_missing_sample_is_bridged_and_a_gap_is_not() {
    let bridged = channel(&[
        (0.0, 0.0),
        (1.0, 1.0),
        (2.0, f64::NAN),
        (3.0, 3.0),
        (4.0, 4.0),
    ]);
    same(
        &sample(&bridged, Kind::Continuous, &GRID),
        &[0.0, 1.0, 2.0, 3.0, 4.0],
    );
    let mut gap = channel(&[(0.0, 0.0), (1.0, 1.0), (4.0, 4.0)]);
    gap.interval_s = 1.0;
    same(
        &sample(&gap, Kind::Continuous, &GRID),
        &[0.0, 1.0, f64::NAN, f64::NAN, 4.0],
    );
}

#[test]
fn states_hold_for_two_and_a_half_intervals_unless_recorded_on_change() {
    let mut c = channel(&[(0.0, 1.0), (1.0, 2.0)]);
    same(
        &sample(&c, Kind::Discrete, &GRID),
        &[1.0, 2.0, 2.0, 2.0, f64::NAN],
    );
    c.holds = true;
    same(
        &sample(&c, Kind::Discrete, &GRID),
        &[1.0, 2.0, 2.0, 2.0, 2.0],
    );
}

#[test]
fn headings_go_the_shorter_way_across_north() {
    let c = channel(&[(0.0, 350.0), (2.0, 20.0), (4.0, 340.0)]);
    same(
        &sample(&c, Kind::Circular, &GRID),
        &[350.0, 5.0, 20.0, 0.0, 340.0],
    );
    let date_line = channel(&[(0.0, 179.0), (2.0, -179.0), (4.0, -179.0)]);
    same(
        &sample(&date_line, Kind::Longitude, &GRID),
        &[179.0, -180.0, -179.0, -179.0, -179.0],
    );
}

#[test]
fn between_two_different_states_the_state_is_uncertain() {
    let c = channel(&[(0.0, 0.0), (2.0, 0.0), (4.0, 1.0)]);
    same(&uncertain(&c, &GRID), &[0.0, 0.0, 0.0, 1.0, 0.0]);
}

#[test]
fn a_grid_covers_whole_steps_of_record_time() {
    assert_eq!(
        Grid::covering(10.4, 13.0, 1),
        Grid {
            start_s: 11.0,
            step_s: 1.0,
            n: 3
        }
    );
    assert_eq!(
        Grid::covering(10.4, 11.0, 4),
        Grid {
            start_s: 10.5,
            step_s: 0.25,
            n: 3
        }
    );
    assert_eq!(Grid::covering(10.4, 10.6, 1).n, 0);
}

proptest! {
    /// The highest and lowest native sample on the grid's span survive any down-sampling.
    #[test]
    fn resampling_never_loses_a_peak(
        values in prop::collection::vec(-3.0..6.0_f64, 2..200),
        offset in 0.0..1.0_f64,
        rate in prop::sample::select(vec![1_u32, 2, 4]),
    ) {
        let samples: Vec<_> =
            values.iter().enumerate().map(|(i, &v)| (offset + i as f64 * 0.125, v)).collect();
        let end = samples[samples.len() - 1].0;
        let grid = Grid::covering(0.0, end + 1.0, rate);
        let (low, high) = peaks(&channel(&samples), &grid);
        let highest = values.iter().copied().fold(f64::NAN, f64::max);
        let lowest = values.iter().copied().fold(f64::NAN, f64::min);
        prop_assert_eq!(high.iter().copied().fold(f64::NAN, f64::max), highest);
        prop_assert_eq!(low.iter().copied().fold(f64::NAN, f64::min), lowest);
    }

    /// A grid time inside a hole longer than 2.5 intervals is unknown, whatever the values.
    #[test]
    fn interpolation_never_crosses_a_gap(
        values in prop::collection::vec(0.0..100.0_f64, 20..60),
        hole in 3_usize..15,
        at in 5_usize..10,
    ) {
        let time = |i: usize| i as f64 + if i >= at { hole as f64 } else { 0.0 };
        let samples: Vec<_> = values.iter().enumerate().map(|(i, &v)| (time(i), v)).collect();
        let grid = Grid::covering(0.0, time(values.len() - 1), 1);
        for kind in [Kind::Continuous, Kind::Circular] {
            let out = sample(&channel(&samples), kind, &grid);
            for (k, value) in out.iter().enumerate() {
                prop_assert_eq!(value.is_nan(), k >= at && k < at + hole, "at {}", k);
            }
        }
    }
}
