//! Rows as cells of text, in the one number format of the tables.

use std::sync::Arc;

use datafusion::arrow::array::{Array, ArrayRef, AsArray, Float64Array, RecordBatch};
use datafusion::arrow::compute::cast;
use datafusion::arrow::datatypes::{DataType, Float64Type};
use datafusion::arrow::error::ArrowError;
use datafusion::arrow::util::display::{ArrayFormatter, FormatOptions};

use crate::store::seven_digits;

/// One value of a result.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cell {
    /// Unknown, not computed, or withheld.
    Null,
    /// A finite number, with at most seven significant digits where it is no whole number type.
    Number(String),
    /// `true` or `false`.
    Truth(bool),
    /// Anything else.
    Text(String),
}

/// The cells of one row, in the order of the columns.
pub type CellRow = Vec<Cell>;

impl Cell {
    /// As it stands in CSV and tables; null is empty.
    #[must_use]
    pub fn text(&self) -> String {
        match self {
            Self::Null => String::new(),
            Self::Number(text) | Self::Text(text) => text.clone(),
            Self::Truth(truth) => truth.to_string(),
        }
    }
}

/// The rows of a batch. The numbers are written by what writes the CSV tables, after the same rounding.
pub(super) fn rows(batch: &RecordBatch) -> Result<Vec<CellRow>, ArrowError> {
    let options = FormatOptions::default();
    let mut rows = vec![Vec::with_capacity(batch.num_columns()); batch.num_rows()];
    for column in batch.columns() {
        let column = rounded(column)?;
        let formatter = ArrayFormatter::try_new(column.as_ref(), &options)?;
        // A dictionary has its nulls in its values.
        let nulls = column.logical_nulls();
        let is_null = |row: usize| nulls.as_ref().is_some_and(|nulls| nulls.is_null(row));
        for (number, row) in rows.iter_mut().enumerate() {
            row.push(if is_null(number) {
                Cell::Null
            } else {
                cell(column.data_type(), formatter.value(number).try_to_string()?)
            });
        }
    }
    Ok(rows)
}

fn cell(kind: &DataType, text: String) -> Cell {
    match kind {
        DataType::Boolean => Cell::Truth(text == "true"),
        // Infinities and what is no number are none in JSON.
        DataType::Float64 if !text.contains(|c: char| c.is_ascii_digit()) => Cell::Text(text),
        kind if kind.is_numeric() => Cell::Number(text),
        DataType::Null => Cell::Null,
        _ => Cell::Text(text),
    }
}

/// Fractions as the tables have them: seven digits, and no negative zero.
fn rounded(column: &ArrayRef) -> Result<ArrayRef, ArrowError> {
    if !column.data_type().is_floating() {
        return Ok(Arc::clone(column));
    }
    let numbers = cast(column, &DataType::Float64)?;
    let numbers = numbers.as_primitive::<Float64Type>().iter();
    let numbers: Float64Array = numbers.map(|x| x.map(|x| seven_digits(x) + 0.0)).collect();
    Ok(Arc::new(numbers))
}
