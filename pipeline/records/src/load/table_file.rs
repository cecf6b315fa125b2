//! A file of records, whatever its kind: a schema, and batches of the columns asked for.

use std::path::Path;

use arrow::array::RecordBatch;
use arrow::datatypes::Schema;
use parquet::arrow::ProjectionMask;
use parquet::arrow::arrow_reader::ParquetRecordBatchReader;

use super::csv_file::{CsvBatches, CsvFile};
use super::parquet_file;

const BATCH_ROWS: usize = 16_384;

/// Endings of files that hold records, without regard to capitals.
pub(crate) const ENDINGS: [&str; 2] = ["parquet", "csv"];

/// An opened file of records, its columns known, nothing decoded yet.
pub(crate) enum Opened {
    Parquet(Box<parquet_file::Opened>),
    Csv(Box<CsvFile>),
}

/// Opens a file; its ending says what it is.
///
/// # Errors
/// In words for the user: what is wrong with the file and what to do.
pub(crate) fn open(path: &Path) -> Result<Opened, String> {
    if has_ending(path, "csv") {
        Ok(Opened::Csv(Box::new(CsvFile::open(path)?)))
    } else {
        Ok(Opened::Parquet(Box::new(parquet_file::open(path)?)))
    }
}

pub(crate) fn has_ending(path: &Path, ending: &str) -> bool {
    path.extension()
        .is_some_and(|found| found.eq_ignore_ascii_case(ending))
}

impl Opened {
    pub(crate) fn schema(&self) -> &Schema {
        match self {
            Self::Parquet(builder) => builder.schema(),
            Self::Csv(file) => file.schema(),
        }
    }

    /// Rows in all, where the file tells without being read.
    pub(crate) fn known_rows(&self) -> Option<usize> {
        match self {
            Self::Parquet(builder) => {
                let rows = builder.metadata().file_metadata().num_rows();
                Some(usize::try_from(rows).unwrap_or(0))
            }
            Self::Csv(_) => None,
        }
    }

    /// The rows from the first on, with these columns in the order of the file; columns that the
    /// file lacks are left out.
    ///
    /// # Errors
    /// In words for the user.
    pub(crate) fn read(self, columns: &[&str]) -> Result<Batches, String> {
        let schema = self.schema();
        let mut indices: Vec<usize> = columns
            .iter()
            .filter_map(|name| schema.index_of(name).ok())
            .collect();
        indices.sort_unstable();
        indices.dedup();
        match self {
            Self::Parquet(builder) => {
                let mask = ProjectionMask::roots(builder.parquet_schema(), indices);
                let reader = builder.with_projection(mask).with_batch_size(BATCH_ROWS);
                let reader =
                    parquet_file::guarded(|| reader.build())?.map_err(|e| e.to_string())?;
                Ok(Batches::Parquet(Box::new(reader)))
            }
            Self::Csv(file) => Ok(Batches::Csv(file.read(&indices)?)),
        }
    }
}

/// The rows of a file, some thousands at a time.
pub(crate) enum Batches {
    Parquet(Box<ParquetRecordBatchReader>),
    Csv(CsvBatches),
}

impl Batches {
    /// The next rows; none at the end of the file.
    ///
    /// # Errors
    /// In words for the user.
    pub(crate) fn next(&mut self) -> Result<Option<RecordBatch>, String> {
        match self {
            Self::Parquet(reader) => parquet_file::next_batch(reader),
            Self::Csv(batches) => batches.next(),
        }
    }
}
