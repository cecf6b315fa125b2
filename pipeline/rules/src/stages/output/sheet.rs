//! One table on the disk, as Parquet and as CSV, a piece at a time: what is held does not grow with the table.

use std::fs::{self, File};
use std::path::Path;
use std::sync::Arc;

use arrow::array::{Array, ArrayRef, Float64Array, RecordBatch};
use arrow::compute::concat_batches;
use arrow::csv::{Writer, WriterBuilder};
use arrow::datatypes::{DataType, SchemaRef};
use arrow::error::ArrowError;
use parquet::arrow::ArrowWriter;
use serde::Serialize;
use serde::de::DeserializeOwned;

use super::{OutputError, io};
use crate::store::{rows_to_batch, seven_digits, writer_properties};

/// Rows of a piece: as many whole times as the Parquet writer looks whether a page is full, so that pieces of
/// any other size would give the same pages.
const PIECE: usize = 16 * 1024;

/// A table under construction.
pub(super) struct Sheet {
    table: &'static str,
    schema: SchemaRef,
    parquet: ArrowWriter<File>,
    csv: Writer<File>,
    /// Rows that do not fill a piece yet.
    waiting: Vec<RecordBatch>,
    rows: usize,
}

impl Sheet {
    /// Begins `TABLE.parquet` and `TABLE.csv` in a folder.
    pub(super) fn begin(
        folder: &Path,
        table: &'static str,
        schema: SchemaRef,
    ) -> Result<Self, OutputError> {
        fs::create_dir_all(folder).map_err(io("create", folder))?;
        let path = folder.join(format!("{table}.parquet"));
        let file = File::create(&path).map_err(io("create", &path))?;
        let properties = Some(writer_properties());
        let parquet =
            ArrowWriter::try_new(file, Arc::clone(&schema), properties).map_err(refused(table))?;
        let path = folder.join(format!("{table}.csv"));
        let file = File::create(&path).map_err(io("create", &path))?;
        let mut csv = WriterBuilder::new().with_header(true).build(file);
        // The names stand there even where no row follows.
        let none = RecordBatch::new_empty(Arc::clone(&schema));
        csv.write(&none).map_err(refused(table))?;
        Ok(Self {
            table,
            schema,
            parquet,
            csv,
            waiting: Vec::new(),
            rows: 0,
        })
    }

    /// Takes rows in, their numbers as they are to stand there.
    pub(super) fn write(&mut self, batch: RecordBatch) -> Result<(), OutputError> {
        self.rows += batch.num_rows();
        self.waiting.push(batch);
        if self.rows < PIECE {
            return Ok(());
        }
        let all = self.taken()?;
        let whole = self.rows - self.rows % PIECE;
        for from in (0..whole).step_by(PIECE) {
            self.put(&all.slice(from, PIECE))?;
        }
        self.rows -= whole;
        if self.rows > 0 {
            self.waiting.push(all.slice(whole, self.rows));
        }
        Ok(())
    }

    fn taken(&mut self) -> Result<RecordBatch, OutputError> {
        let waiting = std::mem::take(&mut self.waiting);
        concat_batches(&self.schema, &waiting).map_err(refused(self.table))
    }

    /// Writes a piece. Neither form of it waits for the other.
    fn put(&mut self, piece: &RecordBatch) -> Result<(), OutputError> {
        let (parquet, csv) = (&mut self.parquet, &mut self.csv);
        let (written, lines) = rayon::join(|| parquet.write(piece), || csv.write(piece));
        written.map_err(refused(self.table))?;
        lines.map_err(refused(self.table))
    }

    /// Writes what is left.
    pub(super) fn end(mut self) -> Result<(), OutputError> {
        let rest = self.taken()?;
        if rest.num_rows() > 0 {
            self.put(&rest)?;
        }
        self.parquet.close().map_err(refused(self.table))?;
        Ok(())
    }
}

fn refused<E: std::fmt::Display>(table: &'static str) -> impl Fn(E) -> OutputError {
    move |error| OutputError::Table {
        table,
        detail: error.to_string(),
    }
}

/// Writes rows that are in memory as a table.
pub(super) fn write_sheet<T: Serialize + DeserializeOwned>(
    folder: &Path,
    table: &'static str,
    rows: &[T],
) -> Result<(), OutputError> {
    let schema = rows_to_batch::<T>(table, &[])?.schema();
    let mut sheet = Sheet::begin(folder, table, Arc::clone(&schema))?;
    for piece in rows.chunks(PIECE) {
        let batch = rows_to_batch(table, piece)?;
        sheet.write(rounded(&batch).map_err(refused(table))?)?;
    }
    sheet.end()
}

/// Every number with seven significant digits: what the samples carry, and one format everywhere.
pub(super) fn rounded(batch: &RecordBatch) -> Result<RecordBatch, ArrowError> {
    let columns = batch.columns().iter().map(|column| {
        if *column.data_type() != DataType::Float64 {
            return Arc::clone(column);
        }
        let numbers = column.as_any().downcast_ref::<Float64Array>();
        numbers.map_or_else(
            || Arc::clone(column),
            |numbers| {
                Arc::new(numbers.unary::<_, arrow::datatypes::Float64Type>(seven_digits))
                    as ArrayRef
            },
        )
    });
    RecordBatch::try_new(batch.schema(), columns.collect())
}
