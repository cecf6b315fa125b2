//! A table file of the store as a stream of rows in the order of its key.
//!
//! Most files are written so. One that is not, such as several that were put together, is sorted once, into a
//! file beside the tables that are being built.

use std::cmp::Ordering;
use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use arrow::array::{
    Array, ArrayRef, AsArray, Int32Array, LargeStringArray, RecordBatch, UInt32Array,
    new_null_array,
};
use arrow::compute::{cast, take_record_batch};
use arrow::datatypes::{DataType, Int32Type, SchemaRef};
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::{ParquetRecordBatchReader, ParquetRecordBatchReaderBuilder};

use crate::store::{StoreError, each_batch, read_batch, texts, whole_numbers};

/// The columns that order a table: the flight, the number of the approach where rows are about one, and a text.
#[derive(Debug, Clone, Copy)]
pub(super) struct Key {
    /// Whether there is a column `approach_no`.
    pub(super) approach: bool,
    /// What comes after it: `rule`, or another column.
    pub(super) then: Option<&'static str>,
}

/// The key of every row of a batch.
#[derive(Debug)]
pub(super) struct Keys {
    flights: LargeStringArray,
    approaches: Option<Int32Array>,
    then: Option<LargeStringArray>,
}

impl Keys {
    pub(super) fn of(batch: &RecordBatch, key: Key) -> Result<Self, String> {
        let column = |name: &str, kind: &DataType| {
            let column = batch.column_by_name(name);
            let column = column.ok_or_else(|| format!("it has no column {name}"))?;
            cast(column, kind).map_err(|error| format!("{name}: {error}"))
        };
        let text = |name: &str| -> Result<LargeStringArray, String> {
            Ok(column(name, &DataType::LargeUtf8)?
                .as_string::<i64>()
                .clone())
        };
        let number = |name: &str| -> Result<Int32Array, String> {
            Ok(column(name, &DataType::Int32)?
                .as_primitive::<Int32Type>()
                .clone())
        };
        Ok(Self {
            flights: text("flight_id")?,
            approaches: key.approach.then(|| number("approach_no")).transpose()?,
            then: key.then.map(text).transpose()?,
        })
    }

    fn len(&self) -> usize {
        self.flights.len()
    }

    fn number(&self, row: usize) -> i32 {
        self.approaches
            .as_ref()
            .map_or(0, |numbers| numbers.value(row))
    }

    fn then(&self, row: usize) -> &str {
        self.then.as_ref().map_or("", |then| then.value(row))
    }

    /// How a row compares with one of the same or of another batch.
    pub(super) fn compare(&self, row: usize, other: &Self, of_other: usize) -> Ordering {
        let flights = self.flights.value(row).cmp(other.flights.value(of_other));
        flights
            .then_with(|| self.number(row).cmp(&other.number(of_other)))
            .then_with(|| self.then(row).cmp(other.then(of_other)))
    }
}

/// One stream: a batch in memory, and where the next row is.
pub(super) struct Source {
    path: PathBuf,
    reader: ParquetRecordBatchReader,
    schema: SchemaRef,
    key: Key,
    pub(super) batch: RecordBatch,
    pub(super) keys: Keys,
    pub(super) at: usize,
}

impl Source {
    /// Opens a file whose rows are in order; none where it has none. So many rows are in memory.
    pub(super) fn open(
        path: &Path,
        schema: &SchemaRef,
        key: Key,
        rows: usize,
    ) -> Result<Option<Self>, StoreError> {
        let file = File::open(path).map_err(crate::store::io("open", path))?;
        let reader = ParquetRecordBatchReaderBuilder::try_new(file)
            .and_then(|builder| builder.with_batch_size(rows).build())
            .map_err(damaged(path))?;
        let empty = RecordBatch::new_empty(Arc::clone(schema));
        let mut source = Self {
            keys: Keys::of(&empty, key).map_err(damaged(path))?,
            path: path.to_owned(),
            reader,
            schema: Arc::clone(schema),
            key,
            batch: empty,
            at: 0,
        };
        Ok(source.load()?.then_some(source))
    }

    /// Reads the next rows; false where there are none.
    fn load(&mut self) -> Result<bool, StoreError> {
        for batch in self.reader.by_ref() {
            let batch = batch.map_err(damaged(&self.path))?;
            if batch.num_rows() == 0 {
                continue;
            }
            self.batch = conform(&batch, &self.schema).map_err(damaged(&self.path))?;
            self.keys = Keys::of(&self.batch, self.key).map_err(damaged(&self.path))?;
            self.at = 0;
            return Ok(true);
        }
        Ok(false)
    }

