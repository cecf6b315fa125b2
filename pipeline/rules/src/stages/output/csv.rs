//! A batch as lines of text: a comma between values, quotes where a text needs them, nothing for null.

use arrow::array::{
    Array, AsArray, BooleanArray, Float64Array, Int32Array, Int64Array, LargeStringArray,
    RecordBatch, UInt32Array,
};
use arrow::datatypes::{DataType, Float64Type, Int32Type, Int64Type, Schema, UInt32Type};

use crate::store::{write_number, write_whole};

/// The line with the names of the columns.
pub(super) fn write_names(out: &mut Vec<u8>, schema: &Schema) {
    for (place, field) in schema.fields().iter().enumerate() {
        if place > 0 {
            out.push(b',');
        }
        write_text(out, field.name());
    }
    out.push(b'\n');
}

/// A column whose kind is known.
enum Column<'a> {
    Flags(&'a BooleanArray),
    Small(&'a Int32Array),
    Whole(&'a Int64Array),
    Counts(&'a UInt32Array),
    Numbers(&'a Float64Array),
    Texts(&'a LargeStringArray),
}

impl<'a> Column<'a> {
    fn of(array: &'a dyn Array) -> Result<Self, String> {
        Ok(match array.data_type() {
            DataType::Boolean => Self::Flags(array.as_boolean()),
            DataType::Int32 => Self::Small(array.as_primitive::<Int32Type>()),
            DataType::Int64 => Self::Whole(array.as_primitive::<Int64Type>()),
            DataType::UInt32 => Self::Counts(array.as_primitive::<UInt32Type>()),
            DataType::Float64 => Self::Numbers(array.as_primitive::<Float64Type>()),
            DataType::LargeUtf8 => Self::Texts(array.as_string::<i64>()),
            other => return Err(format!("no text is known for values of kind {other}")),
        })
    }

    fn write(&self, out: &mut Vec<u8>, row: usize) {
        match self {
            Self::Flags(column) if column.is_valid(row) => {
                out.extend_from_slice(if column.value(row) { b"true" } else { b"false" });
            }
            Self::Small(column) if column.is_valid(row) => {
                write_whole(out, i64::from(column.value(row)));
            }
            Self::Whole(column) if column.is_valid(row) => write_whole(out, column.value(row)),
            Self::Counts(column) if column.is_valid(row) => {
                write_whole(out, i64::from(column.value(row)));
            }
            Self::Numbers(column) if column.is_valid(row) => write_number(out, column.value(row)),
            Self::Texts(column) if column.is_valid(row) => write_text(out, column.value(row)),
            _ => {}
        }
    }
}

/// The lines of a batch.
///
/// # Errors
/// A column is of a kind that no table has.
pub(super) fn write_rows(out: &mut Vec<u8>, batch: &RecordBatch) -> Result<(), String> {
    let columns = batch.columns().iter().map(|column| Column::of(column));
    let columns = columns.collect::<Result<Vec<Column<'_>>, String>>()?;
    for row in 0..batch.num_rows() {
        for (place, column) in columns.iter().enumerate() {
            if place > 0 {
                out.push(b',');
            }
            column.write(out, row);
        }
        out.push(b'\n');
    }
    Ok(())
}

fn write_text(out: &mut Vec<u8>, text: &str) {
    let bytes = text.as_bytes();
    let special = |byte: &u8| matches!(byte, b',' | b'"' | b'\n' | b'\r');
    if !bytes.iter().any(special) {
        out.extend_from_slice(bytes);
        return;
    }
    out.push(b'"');
    for byte in bytes {
        if *byte == b'"' {
            out.push(b'"');
        }
        out.push(*byte);
    }
    out.push(b'"');
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use arrow::array::ArrayRef;
    use arrow::csv::WriterBuilder;

    use super::*;

    #[test]
    fn lines_are_those_of_the_general_writer() {
        let texts: ArrayRef = Arc::new(LargeStringArray::from(vec![
            Some("plain"),
            None,
            Some(""),
            Some("a,b"),
            Some("say \"so\""),
            Some("two\nlines\r"),
            Some("ü ä"),
        ]));
        let numbers: ArrayRef = Arc::new(Float64Array::from(vec![
            Some(0.0),
            Some(-1.5),
            None,
            Some(1e-7),
            Some(123_456.7),
            Some(1e300),
            Some(0.000_012_345_67),
        ]));
        let whole: ArrayRef = Arc::new(Int64Array::from(vec![1, -2, 3, 0, i64::MIN, 6, 7]));
        let small: ArrayRef = Arc::new(Int32Array::from(vec![
            None,
            Some(-2),
            None,
            None,
            None,
            None,
            Some(9),
        ]));
        let counts: ArrayRef = Arc::new(UInt32Array::from(vec![1, 2, 3, 4, 5, 6, u32::MAX]));
        let flags: ArrayRef = Arc::new(BooleanArray::from(vec![
            Some(true),
            Some(false),
            None,
            None,
            None,
            None,
            None,
        ]));
        let columns = [
            ("texts", texts),
            ("numbers", numbers),
            ("whole, all", whole),
            ("small", small),
            ("counts", counts),
            ("flags", flags),
        ];
        let batch = RecordBatch::try_from_iter(columns).unwrap();
        let mut expected = Vec::new();
        WriterBuilder::new()
            .with_header(true)
            .build(&mut expected)
            .write(&batch)
            .unwrap();
        let mut out = Vec::new();
        write_names(&mut out, &batch.schema());
        write_rows(&mut out, &batch).unwrap();
        assert_eq!(
            String::from_utf8(out).unwrap(),
            String::from_utf8(expected).unwrap()
        );
    }
}
