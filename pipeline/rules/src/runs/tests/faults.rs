//! What is refused, and in which words.

use arrow::array::BooleanArray;
use arrow::datatypes::{Field, Fields};
use datafusion::logical_expr::{EmitTo, GroupsAccumulator};

use super::*;
use crate::runs::{RunsError, runs_udaf};

fn push(k: Vec<Option<i32>>, filter: Option<&BooleanArray>) -> Result<ArrayRef, String> {
    let samples: Vec<_> = (0..k.len())
        .map(|k| sample(k as i32, Some(1), None))
        .collect();
    let mut arguments = arguments(&samples);
    let groups = vec![0; k.len()];
    arguments[0] = Arc::new(Int32Array::from(k));
    let mut runs = accumulator();
    runs.update_batch(&arguments, &groups, filter, 1)
        .map_err(|e| e.to_string())?;
    runs.evaluate(EmitTo::All).map_err(|e| e.to_string())
}

#[test]
fn a_null_sample_number_is_an_error_unless_filtered_out() {
    let error = push(vec![Some(0), None], None).unwrap_err();
    assert!(error.contains("k is null in row 1"), "{error}");
    let filter = BooleanArray::from(vec![Some(true), Some(false)]);
    assert!(push(vec![Some(0), None], Some(&filter)).is_ok());
    // A null in the filter does not pass either.
    let filter = BooleanArray::from(vec![Some(true), None]);
    assert!(push(vec![Some(0), None], Some(&filter)).is_ok());
}

#[test]
fn a_repeated_sample_is_an_error_that_names_it() {
    for k in [vec![3, 4, 5, 4], vec![4, 3, 4, 5], vec![3, 4, 4, 5]] {
        let error = push(k.into_iter().map(Some).collect(), None).unwrap_err();
        assert!(
            error.contains("sample number k = 4 occurs twice"),
            "{error}"
        );
    }
}

#[test]
fn a_sample_repeated_in_another_partition_is_found_when_merging() {
    let stretch = |from: i32, to: i32| {
        let samples: Vec<_> = (from..to).map(|k| sample(k, Some(1), None)).collect();
        let mut runs = accumulator();
        runs.update_batch(&arguments(&samples), &vec![0; samples.len()], None, 1)
            .unwrap();
        runs.state(EmitTo::All).unwrap()
    };
    let mut merged = accumulator();
    merged.merge_batch(&stretch(0, 10), &[0], 1).unwrap();
    merged.merge_batch(&stretch(9, 20), &[0], 1).unwrap();
    let error = merged.evaluate(EmitTo::All).unwrap_err();
    let expected = RunsError::RepeatedK {
        k: 9,
        first_from: 0,
        first_to: 9,
        again_from: 9,
        again_to: 19,
    };
    assert!(error.to_string().contains(&expected.to_string()), "{error}");
}

fn coerce(arguments: &[DataType]) -> Result<Vec<DataType>, String> {
    runs_udaf()
        .coerce_types(arguments)
        .map_err(|error| error.to_string())
}

fn structure(fields: &[(&str, DataType)]) -> DataType {
    DataType::Struct(
        fields
            .iter()
            .map(|(name, of)| Field::new(*name, of.clone(), true))
            .collect::<Fields>(),
    )
}

#[test]
fn other_integers_become_the_sample_number() {
    let s = structure(&[("code", DataType::Int8), ("v_a", DataType::Float32)]);
    for k in [DataType::Int16, DataType::Int32, DataType::Int64] {
        assert_eq!(
            coerce(&[k, s.clone()]).unwrap(),
            [DataType::Int32, s.clone()]
        );
    }
    let error = coerce(&[DataType::Float64, s]).unwrap_err();
    assert!(error.contains("k must be Int32"), "{error}");
}

#[test]
fn arguments_of_another_shape_are_refused() {
    use DataType::{Float32, Float64, Int8, Int32, Utf8};
    let cases = [
        (vec![], "at least one struct"),
        (vec![Int8], "argument s0: expected a struct of `code`"),
        (
            vec![structure(&[])],
            "the first field must be `code` Int8 or `window` Boolean, found nothing",
        ),
        (
            vec![structure(&[("code", Int32)])],
            "must be `code` Int8 or `window` Boolean, found `code` Int32",
        ),
        (
            vec![structure(&[("code", Int8), ("v_a", Float64)])],
            "found `v_a` Float64: cast it",
        ),
        (
            vec![structure(&[("code", Int8), ("c_t", Utf8)])],
            "found `c_t` Utf8: cast it",
        ),
        (
            vec![structure(&[("code", Int8), ("v_a", Int8)])],
            "expected Float32, found `v_a` Int8: cast it",
        ),
        (
            vec![structure(&[("code", Int8), ("e_a", Float64)])],
            "expected Float32, Int8 or Boolean, found `e_a` Float64: cast it",
        ),
        (
            vec![structure(&[("code", Int8), ("a", Float32)])],
            "neither tracked",
        ),
        (
            vec![structure(&[
                ("code", Int8),
                ("c_a", Float32),
                ("v_a", Float32),
            ])],
            "tracked values come first",
        ),
        (
            vec![structure(&[
                ("code", Int8),
                ("v_a", Float32),
                ("v_a", Float32),
            ])],
            "two fields of a run would be called `v_a_first`",
        ),
        (
            vec![structure(&[
                ("code", Int8),
                ("v_a", Float32),
                ("v_a_min_c", Float32),
                ("c_k", Float32),
                ("c_first", Float32),
            ])],
            "two fields of a run would be called `v_a_min_c_first`",
        ),
    ];
    for (structs, expected) in cases {
        let arguments: Vec<_> = [Int32].into_iter().chain(structs).collect();
        let error = coerce(&arguments).unwrap_err();
        assert!(error.contains(expected), "{error}\nlacks {expected}");
    }
}

#[test]
fn layouts_are_read_back_from_the_result() {
    for layout in layouts() {
        assert_eq!(Layout::from_runs(&layout.column_type()).unwrap(), layout);
        let argument = DataType::Struct(layout.argument_fields());
        assert_eq!(Layout::from_argument("s", &argument).unwrap(), layout);
    }
    let alike = Layout {
        values: names(&["a", "a_min_c_x"]),
        ends: names(&["b", "c_first"]),
        carried: names(&["y"]),
    };
    assert_eq!(Layout::from_runs(&alike.column_type()).unwrap(), alike);
    let ends = Layout {
        ends: names(&["a"]),
        ..Layout::default()
    };
    assert_eq!(Layout::from_runs(&ends.column_type()).unwrap(), ends);
    assert!(Layout::from_runs(&DataType::Int8).is_err());
}

#[test]
fn what_runs_did_not_return_is_not_decoded() {
    let other: ArrayRef = Arc::new(Int32Array::from(vec![1]));
    assert!(crate::runs::decode(&other, 0).is_err());
    let mut runs = accumulator();
    let result = runs.evaluate(EmitTo::All).unwrap();
    let error = crate::runs::decode(&result, 0).unwrap_err().to_string();
    assert!(error.contains("expected a row 0, found 0 rows"), "{error}");
}