    /// How many of the rows in memory come before a row of another source; those of equal key do where `first`
    /// says so.
    pub(super) fn before(&self, other: &Self, first: bool) -> usize {
        let comes_before = |row: usize| match self.keys.compare(row, &other.keys, other.at) {
            Ordering::Less => true,
            Ordering::Equal => first,
            Ordering::Greater => false,
        };
        let (mut low, mut high) = (self.at, self.keys.len());
        // Mostly all of them, or a few.
        if high > low && comes_before(high - 1) {
            return high - low;
        }
        while low < high {
            let middle = low.midpoint(high);
            if comes_before(middle) {
                low = middle + 1;
            } else {
                high = middle;
            }
        }
        low - self.at
    }

    /// Takes the next rows away; false where the stream has ended with them.
    pub(super) fn take(&mut self, rows: usize) -> Result<(RecordBatch, bool), StoreError> {
        let taken = self.batch.slice(self.at, rows);
        self.at += rows;
        let goes_on = self.at < self.keys.len() || self.load()?;
        Ok((taken, goes_on))
    }
}

/// The columns of `schema`, in its order: those that a file of an earlier version lacks are null.
fn conform(batch: &RecordBatch, schema: &SchemaRef) -> Result<RecordBatch, String> {
    let columns = schema
        .fields()
        .iter()
        .map(|field| -> Result<ArrayRef, String> {
            match batch.column_by_name(field.name()) {
                Some(column) => cast(column, field.data_type()).map_err(|error| error.to_string()),
                None => Ok(new_null_array(field.data_type(), batch.num_rows())),
            }
        });
    let columns = columns.collect::<Result<Vec<ArrayRef>, String>>()?;
    RecordBatch::try_new(Arc::clone(schema), columns).map_err(|error| error.to_string())
}

/// Whether the rows of a file are in the order of the key.
pub(super) fn is_sorted(path: &Path, key: Key) -> Result<bool, StoreError> {
    let mut columns = vec!["flight_id", "approach_no"];
    columns.extend(key.then);
    let mut sorted = true;
    let mut last: (String, i64, String) = (String::new(), i64::MIN, String::new());
    each_batch(path, &columns, &mut |batch| {
        let flights = texts(batch, "flight_id")?.ok_or("it has no column flight_id")?;
        let numbers = whole_numbers(batch, "approach_no")?.filter(|_| key.approach);
        let then = key
            .then
            .map(|name| texts(batch, name))
            .transpose()?
            .flatten();
        let of = |row: usize| {
            let number = numbers.as_ref().map_or(0, |numbers| numbers.value(row));
            let then = then.as_ref().and_then(|then| then.text(row));
            (
                flights.text(row).unwrap_or_default(),
                number,
                then.unwrap_or_default(),
            )
        };
        if batch.num_rows() == 0 || !sorted {
            return Ok(());
        }
        let before = (last.0.as_str(), last.1, last.2.as_str());
        sorted = before <= of(0) && (1..batch.num_rows()).all(|row| of(row - 1) <= of(row));
        let (flight, number, then) = of(batch.num_rows() - 1);
        last = (flight.to_owned(), number, then.to_owned());
        Ok(())
    })?;
    Ok(sorted)
}

/// Sorts the rows of a file into another; those of equal key stay as they are.
pub(super) fn sort_file(
    path: &Path,
    schema: &SchemaRef,
    key: Key,
    into: &Path,
) -> Result<(), StoreError> {
    let batch = conform(&read_batch(path)?, schema).map_err(damaged(path))?;
    let keys = Keys::of(&batch, key).map_err(damaged(path))?;
    let rows = u32::try_from(batch.num_rows()).unwrap_or(u32::MAX);
    let mut order: Vec<u32> = (0..rows).collect();
    order.sort_by(|a, b| keys.compare(*a as usize, &keys, *b as usize));
    let sorted = take_record_batch(&batch, &UInt32Array::from(order)).map_err(damaged(path))?;
    let mut writer = Spill::begin(schema, into)?;
    writer.write(&sorted)?;
    writer.end()
}

/// A file of rows in order that is read once and then goes.
pub(super) struct Spill {
    path: PathBuf,
    writer: ArrowWriter<File>,
}

impl Spill {
    pub(super) fn begin(schema: &SchemaRef, path: &Path) -> Result<Self, StoreError> {
        let file = File::create(path).map_err(crate::store::io("create", path))?;
        let writer = ArrowWriter::try_new(file, Arc::clone(schema), None).map_err(damaged(path))?;
        Ok(Self {
            path: path.to_owned(),
            writer,
        })
    }

    pub(super) fn write(&mut self, batch: &RecordBatch) -> Result<(), StoreError> {
        self.writer.write(batch).map_err(damaged(&self.path))
    }

    pub(super) fn end(self) -> Result<(), StoreError> {
        self.writer.close().map_err(damaged(&self.path))?;
        Ok(())
    }
}

pub(super) fn damaged<E: std::fmt::Display>(path: &Path) -> impl Fn(E) -> StoreError {
    let path = path.to_owned();
    move |error| StoreError::Damaged {
        path: path.clone(),
        detail: error.to_string(),
    }
}
