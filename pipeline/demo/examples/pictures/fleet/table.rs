//! One Parquet file as a table of columns by name.

use crate::fault::Fault;
use arrow::array::{Array, AsArray};
use arrow::compute::{cast, concat_batches};
use arrow::datatypes::{DataType, Float64Type};
use arrow::record_batch::RecordBatch;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use std::fs::File;
use std::path::{Path, PathBuf};

/// A table held in memory.
pub(crate) struct Table {
    path: PathBuf,
    batch: RecordBatch,
}

impl Table {
    /// Reads the whole file.
    pub(crate) fn read(path: &Path) -> Result<Self, Fault> {
        let file = File::open(path).map_err(|source| Fault::Read {
            path: path.to_owned(),
            source,
        })?;
        let batch = Self::batch(file).map_err(|source| Fault::Parquet {
            path: path.to_owned(),
            source,
        })?;
        Ok(Self {
            path: path.to_owned(),
            batch,
        })
    }

    fn batch(file: File) -> Result<RecordBatch, Box<dyn std::error::Error>> {
        let builder = ParquetRecordBatchReaderBuilder::try_new(file)?;
        let schema = builder.schema().clone();
        let batches = builder.build()?.collect::<Result<Vec<_>, _>>()?;
        Ok(concat_batches(&schema, &batches)?)
    }

    /// Number of rows.
    pub(crate) fn rows(&self) -> usize {
        self.batch.num_rows()
    }

    /// Whether there is such a column.
    pub(crate) fn has(&self, column: &str) -> bool {
        self.batch.column_by_name(column).is_some()
    }

    fn cast(
        &self,
        column: &str,
        kind: &DataType,
        expected: &'static str,
    ) -> Result<arrow::array::ArrayRef, Fault> {
        let fault = || Fault::Column {
            path: self.path.clone(),
            column: column.to_owned(),
            expected,
        };
        let array = self.batch.column_by_name(column).ok_or_else(fault)?;
        cast(array, kind).map_err(|_| fault())
    }

    /// Numbers; truth values are 0 and 1.
    pub(crate) fn numbers(&self, column: &str) -> Result<Vec<Option<f64>>, Fault> {
        let array = self.cast(column, &DataType::Float64, "numbers")?;
        Ok(array.as_primitive::<Float64Type>().iter().collect())
    }

    /// Numbers, none of them null.
    pub(crate) fn whole_numbers(&self, column: &str) -> Result<Vec<f64>, Fault> {
        let fault = || Fault::Column {
            path: self.path.clone(),
            column: column.to_owned(),
            expected: "numbers without nulls",
        };
        self.numbers(column)?
            .into_iter()
            .map(|value| value.ok_or_else(fault))
            .collect()
    }

    /// Texts; null is the empty text.
    pub(crate) fn texts(&self, column: &str) -> Result<Vec<String>, Fault> {
        let array = self.cast(column, &DataType::Utf8, "text")?;
        let texts = array.as_string::<i32>();
        Ok((0..texts.len())
            .map(|row| {
                if texts.is_null(row) {
                    String::new()
                } else {
                    texts.value(row).to_owned()
                }
            })
            .collect())
    }

    /// Texts of a column that a folder need not have: empty where it has none.
    pub(crate) fn optional_texts(&self, column: &str) -> Result<Vec<String>, Fault> {
        if self.has(column) {
            self.texts(column)
        } else {
            Ok(vec![String::new(); self.rows()])
        }
    }

    /// Numbers of a column that a folder need not have: null where it has none.
    pub(crate) fn optional_numbers(&self, column: &str) -> Result<Vec<Option<f64>>, Fault> {
        if self.has(column) {
            self.numbers(column)
        } else {
            Ok(vec![None; self.rows()])
        }
    }
}
