//! Sample files: whole approaches, sorted by (`approach_key`, `k`), in row groups of whole approaches.
//!
//! Locality is by construction: no approach is ever split over files or row groups, so that one
//! scan can aggregate each approach where it is read. An approach that quality took samples from lies in
//! its file twice, the second time as it was before, under a negative key.

use std::collections::{BTreeMap, VecDeque};
use std::path::{Path, PathBuf};
use std::thread::JoinHandle;

use arrow::array::RecordBatch;
use arrow::datatypes::{DataType, SchemaRef};
use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, Encoding, ZstdLevel};
use parquet::file::properties::WriterProperties;
use parquet::schema::types::ColumnPath;
use records::rows::ApproachRow;
#[cfg(doc)]
use records::samples::uncleaned_key;

use super::StoreError;
use super::files::{put_file, rows_to_batch, writer_properties};

/// The samples of one approach with its row.
pub struct ApproachBatches {
    /// The row of the `approaches` table.
    pub row: ApproachRow,
    /// Its samples, `k` ascending from 0.
    pub samples: RecordBatch,
    /// The same under [`uncleaned_key`], as they were before they were cleaned; where the row says so.
    pub uncleaned: Option<RecordBatch>,
}

/// One written sample file; its approach rows are in the file of the same name under `approaches/`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SampleFile {
    /// `samples/month=YYYY-MM/HASH.parquet`, relative to the store.
    pub samples: String,
    /// `approaches/month=YYYY-MM/HASH.parquet`.
    pub approaches: String,
}

/// A file is closed at this many approaches: small enough that a batch of files spreads over cores.
pub(crate) const APPROACHES_PER_FILE: usize = 500;
/// A row group ends after the approach that reaches this many rows.
const ROWS_PER_GROUP: usize = 131_072;
/// Setting the compressor up for a page of a few thousand numbers costs as much as they do; but a page is read
/// whole, also for the sake of a single approach.
const ROWS_PER_PAGE: usize = 32_768;
/// The third makes the samples of the built-in fleet 4 % smaller, and loading takes a fifth more of the processor.
const ZSTD_LEVEL: i32 = 1;
/// What all months together may hold back before the largest is written.
const BUFFER_BYTES: usize = 256 << 20;
/// How many files may be in writing at a time; each holds its samples until it is done.
const FILES_IN_WRITING: usize = 2;

/// Collects prepared approaches by month and writes them as sample files.
pub struct SampleWriter {
    root: PathBuf,
    schema: SchemaRef,
    months: BTreeMap<String, Buffer>,
    written: Vec<SampleFile>,
    /// Files being written, oldest first: encoding goes on while the next flights are prepared.
    writing: VecDeque<JoinHandle<Result<SampleFile, StoreError>>>,
}

#[derive(Default)]
struct Buffer {
    approaches: Vec<ApproachBatches>,
    bytes: usize,
}

impl SampleWriter {
    /// A writer below the store folder `root` for samples of this schema.
    #[must_use]
    pub fn new(root: PathBuf, schema: SchemaRef) -> Self {
        Self {
            root,
            schema,
            months: BTreeMap::new(),
            written: Vec::new(),
            writing: VecDeque::new(),
        }
    }

    /// Takes one approach.
    ///
    /// # Errors
    /// A full file cannot be written.
    pub fn push(&mut self, approach: ApproachBatches) -> Result<(), StoreError> {
        let month = approach
            .row
            .month
            .clone()
            .unwrap_or_else(|| "unknown".to_owned());
        let buffer = self.months.entry(month.clone()).or_default();
        buffer.bytes += approach.samples.get_array_memory_size();
        let uncleaned = approach.uncleaned.as_ref();
        buffer.bytes += uncleaned.map_or(0, RecordBatch::get_array_memory_size);
        buffer.approaches.push(approach);
        if buffer.approaches.len() >= APPROACHES_PER_FILE {
            return self.flush(&month);
        }
        if self
            .months
            .values()
            .map(|buffer| buffer.bytes)
            .sum::<usize>()
            > BUFFER_BYTES
        {
            let largest = self.months.iter().max_by_key(|(_, buffer)| buffer.bytes);
            if let Some(month) = largest.map(|(month, _)| month.clone()) {
                return self.flush(&month);
            }
        }
        Ok(())
    }

    /// Writes what is left and returns every file written.
    ///
    /// # Errors
    /// A file cannot be written.
    pub fn finish(mut self) -> Result<Vec<SampleFile>, StoreError> {
        let months: Vec<String> = self.months.keys().cloned().collect();
        for month in months {
            self.flush(&month)?;
        }
        self.wait(0)?;
        Ok(self.written)
    }

