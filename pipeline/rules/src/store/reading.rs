//! Some columns of a table file, batch by batch: what folds millions of rows into small numbers needs no row
//! of texts.
//!
//! Texts come as numbers of the distinct ones of a batch, so that each is looked at once.

use std::fs::File;
use std::path::Path;
use std::sync::Arc;

use arrow::array::{
    Array, AsArray, BooleanArray, DictionaryArray, Float64Array, Int64Array, RecordBatch,
    StringArray,
};
use arrow::compute::cast;
use arrow::datatypes::{DataType, Field, Float64Type, Int32Type, Int64Type, Schema};
use parquet::arrow::ProjectionMask;
use parquet::arrow::arrow_reader::{
    ArrowReaderMetadata, ArrowReaderOptions, ParquetRecordBatchReaderBuilder,
};

use super::{StoreError, io};

/// Rows of a batch: the distinct texts of each are looked at once.
const ROWS: usize = 32_768;

/// Reads these columns of a table file, batch by batch. Columns that the file lacks are not in the batches.
///
/// # Errors
/// The file is missing or damaged, or `each` finds that it does not hold what it should.
pub(crate) fn each_batch(
    path: &Path,
    columns: &[&str],
    each: &mut dyn FnMut(&RecordBatch) -> Result<(), String>,
) -> Result<(), StoreError> {
    let damaged = |detail: String| StoreError::Damaged {
        path: path.to_owned(),
        detail,
    };
    let refuse = |error: parquet::errors::ParquetError| damaged(error.to_string());
    let file = File::open(path).map_err(io("open", path))?;
    let as_stored = ArrowReaderMetadata::load(&file, ArrowReaderOptions::new()).map_err(refuse)?;
    let options = ArrowReaderOptions::new().with_schema(with_numbered_texts(as_stored.schema()));
    let metadata =
        ArrowReaderMetadata::try_new(Arc::clone(as_stored.metadata()), options).map_err(refuse)?;
    let builder = ParquetRecordBatchReaderBuilder::new_with_metadata(file, metadata);
    let wanted = ProjectionMask::columns(builder.parquet_schema(), columns.iter().copied());
    let reader = builder
        .with_projection(wanted)
        .with_batch_size(ROWS)
        .build()
        .map_err(refuse)?;
    for batch in reader {
        let batch = batch.map_err(|error| damaged(error.to_string()))?;
        each(&batch).map_err(damaged)?;
    }
    Ok(())
}

fn numbered() -> DataType {
    DataType::Dictionary(Box::new(DataType::Int32), Box::new(DataType::Utf8))
}

fn with_numbered_texts(schema: &Schema) -> Arc<Schema> {
    let field = |field: &Arc<Field>| match field.data_type() {
        DataType::Utf8 | DataType::LargeUtf8 | DataType::Utf8View => {
            Field::new(field.name(), numbered(), field.is_nullable())
        }
        _ => Field::clone(field),
    };
    Arc::new(Schema::new(
        schema.fields().iter().map(field).collect::<Vec<Field>>(),
    ))
}

/// A column of texts by the numbers of the distinct ones.
pub(crate) struct Texts {
    numbers: DictionaryArray<Int32Type>,
    distinct: StringArray,
}

impl Texts {
    /// The distinct texts, each once or more.
    pub(crate) fn distinct(&self) -> impl Iterator<Item = &str> {
        self.distinct.iter().map(Option::unwrap_or_default)
    }

    /// The number of a row's text among them; none where the row has none.
    pub(crate) fn number(&self, row: usize) -> Option<usize> {
        let keys = self.numbers.keys();
        if keys.is_null(row) {
            return None;
        }
        usize::try_from(keys.value(row)).ok()
    }

    /// The text of a row.
    pub(crate) fn text(&self, row: usize) -> Option<&str> {
        self.number(row).map(|number| self.distinct.value(number))
    }
}

