//! One column of a record as numbers, whatever its type, and back again.

use arrow::array::{
    Array, ArrayRef, AsArray, Float32Array, Float64Array, Int8Array, Int16Array, Int32Array,
    Int64Array,
};
use arrow::compute::cast;
use arrow::datatypes::{DataType, Float64Type};
use arrow::error::ArrowError;
use arrow::record_batch::RecordBatch;
use std::ops::RangeInclusive;
use std::sync::Arc;

/// Record time of every row, s: the first column that holds no text.
///
/// # Errors
/// When there is none, or it holds no numbers.
pub(super) fn times_s(samples: &RecordBatch) -> Result<Vec<f64>, ArrowError> {
    let column = samples
        .columns()
        .iter()
        .find(|column| column.data_type() != &DataType::Utf8)
        .ok_or_else(|| ArrowError::SchemaError("a record without a time column".to_owned()))?;
    // Whole numbers are milliseconds.
    let unit_s = if column.data_type().is_integer() {
        1e-3
    } else {
        1.0
    };
    Ok(numbers(column)?
        .into_iter()
        .map(|value| value.map_or(f64::NAN, |value| value * unit_s))
        .collect())
}

/// A column as numbers.
///
/// # Errors
/// When it holds none.
pub(super) fn numbers(column: &ArrayRef) -> Result<Vec<Option<f64>>, ArrowError> {
    let floats = cast(column, &DataType::Float64)?;
    Ok(floats.as_primitive::<Float64Type>().iter().collect())
}

/// Numbers as a column of a type; what a whole number of that type cannot hold is its end.
///
/// # Errors
/// When the type is not one that recorders use.
pub(super) fn column(values: &[Option<f64>], data_type: &DataType) -> Result<ArrayRef, ArrowError> {
    let values = values.iter().copied();
    Ok(match data_type {
        DataType::Float64 => Arc::new(values.collect::<Float64Array>()),
        DataType::Float32 => Arc::new(
            values
                .map(|v| v.map(|v| v as f32))
                .collect::<Float32Array>(),
        ),
        // Rust's `as` stops at the ends of a whole number.
        DataType::Int8 => Arc::new(values.map(|v| v.map(|v| v as i8)).collect::<Int8Array>()),
        DataType::Int16 => Arc::new(values.map(|v| v.map(|v| v as i16)).collect::<Int16Array>()),
        DataType::Int32 => Arc::new(values.map(|v| v.map(|v| v as i32)).collect::<Int32Array>()),
        DataType::Int64 => Arc::new(values.map(|v| v.map(|v| v as i64)).collect::<Int64Array>()),
        other => {
            return Err(ArrowError::NotYetImplemented(format!(
                "damage to a column of {other}"
            )));
        }
    })
}

/// The record with the values of one column replaced.
///
/// # Errors
/// When the values do not fit the column.
pub(super) fn replaced(
    samples: &RecordBatch,
    name: &str,
    values: &[Option<f64>],
) -> Result<RecordBatch, ArrowError> {
    let index = samples.schema().index_of(name)?;
    let mut columns = samples.columns().to_vec();
    columns[index] = column(values, columns[index].data_type())?;
    RecordBatch::try_new(samples.schema(), columns)
}

/// Indices of the known values with a time in a range.
pub(super) fn known(
    values: &[Option<f64>],
    time_s: &[f64],
    range: &RangeInclusive<f64>,
) -> Vec<usize> {
    (0..values.len())
        .filter(|&row| values[row].is_some() && range.contains(&time_s[row]))
        .collect()
}