    /// Hands the approaches of a month to a thread that writes them.
    fn flush(&mut self, month: &str) -> Result<(), StoreError> {
        let Some(buffer) = self.months.remove(month) else {
            return Ok(());
        };
        self.wait(FILES_IN_WRITING - 1)?;
        let (root, schema, month) = (self.root.clone(), self.schema.clone(), month.to_owned());
        self.writing.push_back(std::thread::spawn(move || {
            write_file(&root, &schema, &month, buffer.approaches)
        }));
        Ok(())
    }

    /// Waits until at most `left` files are being written; files stay in the order of flushing.
    fn wait(&mut self, left: usize) -> Result<(), StoreError> {
        while self.writing.len() > left {
            let Some(oldest) = self.writing.pop_front() else {
                break;
            };
            let file = oldest.join().map_err(|_| StoreError::Rows {
                table: "samples".to_owned(),
                detail: "a thread that wrote a file broke off; this is a fault of the program"
                    .to_owned(),
            })??;
            self.written.push(file);
        }
        Ok(())
    }
}

/// Writes one sample file and its approach rows.
///
/// # Errors
/// The rows cannot be laid out, or the file cannot be written.
pub(crate) fn write_file(
    root: &Path,
    schema: &SchemaRef,
    month: &str,
    mut approaches: Vec<ApproachBatches>,
) -> Result<SampleFile, StoreError> {
    approaches.sort_by_key(|approach| approach.row.approach_key);
    let refuse = |error: parquet::errors::ParquetError| StoreError::Rows {
        table: "samples".to_owned(),
        detail: error.to_string(),
    };
    let mut bytes = Vec::new();
    let mut writer = ArrowWriter::try_new(&mut bytes, schema.clone(), Some(properties(schema)))
        .map_err(refuse)?;
    // Uncleaned samples first: their keys are negative, and ascend as those of the approaches descend.
    let uncleaned = approaches.iter().rev().filter_map(|a| a.uncleaned.as_ref());
    for samples in uncleaned.chain(approaches.iter().map(|a| &a.samples)) {
        writer.write(samples).map_err(refuse)?;
        if writer.in_progress_rows() >= ROWS_PER_GROUP {
            writer.flush().map_err(refuse)?;
        }
    }
    writer.close().map_err(refuse)?;

    let rows: Vec<ApproachRow> = approaches.into_iter().map(|a| a.row).collect();
    let batch = rows_to_batch("approaches", &rows)?;
    let mut row_bytes = Vec::new();
    let mut writer =
        ArrowWriter::try_new(&mut row_bytes, batch.schema(), Some(writer_properties()))
            .map_err(refuse)?;
    writer.write(&batch).map_err(refuse)?;
    writer.close().map_err(refuse)?;
    // Named after both: other rows for the same samples are another pair of files, so that what
    // an earlier run names is never written over.
    let hash = pair_hash(&bytes, &row_bytes).to_hex();
    let stem = format!("month={month}/{}.parquet", &hash[..24]);
    let samples = format!("samples/{stem}");
    let approaches = format!("approaches/{stem}");
    put_file(root, &samples, &bytes)?;
    put_file(root, &approaches, &row_bytes)?;
    Ok(SampleFile {
        samples,
        approaches,
    })
}

/// The hash that names a sample file and its approach rows.
pub(super) fn pair_hash(samples: &[u8], rows: &[u8]) -> blake3::Hash {
    let mut hasher = blake3::Hasher::new();
    hasher.update(samples).update(rows);
    hasher.finalize()
}

/// Measurements split by byte and compressed, without a dictionary; keys and states with one.
fn properties(schema: &SchemaRef) -> WriterProperties {
    let mut builder = WriterProperties::builder()
        .set_created_by("glidetally".to_owned())
        .set_compression(Compression::ZSTD(
            ZstdLevel::try_new(ZSTD_LEVEL).unwrap_or_default(),
        ))
        .set_max_row_group_row_count(None)
        .set_data_page_row_count_limit(ROWS_PER_PAGE);
    for field in schema.fields() {
        if matches!(field.data_type(), DataType::Float32 | DataType::Float64) {
            let path = ColumnPath::from(field.name().as_str());
            builder = builder
                .set_column_dictionary_enabled(path.clone(), false)
                .set_column_encoding(path, Encoding::BYTE_STREAM_SPLIT);
        }
    }
    builder.build()
}