/// A column of texts; none where the batch has no such column.
///
/// # Errors
/// It holds something else.
pub(crate) fn texts(batch: &RecordBatch, name: &str) -> Result<Option<Texts>, String> {
    let Some(column) = batch.column_by_name(name) else {
        return Ok(None);
    };
    let column = cast(column, &numbered()).map_err(|error| format!("{name}: {error}"))?;
    let numbers = column.as_dictionary::<Int32Type>().clone();
    let distinct = numbers.values().as_string::<i32>().clone();
    Ok(Some(Texts { numbers, distinct }))
}

/// A column of numbers; none where the batch has no such column.
///
/// # Errors
/// It holds something else.
pub(crate) fn numbers(batch: &RecordBatch, name: &str) -> Result<Option<Float64Array>, String> {
    let column = converted(batch, name, &DataType::Float64)?;
    Ok(column.map(|column| column.as_primitive::<Float64Type>().clone()))
}

/// A column of whole numbers; none where the batch has no such column.
///
/// # Errors
/// It holds something else.
pub(crate) fn whole_numbers(batch: &RecordBatch, name: &str) -> Result<Option<Int64Array>, String> {
    let column = converted(batch, name, &DataType::Int64)?;
    Ok(column.map(|column| column.as_primitive::<Int64Type>().clone()))
}

/// A column of true and false; none where the batch has no such column.
///
/// # Errors
/// It holds something else.
pub(crate) fn flags(batch: &RecordBatch, name: &str) -> Result<Option<BooleanArray>, String> {
    let column = converted(batch, name, &DataType::Boolean)?;
    Ok(column.map(|column| column.as_boolean().clone()))
}

fn converted(
    batch: &RecordBatch,
    name: &str,
    to: &DataType,
) -> Result<Option<arrow::array::ArrayRef>, String> {
    let column = batch.column_by_name(name);
    let column = column.map(|column| cast(column, to)).transpose();
    column.map_err(|error| format!("{name}: {error}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::write_rows_file;
    use serde::{Deserialize, Serialize};

    #[derive(Serialize, Deserialize)]
    struct Row {
        rule: String,
        reason: Option<String>,
        events: i32,
        worst: Option<f64>,
        partial: bool,
    }

    #[test]
    fn columns_of_a_stored_table_read_by_name() {
        let folder = tempfile::tempdir().unwrap();
        let row = |number: i32| Row {
            rule: format!("rule {}", number % 3),
            reason: (number % 2 == 0).then(|| "none".to_owned()),
            events: number,
            worst: (number > 1).then(|| f64::from(number)),
            partial: number == 4,
        };
        let rows: Vec<Row> = (0..40_000).map(row).collect();
        let file = write_rows_file(folder.path(), "t", &rows).unwrap().unwrap();
        let mut seen = 0;
        let wanted = ["rule", "reason", "events", "worst", "partial", "never"];
        each_batch(&folder.path().join(file), &wanted, &mut |batch| {
            let rules = texts(batch, "rule")?.unwrap();
            let reasons = texts(batch, "reason")?.unwrap();
            let events = whole_numbers(batch, "events")?.unwrap();
            let worst = numbers(batch, "worst")?.unwrap();
            let partial = flags(batch, "partial")?.unwrap();
            assert!(texts(batch, "never")?.is_none());
            for at in 0..batch.num_rows() {
                let row = &rows[seen];
                assert_eq!(rules.text(at), Some(row.rule.as_str()));
                assert_eq!(reasons.text(at), row.reason.as_deref());
                assert_eq!(events.value(at), i64::from(row.events));
                assert_eq!(worst.is_valid(at).then(|| worst.value(at)), row.worst);
                assert_eq!(partial.value(at), row.partial);
                seen += 1;
            }
            Ok(())
        })
        .unwrap();
        assert_eq!(seen, rows.len());
    }

    #[test]
    fn a_damaged_file_is_named() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("x.parquet");
        std::fs::write(&path, "no table").unwrap();
        let error = each_batch(&path, &["rule"], &mut |_| Ok(())).unwrap_err();
        assert!(matches!(error, StoreError::Damaged { .. }), "{error}");
        assert!(error.to_string().contains("x.parquet"), "{error}");
    }
}
