//! Approaches as Arrow batches: one row per sample, every column always present, in fixed order.

mod stored;

use std::sync::Arc;

use arrow::array::{
    ArrayRef, DictionaryArray, Float32Array, Float64Array, Int8Array, Int32Array, Int64Array,
    RecordBatch, StringArray,
};
use arrow::buffer::{BooleanBuffer, NullBuffer};
use arrow::datatypes::{DataType, Field, Int32Type, Schema, SchemaRef};
use arrow::error::ArrowError;

use crate::catalogue::{Catalogue, Origin, Storage};
use crate::derive::{Columns, Segment};
use crate::prepare::PreparedApproach;
use crate::rows::ApproachRow;

pub use stored::{PLACES, stored_columns};

/// The schema of the sample store.
pub fn schema(catalogue: &Catalogue) -> SchemaRef {
    let fields = catalogue.columns().iter().map(|column| {
        let data_type = match column.storage {
            Storage::Float32 => DataType::Float32,
            Storage::Float64 => DataType::Float64,
            Storage::Int8 => DataType::Int8,
            Storage::Int32 => DataType::Int32,
            Storage::Int64 => DataType::Int64,
            Storage::Text => {
                DataType::Dictionary(Box::new(DataType::Int32), Box::new(DataType::Utf8))
            }
        };
        let known = matches!(
            column.name.as_str(),
            "approach_key" | "k" | "time_s" | "segment"
        );
        Field::new(&column.name, data_type, !known)
    });
    Arc::new(Schema::new(fields.collect::<Vec<_>>()))
}

/// The samples of one approach. NaN and infinity become null, −0.0 becomes 0.0.
///
/// # Errors
/// When a column has not the length of the grid, which is a bug of whoever filled it.
pub fn batch(
    approach: &PreparedApproach,
    catalogue: &Catalogue,
) -> Result<RecordBatch, ArrowError> {
    let key = approach.row.approach_key;
    lay_out(&approach.row, key, &approach.columns, catalogue)
}

/// The samples as they were before they were cleaned, where that makes a difference.
///
/// # Errors
/// As [`batch`].
pub fn uncleaned_batch(
    approach: &PreparedApproach,
    catalogue: &Catalogue,
) -> Result<Option<RecordBatch>, ArrowError> {
    let key = uncleaned_key(approach.row.approach_key);
    let columns = approach.uncleaned.as_ref();
    columns
        .map(|columns| lay_out(&approach.row, key, columns, catalogue))
        .transpose()
}

/// The key under which the samples of an approach are stored as they were before they were cleaned.
/// Keys of approaches are never negative; these always are.
#[must_use]
pub fn uncleaned_key(approach_key: i64) -> i64 {
    -approach_key - 1
}

/// These columns as samples of the approach `row`, under `key`.
///
/// # Errors
/// As [`batch`].
pub fn lay_out(
    row: &ApproachRow,
    key: i64,
    columns: &Columns,
    catalogue: &Catalogue,
) -> Result<RecordBatch, ArrowError> {
    let arrays = catalogue.columns().iter().map(|column| -> ArrayRef {
        let values = columns.values(&column.name);
        match column.storage {
            Storage::Float32 => Arc::new(float32(values, columns.grid.n)),
            Storage::Int8 => Arc::new(int8(values, columns.grid.n)),
            Storage::Int64 => Arc::new(Int64Array::from(vec![key; columns.grid.n])),
            Storage::Int32 => Arc::new(Int32Array::from_iter_values(0..columns.grid.n as i32)),
            Storage::Float64 => {
                let times = (0..columns.grid.n).map(|k| columns.grid.time(k) + 0.0);
                Arc::new(Float64Array::from_iter_values(times))
            }
            Storage::Text => Arc::new(text(&column.name, row, columns)),
        }
    });
    let arrays: Vec<ArrayRef> = arrays.collect();
    RecordBatch::try_new(schema(catalogue), arrays)
}

/// Names of stored columns that hold no value anywhere in the approach segment, sorted and
/// comma-separated: what makes rules not evaluable.
pub fn missing_columns(columns: &Columns, catalogue: &Catalogue) -> String {
    let known = |name: &str| {
        columns.values(name).is_some_and(|values| {
            let mut pairs = values.iter().zip(&columns.segment);
            pairs.any(|(v, segment)| *segment == Segment::Approach && v.is_finite())
        })
    };
    let stored = catalogue
        .columns()
        .iter()
        .filter(|column| column.origin != Origin::Key);
    let mut missing: Vec<&str> = stored
        .map(|column| column.name.as_str())
        .filter(|name| !known(name))
        .collect();
    missing.sort_unstable();
    missing.join(",")
}

/// What a store may hold: a finite number, and only one zero.
pub(crate) fn storable(value: f64) -> Option<f32> {
    let value = value as f32;
    value.is_finite().then_some(value + 0.0)
}

fn float32(values: Option<&[f64]>, n: usize) -> Float32Array {
    match values {
        Some(values) => {
            let stored: Vec<f32> = values.iter().map(|&v| storable(v).unwrap_or(0.0)).collect();
            let known = |k: usize| storable(values[k]).is_some();
            let known = BooleanBuffer::collect_bool(values.len(), known);
            Float32Array::new(stored.into(), Some(NullBuffer::new(known)))
        }
        None => Float32Array::new_null(n),
    }
}

/// States are small whole numbers; anything else is unknown.
fn int8(values: Option<&[f64]>, n: usize) -> Int8Array {
    let state = |value: f64| (value.fract() == 0.0 && value.abs() <= 127.0).then_some(value as i8);
    match values {
        Some(values) => values.iter().map(|&value| state(value)).collect(),
        None => Int8Array::new_null(n),
    }
}

fn text(name: &str, row: &ApproachRow, columns: &Columns) -> DictionaryArray<Int32Type> {
    let n = columns.grid.n;
    let constant = match name {
        "aircraft_type" => row.aircraft_type.as_deref(),
        "airport" => row.airport.as_deref(),
        "runway" => row.runway.as_deref(),
        // Unknown is null here, so that what asks for the kind is unknown too.
        "approach_kind" => Some(row.approach_kind.as_str()).filter(|kind| *kind != "unknown"),
        _ => {
            // The same three words in the same order, whatever occurs: same bytes.
            let words = [Segment::Approach, Segment::Roll, Segment::Missed];
            let keys = columns.segment.iter().map(|segment| *segment as i32);
            let values = StringArray::from_iter_values(words.map(Segment::as_str));
            return DictionaryArray::new(Int32Array::from_iter_values(keys), Arc::new(values));
        }
    };
    let values = StringArray::from_iter_values(constant);
    let keys: Int32Array = (0..n).map(|_| constant.map(|_| 0)).collect();
    DictionaryArray::new(keys, Arc::new(values))
}

#[cfg(test)]
mod tests;
