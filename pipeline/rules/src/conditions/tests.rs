//! Against three-valued logic, value by value.

use std::sync::Arc;

use arrow::array::{
    Array, ArrayRef, AsArray, BooleanArray, DictionaryArray, Float32Array, StringArray,
};
use arrow::datatypes::{Field, Int32Type, Schema};
use arrow::record_batch::RecordBatch;
use datafusion::common::DFSchema;
use datafusion::logical_expr::{Expr, lit};
use datafusion::prelude::{SessionContext, col};

use super::*;

/// What `expression` yields over columns `a`, `b`, …
fn yields(expression: Expr, columns: &[(&str, ArrayRef)]) -> ArrayRef {
    let batch = RecordBatch::try_from_iter(columns.iter().cloned()).unwrap();
    let schema = DFSchema::try_from(batch.schema()).unwrap();
    let physical = SessionContext::new()
        .create_physical_expr(expression, &schema)
        .unwrap();
    let value = physical.evaluate(&batch).unwrap();
    value.into_array(batch.num_rows()).unwrap()
}

fn truths(expression: Expr, columns: &[(&str, ArrayRef)]) -> Vec<Option<bool>> {
    yields(expression, columns).as_boolean().iter().collect()
}

fn schema(fields: &[(&str, DataType)]) -> DFSchema {
    let fields: Vec<Field> = fields
        .iter()
        .map(|(name, kind)| Field::new(*name, kind.clone(), true))
        .collect();
    DFSchema::try_from(Schema::new(fields)).unwrap()
}

/// Enough to cross the words of a bitmap, with every special value on both sides of a word's end.
fn numbers(salt: usize) -> Vec<Option<f32>> {
    const SPECIAL: [Option<f32>; 9] = [
        None,
        Some(0.0),
        Some(-0.0),
        Some(1.5),
        Some(-1.5),
        Some(f32::NAN),
        Some(f32::INFINITY),
        Some(f32::MIN),
        Some(1.0e-40),
    ];
    (0..333)
        .map(|at| SPECIAL[(at * salt + at / 7) % 9])
        .collect()
}

#[allow(clippy::float_cmp)] // that is what is asked
fn expected(comparison: Comparison, a: Option<f32>, b: Option<f32>) -> Option<bool> {
    let (a, b) = (a.filter(|a| !a.is_nan())?, b.filter(|b| !b.is_nan())?);
    Some(match comparison {
        Comparison::Equal => a == b,
        Comparison::Unequal => a != b,
        Comparison::Less => a < b,
        Comparison::LessOrEqual => a <= b,
        Comparison::Greater => a > b,
        Comparison::GreaterOrEqual => a >= b,
    })
}

#[test]
fn comparisons_are_those_of_numbers_and_null_or_nan_is_unknown() {
    let schema = schema(&[("a", DataType::Float32), ("b", DataType::Float32)]);
    for offset in [0, 1, 63, 64, 70] {
        let (a, b) = (numbers(2), numbers(5));
        let array = |numbers: &[Option<f32>]| -> ArrayRef {
            let all = Float32Array::from(numbers.to_vec());
            Arc::new(all.slice(offset, numbers.len() - offset))
        };
        let columns = [("a", array(&a)), ("b", array(&b))];
        for comparison in Comparison::ALL {
            let both = compare(comparison, col("a"), col("b"), &schema).unwrap();
            let wanted = a.iter().zip(&b).skip(offset);
            let wanted: Vec<_> = wanted.map(|(a, b)| expected(comparison, *a, *b)).collect();
            assert_eq!(truths(both, &columns), wanted, "{comparison:?}");
            for one in [Some(0.0), Some(-1.5), Some(f32::NAN), None] {
                let literal = || lit(datafusion::common::ScalarValue::Float32(one));
                let right = compare(comparison, col("a"), literal(), &schema).unwrap();
                let left = compare(comparison, literal(), col("a"), &schema).unwrap();
                let own = a.iter().skip(offset);
                let wanted: Vec<_> = own.clone().map(|a| expected(comparison, *a, one)).collect();
                assert_eq!(truths(right, &columns), wanted, "{comparison:?} {one:?}");
                let wanted: Vec<_> = own.map(|a| expected(comparison, one, *a)).collect();
                assert_eq!(truths(left, &columns), wanted, "{one:?} {comparison:?}");
            }
        }
    }
}

