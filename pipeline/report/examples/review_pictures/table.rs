//! A Parquet table as plain columns of numbers and words.

use std::collections::BTreeMap;
use std::fs::File;
use std::path::{Path, PathBuf};

use arrow::array::{Array, AsArray, RecordBatch};
use arrow::compute::cast;
use arrow::datatypes::{DataType, Float64Type, Int64Type};
use parquet::arrow::ProjectionMask;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;

use crate::fault::Fault;

/// Columns by name; numbers and truths are numbers, all else is words.
#[derive(Debug)]
pub(crate) struct Table {
    path: PathBuf,
    pub(crate) rows: usize,
    numbers: BTreeMap<String, Vec<Option<f64>>>,
    words: BTreeMap<String, Vec<Option<String>>>,
}

impl Table {
    /// A whole table.
    pub(crate) fn read(path: &Path) -> Result<Self, Fault> {
        Self::of(path, None, None)
    }

    /// Some columns of the rows with one `approach_key`.
    pub(crate) fn of_approach(path: &Path, key: i64, columns: &[&str]) -> Result<Self, Fault> {
        Self::of(path, Some(columns), Some(key))
    }

    fn of(path: &Path, columns: Option<&[&str]>, key: Option<i64>) -> Result<Self, Fault> {
        let file = File::open(path).map_err(|error| Fault::at(path, &error))?;
        let builder = ParquetRecordBatchReaderBuilder::try_new(file)
            .map_err(|error| Fault::at(path, &error))?;
        let mask = match columns {
            Some(columns) => {
                let names = columns.iter().copied().chain(["approach_key"]);
                ProjectionMask::columns(builder.parquet_schema(), names)
            }
            None => ProjectionMask::all(),
        };
        let reader = builder
            .with_projection(mask)
            .build()
            .map_err(|error| Fault::at(path, &error))?;
        let mut table = Self {
            path: path.to_owned(),
            rows: 0,
            numbers: BTreeMap::new(),
            words: BTreeMap::new(),
        };
        for batch in reader {
            let batch = batch.map_err(|error| Fault::at(path, &error))?;
            table.push(&batch, key)?;
        }
        Ok(table)
    }

    fn push(&mut self, batch: &RecordBatch, key: Option<i64>) -> Result<(), Fault> {
        let fault = |error: arrow::error::ArrowError| Fault::at(&self.path, &error);
        let kept: Vec<usize> = match key {
            None => (0..batch.num_rows()).collect(),
            Some(key) => {
                let keys = batch
                    .column_by_name("approach_key")
                    .and_then(|column| column.as_primitive_opt::<Int64Type>().cloned())
                    .ok_or_else(|| Fault::at(&self.path, &"no column approach_key"))?;
                (0..keys.len())
                    .filter(|&k| keys.is_valid(k) && keys.value(k) == key)
                    .collect()
            }
        };
        for (field, column) in batch.schema().fields().iter().zip(batch.columns()) {
            let name = field.name().clone();
            let kind = field.data_type();
            if kind.is_numeric() || *kind == DataType::Boolean {
                let column = cast(column, &DataType::Float64).map_err(fault)?;
                let column = column.as_primitive::<Float64Type>();
                let values = kept
                    .iter()
                    .map(|&k| column.is_valid(k).then(|| column.value(k)));
                self.numbers.entry(name).or_default().extend(values);
            } else {
                let column = cast(column, &DataType::Utf8).map_err(fault)?;
                let column = column.as_string::<i32>();
                let values = kept
                    .iter()
                    .map(|&k| column.is_valid(k).then(|| column.value(k).to_owned()));
                self.words.entry(name).or_default().extend(values);
            }
        }
        self.rows += kept.len();
        Ok(())
    }

    /// A column of numbers.
    pub(crate) fn numbers(&self, name: &str) -> Result<&[Option<f64>], Fault> {
        let column = self.numbers.get(name).map(Vec::as_slice);
        column.ok_or_else(|| self.lacks(name))
    }

    /// A column of words.
    pub(crate) fn words(&self, name: &str) -> Result<&[Option<String>], Fault> {
        let column = self.words.get(name).map(Vec::as_slice);
        column.ok_or_else(|| self.lacks(name))
    }

    /// Rows whose words in some columns are these.
    pub(crate) fn rows_with(&self, wanted: &[(&str, &str)]) -> Result<Vec<usize>, Fault> {
        let mut rows: Vec<usize> = (0..self.rows).collect();
        for (name, word) in wanted {
            let column = self.words(name)?;
            rows.retain(|&k| column[k].as_deref() == Some(*word));
        }
        Ok(rows)
    }

    fn lacks(&self, name: &str) -> Fault {
        let text =
            format!("no column {name} of its kind; review the fleet again with this version");
        Fault::at(&self.path, &text)
    }
}

/// Quantile of sorted values, on the line between neighbours.
pub(crate) fn quantile(sorted: &[f64], share: f64) -> Option<f64> {
    let place = share * (sorted.len().checked_sub(1)? as f64);
    let below = sorted[place.floor() as usize];
    let above = sorted[place.ceil() as usize];
    Some(below + (above - below) * place.fract())
}
