//! What DataFusion expects of the accumulator beyond the result.

use arrow::array::BooleanArray;
use datafusion::logical_expr::{Accumulator, EmitTo, GroupsAccumulator};

use super::oracle::oracle;
use super::*;
use crate::runs::accumulator::SingleAccumulator;
use crate::runs::layout::result_type;
use crate::runs::{Decoder, decode};

/// All samples in one batch, each group under its key.
fn filled(samples: &[Sample], groups: usize) -> RunsAccumulator {
    let mut runs = accumulator();
    let indices: Vec<_> = samples.iter().map(|s| s.group as usize).collect();
    runs.update_batch(&arguments(samples), &indices, None, groups)
        .unwrap();
    runs
}

#[test]
fn groups_are_emitted_in_portions_and_the_rest_move_down() {
    let samples = fleet(5, 40);
    let (early, late): (Vec<Sample>, Vec<Sample>) =
        samples.iter().partition(|s| s.group < 2 || s.k < 20);
    let expected = oracle(&samples);
    let mut runs = filled(&early, 5);
    let first = Decoder::new(&runs.evaluate(EmitTo::First(2)).unwrap()).unwrap();
    assert_eq!(first.rows(), 2);
    let moved: Vec<_> = late.iter().map(|s| s.group as usize - 2).collect();
    runs.update_batch(&arguments(&late), &moved, None, 3)
        .unwrap();
    let rest = Decoder::new(&runs.evaluate(EmitTo::All).unwrap()).unwrap();
    let rows: Vec<_> = (0..2)
        .map(|row| first.row(row))
        .chain((0..3).map(|r| rest.row(r)))
        .collect();
    for (row, expected) in rows.iter().zip(expected.values()) {
        assert_eq!(exact(row), exact(expected));
    }
    assert_eq!(
        runs.evaluate(EmitTo::All).unwrap().len(),
        0,
        "everything was given away"
    );
}

#[test]
fn a_row_as_state_is_a_run_of_one_sample_and_a_filtered_one_nothing() {
    let samples = fleet(1, 30);
    let passes: Vec<bool> = (0..samples.len()).map(|row| row % 3 != 0).collect();
    let filter = BooleanArray::from(passes.clone());
    let state = accumulator()
        .convert_to_state(&arguments(&samples), Some(&filter))
        .unwrap();
    assert_eq!(state.len(), 3);
    assert!(state.iter().all(|column| column.len() == samples.len()));
    let mut merged = accumulator();
    merged
        .merge_batch(&state, &vec![0; samples.len()], 1)
        .unwrap();
    let kept: Vec<_> = samples
        .iter()
        .zip(passes)
        .filter(|(_, passes)| *passes)
        .map(|(s, _)| *s)
        .collect();
    let result = merged.evaluate(EmitTo::All).unwrap();
    assert_eq!(
        exact(&decode(&result, 0).unwrap()),
        exact(&oracle(&kept)[&0])
    );
}

#[test]
fn groups_without_samples_have_empty_lists() {
    let mut runs = accumulator();
    let nothing = BooleanArray::from(vec![false]);
    runs.update_batch(
        &arguments(&[sample(0, Some(1), None)]),
        &[1],
        Some(&nothing),
        3,
    )
    .unwrap();
    let result = runs.evaluate(EmitTo::All).unwrap();
    assert_eq!((result.len(), result.null_count()), (3, 0));
    assert_eq!(decode(&result, 1).unwrap(), vec![vec![], vec![], vec![]]);
}

#[test]
fn results_are_decoded_from_slices_and_nulls_too() {
    let samples = fleet(4, 20);
    let result = filled(&samples, 4).evaluate(EmitTo::All).unwrap();
    let expected = oracle(&samples);
    let sliced = result.slice(2, 2);
    assert_eq!(exact(&decode(&sliced, 1).unwrap()), exact(&expected[&3]));
    let null = arrow::array::new_null_array(result.data_type(), 1);
    assert_eq!(decode(&null, 0).unwrap(), vec![vec![], vec![], vec![]]);
    let decoder = Decoder::new(&sliced).unwrap();
    assert_eq!(decoder.layouts().cloned().collect::<Vec<_>>(), layouts());
}

#[test]
fn states_are_merged_from_slices_and_nulls_too() {
    let samples = fleet(4, 20);
    let state = filled(&samples, 4).state(EmitTo::All).unwrap();
    let sliced: Vec<_> = state.iter().map(|column| column.slice(1, 2)).collect();
    let nulls: Vec<_> = state
        .iter()
        .map(|c| arrow::array::new_null_array(c.data_type(), 1))
        .collect();
    let mut merged = accumulator();
    merged.merge_batch(&sliced, &[1, 0], 2).unwrap();
    merged.merge_batch(&nulls, &[0], 2).unwrap();
    let result = merged.evaluate(EmitTo::All).unwrap();
    let expected = oracle(&samples);
    assert_eq!(exact(&decode(&result, 0).unwrap()), exact(&expected[&2]));
    assert_eq!(exact(&decode(&result, 1).unwrap()), exact(&expected[&1]));
}

#[test]
fn scattered_samples_are_put_in_order_before_they_pile_up() {
    // Every other sample first, then those between: until they join, each is its own fragment.
    let samples: Vec<_> = (0..60_000)
        .map(|k| sample(k, Some(1), Some(k as f32)))
        .collect();
    let mut runs = accumulator();
    let mut largest = 0;
    for half in 0..2 {
        let half: Vec<_> = samples.iter().skip(half).step_by(2).copied().collect();
        for batch in half.chunks(1_000) {
            runs.update_batch(&arguments(batch), &vec![0; batch.len()], None, 1)
                .unwrap();
            largest = largest.max(runs.size());
        }
    }
    let joined = runs.size();
    assert!(
        largest > 30_000 * 12,
        "thirty thousand fragments fit in {largest} bytes?"
    );
    let result = runs.evaluate(EmitTo::All).unwrap();
    assert_eq!(
        exact(&decode(&result, 0).unwrap()),
        exact(&oracle(&samples)[&0])
    );
    let empty = runs.size();
    assert!(
        empty < joined && empty < 2_000,
        "{empty} bytes after everything was given away"
    );
}

#[test]
fn asking_the_single_accumulator_takes_nothing_away() {
    let samples = fleet(1, 25);
    let mut single = SingleAccumulator::new(&result_type(&layouts())).unwrap();
    let empty = single.evaluate().unwrap().to_array().unwrap();
    assert_eq!(decode(&empty, 0).unwrap(), vec![vec![], vec![], vec![]]);
    for batch in samples.chunks(7) {
        single.update_batch(&arguments(batch)).unwrap();
    }
    for _ in 0..2 {
        let result = single.evaluate().unwrap().to_array().unwrap();
        assert_eq!(
            exact(&decode(&result, 0).unwrap()),
            exact(&oracle(&samples)[&0])
        );
    }
    assert!(single.size() > 0);
}