#[test]
fn whoever_decides_decides_and_else_unknown_stays_unknown() {
    let truth = [Some(true), Some(false), None];
    let of = |at: usize, place: u32| truth[at / 3_usize.pow(place) % 3];
    let all: Vec<[Option<bool>; 3]> = (0..27).map(|at| [0, 1, 2].map(|p| of(at, p))).collect();
    let column = |at: usize| -> ArrayRef {
        Arc::new(all.iter().map(|row| row[at]).collect::<BooleanArray>())
    };
    let columns = [("a", column(0)), ("b", column(1)), ("c", column(2))];
    let columns_of = || vec![col("a"), col("b"), col("c")];
    for constant in [None, Some(Some(true)), Some(Some(false)), Some(None)] {
        let (mut all_given, mut any_given) = (columns_of(), columns_of());
        if let Some(constant) = constant {
            let literal = lit(datafusion::common::ScalarValue::Boolean(constant));
            all_given.insert(1, literal.clone());
            any_given.push(literal);
        }
        let wanted = |decides: bool| -> Vec<Option<bool>> {
            let of = |row: &[Option<bool>; 3]| {
                let given: Vec<Option<bool>> = row.iter().copied().chain(constant).collect();
                if given.contains(&Some(decides)) {
                    Some(decides)
                } else if given.contains(&None) {
                    None
                } else {
                    Some(!decides)
                }
            };
            all.iter().map(of).collect()
        };
        assert_eq!(
            truths(all_of(all_given), &columns),
            wanted(false),
            "{constant:?}"
        );
        assert_eq!(
            truths(any_of(any_given), &columns),
            wanted(true),
            "{constant:?}"
        );
    }
    assert_eq!(all_of(Vec::new()), lit(true));
    assert_eq!(any_of(Vec::new()), lit(false));
}

#[test]
fn a_text_is_told_by_its_number_whatever_the_dictionary() {
    let keys = vec![Some(0), None, Some(2), Some(1), Some(3), Some(0)];
    // A word may stand twice, or be null.
    let words = StringArray::from(vec![Some("roll"), Some("missed"), None, Some("roll")]);
    let several: ArrayRef = Arc::new(DictionaryArray::<Int32Type>::new(
        keys.into(),
        Arc::new(words),
    ));
    let said = [
        Some("roll"),
        None,
        None,
        Some("missed"),
        Some("roll"),
        Some("roll"),
    ];
    let plain: ArrayRef = Arc::new(StringArray::from(said.to_vec()));
    let single: ArrayRef = Arc::new(DictionaryArray::<Int32Type>::from_iter(["roll", "roll"]));
    let kind = several.data_type().clone();
    for wanted in ["roll", "missed", "approach"] {
        let expected: Vec<_> = said
            .iter()
            .map(|text| text.map(|text| text == wanted))
            .collect();
        for column in [&several, &plain] {
            let found = truths(text_is(col("a"), lit(wanted)), &[("a", Arc::clone(column))]);
            assert_eq!(found, expected, "{wanted}");
        }
        let found = truths(
            text_is(col("a"), lit(wanted)),
            &[("a", Arc::clone(&single))],
        );
        assert_eq!(found, [Some(wanted == "roll"); 2]);
    }
    let by_type = compare(
        Comparison::Equal,
        col("a"),
        lit("roll"),
        &schema(&[("a", kind)]),
    );
    assert_eq!(by_type.unwrap(), text_is(col("a"), lit("roll")));
}

#[test]
fn a_magnitude_has_no_sign() {
    let column: ArrayRef = Arc::new(Float32Array::from(vec![Some(-2.0), None, Some(-0.0)]));
    let found = yields(magnitude(col("a")), &[("a", column)]);
    let found: &Float32Array = found.as_primitive();
    assert_eq!(
        found.iter().collect::<Vec<_>>(),
        [Some(2.0), None, Some(0.0)]
    );
    assert!(found.value(2).is_sign_positive());
}
