//! What a run is, case by case.

use super::*;
use crate::runs::{Extreme, RunValue};

fn spans(runs: &[Run]) -> Vec<(i32, i32, Option<i8>)> {
    runs.iter()
        .map(|run| (run.k_first, run.k_last, run.code))
        .collect()
}

/// Runs of `s0` over samples 0, 1, … with these codes and nothing known.
fn coded(codes: &[Option<i8>]) -> Vec<(i32, i32, Option<i8>)> {
    let samples: Vec<_> = codes
        .iter()
        .enumerate()
        .map(|(k, code)| sample(k as i32, *code, None))
        .collect();
    spans(&compress(&samples)[0])
}

#[test]
fn a_change_of_code_begins_a_run() {
    assert_eq!(
        coded(&[Some(1), Some(1), Some(0), Some(1)]),
        [(0, 1, Some(1)), (2, 2, Some(0)), (3, 3, Some(1))]
    );
}

#[test]
fn an_unknown_code_is_a_code_of_its_own() {
    assert_eq!(
        coded(&[Some(0), None, None, Some(0), Some(-128), None]),
        [
            (0, 0, Some(0)),
            (1, 2, None),
            (3, 3, Some(0)),
            (4, 4, Some(-128)),
            (5, 5, None)
        ]
    );
}

#[test]
fn an_absent_sample_separates_runs() {
    let samples = [
        sample(0, Some(1), None),
        sample(1, Some(1), None),
        sample(3, Some(1), None),
    ];
    let expected = [(0, 1, Some(1)), (3, 3, Some(1))];
    for runs in compress(&samples) {
        assert_eq!(spans(&runs), expected);
    }
}

#[test]
fn the_order_of_rows_does_not_matter() {
    let samples: Vec<_> = [4, 2, 0, 3, 1]
        .map(|k| sample(k, Some(1), Some(k as f32)))
        .into_iter()
        .collect();
    let runs = &compress(&samples)[0];
    assert_eq!(spans(runs), [(0, 4, Some(1))]);
    assert_eq!(
        (runs[0].values[0].first, runs[0].values[0].last),
        (Some(0.0), Some(4.0))
    );
}

#[test]
fn extremes_carry_what_was_true_there() {
    let at = |k, a, x, y| Sample {
        x,
        y,
        ..sample(k, Some(1), a)
    };
    let runs = compress(&[
        at(5, None, Some(50.0), Some(0.0)),
        at(6, Some(2.0), Some(51.0), None),
        at(7, Some(9.0), None, Some(1.0)),
        at(8, Some(2.0), Some(53.0), Some(2.0)),
        at(9, Some(9.0), Some(54.0), Some(3.0)),
        at(10, None, Some(55.0), Some(4.0)),
    ]);
    let expected = RunValue {
        first: None,
        last: None,
        min: Some(Extreme {
            value: 2.0,
            k: 6,
            carried: vec![Some(51.0), None],
        }),
        max: Some(Extreme {
            value: 9.0,
            k: 7,
            carried: vec![None, Some(1.0)],
        }),
        known: 4,
    };
    assert_eq!(runs[0][0].values[0], expected);
}

#[test]
fn a_value_known_nowhere_has_no_extremes() {
    let runs = compress(&[sample(0, Some(1), None), sample(1, Some(1), None)]);
    let unknown = RunValue {
        first: None,
        last: None,
        min: None,
        max: None,
        known: 0,
    };
    assert_eq!(runs[0][0].values, [unknown.clone(), unknown]);
}

#[test]
fn infinities_are_values_and_equal_zeros_keep_the_first() {
    let runs = compress(&[
        sample(0, Some(1), Some(f32::INFINITY)),
        sample(1, Some(1), Some(f32::INFINITY)),
    ]);
    let min = runs[0][0].values[0].min.as_ref().unwrap();
    assert_eq!(
        (min.value, min.k, runs[0][0].values[0].known),
        (f32::INFINITY, 0, 2)
    );

    let zeros = [
        sample(0, Some(1), Some(0.0)),
        sample(1, Some(1), Some(-0.0)),
    ];
    for samples in [vec![zeros[0], zeros[1]], vec![zeros[1], zeros[0]]] {
        let value = &compress(&samples)[0][0].values[0];
        for extreme in [&value.min, &value.max] {
            let extreme = extreme.as_ref().unwrap();
            assert_eq!((extreme.value.to_bits(), extreme.k), (0, 0));
        }
    }
}

#[test]
fn long_runs_find_the_first_of_equal_extremes() {
    // Longer than the lanes in which extremes are looked for, with the ties in different lanes.
    let samples: Vec<_> = (0..100)
        .map(|k| sample(k, Some(1), Some(((k * 7) % 10) as f32)))
        .collect();
    let value = &compress(&samples)[0][0].values[0];
    let (min, max) = (value.min.as_ref().unwrap(), value.max.as_ref().unwrap());
    assert_eq!(
        (min.value, min.k, max.value, max.k, value.known),
        (0.0, 0, 9.0, 7, 100)
    );
}

#[test]
fn sample_numbers_may_begin_anywhere_and_end_at_the_last_number() {
    let k = i32::MAX - 1;
    let samples = [
        sample(k + 1, Some(1), None),
        sample(k, Some(1), None),
        sample(i32::MIN, Some(1), None),
    ];
    assert_eq!(
        spans(&compress(&samples)[0]),
        [(i32::MIN, i32::MIN, Some(1)), (k, k + 1, Some(1))]
    );
}
