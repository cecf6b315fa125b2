//! Rows of one kind to and from small Parquet files named after their content.

use std::fs::File;
use std::io::Write;
use std::path::Path;
use std::sync::Arc;

use arrow::array::{RecordBatch, RecordBatchReader};
use arrow::compute::concat_batches;
use arrow::datatypes::{FieldRef, Schema};
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use parquet::basic::{Compression, ZstdLevel};
use parquet::file::properties::WriterProperties;
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_arrow::schema::{SchemaLike, TracingOptions};

use super::{StoreError, io};

/// Lays rows out as one batch; the columns are the fields of `T`, in their order.
///
/// # Errors
/// `T` is not a flat struct of numbers, texts and options.
pub fn rows_to_batch<T: Serialize + DeserializeOwned>(
    table: &str,
    rows: &[T],
) -> Result<RecordBatch, StoreError> {
    let refuse = |error: serde_arrow::Error| StoreError::Rows {
        table: table.to_owned(),
        detail: error.message().to_owned(),
    };
    let options = TracingOptions::default().string_dictionary_encoding(false);
    let fields = Vec::<FieldRef>::from_type::<T>(options).map_err(refuse)?;
    if rows.is_empty() {
        return Ok(RecordBatch::new_empty(Arc::new(Schema::new(fields))));
    }
    serde_arrow::to_record_batch(&fields, &rows).map_err(refuse)
}

/// Properties of every file that is written: nothing in them varies from run to run.
pub(crate) fn writer_properties() -> WriterProperties {
    WriterProperties::builder()
        .set_created_by("glidetally".to_owned())
        .set_compression(Compression::ZSTD(ZstdLevel::try_new(3).unwrap_or_default()))
        .build()
}

/// Writes `rows` as `TABLE/HASH.parquet` below `root` and returns the path relative to it; `None`
/// where there are no rows.
///
/// # Errors
/// The folder cannot be written.
pub fn write_rows_file<T: Serialize + DeserializeOwned>(
    root: &Path,
    table: &str,
    rows: &[T],
) -> Result<Option<String>, StoreError> {
    if rows.is_empty() {
        return Ok(None);
    }
    put_batch(root, table, &rows_to_batch(table, rows)?).map(Some)
}

/// Writes a batch as a file of `table` under the name that its content gives it, and returns that.
///
/// # Errors
/// The folder cannot be written.
pub(crate) fn put_batch(
    root: &Path,
    table: &str,
    batch: &RecordBatch,
) -> Result<String, StoreError> {
    let mut bytes = Vec::new();
    let refuse = |error: parquet::errors::ParquetError| StoreError::Rows {
        table: table.to_owned(),
        detail: error.to_string(),
    };
    let mut writer = ArrowWriter::try_new(&mut bytes, batch.schema(), Some(writer_properties()))
        .map_err(refuse)?;
    writer.write(batch).map_err(refuse)?;
    writer.close().map_err(refuse)?;
    let name = format!("{table}/{}.parquet", &blake3::hash(&bytes).to_hex()[..24]);
    put_file(root, &name, &bytes)?;
    Ok(name)
}

/// Writes a file through a temporary name, so that a name never stands for half a file, and does not
/// return before the disk has it: a run that names it may be published next.
///
/// The temporary name is this process's own: two that write the same content do not meet.
pub(crate) fn put_file(root: &Path, name: &str, bytes: &[u8]) -> Result<(), StoreError> {
    let path = root.join(name);
    let folder = path.parent().unwrap_or(root);
    std::fs::create_dir_all(folder).map_err(io("create the folder", folder))?;
    let part = path.with_extension(format!("{}.part", std::process::id()));
    let written = File::create(&part).and_then(|mut file| {
        file.write_all(bytes)?;
        file.sync_all()
    });
    written
        .and_then(|()| std::fs::rename(&part, &path))
        .map_err(|error| {
            // Half a file helps nobody, least of all on a full disk.
            let _ = std::fs::remove_file(&part);
            io("write", &path)(error)
        })?;
    sync(folder)
}

/// Waits until the disk has a file, or the names in a folder.
pub(super) fn sync(path: &Path) -> Result<(), StoreError> {
    // Elsewhere a folder cannot be opened, and its names are kept with its files.
    if cfg!(not(unix)) && path.is_dir() {
        return Ok(());
    }
    File::open(path)
        .and_then(|file| file.sync_all())
        .map_err(io("write", path))
}

/// Reads the rows of several files below `root`, in that order.
///
/// # Errors
/// A file is missing or does not hold rows of `T`.
pub fn read_rows<T: DeserializeOwned>(root: &Path, files: &[String]) -> Result<Vec<T>, StoreError> {
    let mut rows = Vec::new();
    for name in files {
        let path = root.join(name);
        let file = File::open(&path).map_err(io("open", &path))?;
        let damaged = |detail: String| StoreError::Damaged {
            path: path.clone(),
            detail,
        };
        let reader = ParquetRecordBatchReaderBuilder::try_new(file)
            .and_then(|builder| builder.build())
            .map_err(|error| damaged(error.to_string()))?;
        for batch in reader {
            let batch = batch.map_err(|error| damaged(error.to_string()))?;
            let mut part: Vec<T> = serde_arrow::from_record_batch(&batch)
                .map_err(|error| damaged(error.message().to_owned()))?;
            rows.append(&mut part);
        }
    }
    Ok(rows)
}

/// All rows of one file as one batch.
///
/// # Errors
/// The file is missing or damaged.
pub(crate) fn read_batch(path: &Path) -> Result<RecordBatch, StoreError> {
    let damaged = |detail: String| StoreError::Damaged {
        path: path.to_owned(),
        detail,
    };
    let file = File::open(path).map_err(io("open", path))?;
    let reader = ParquetRecordBatchReaderBuilder::try_new(file)
        .and_then(ParquetRecordBatchReaderBuilder::build)
        .map_err(|error| damaged(error.to_string()))?;
    let schema = reader.schema();
    let batches = reader
        .collect::<Result<Vec<_>, _>>()
        .map_err(|error| damaged(error.to_string()))?;
    concat_batches(&schema, &batches).map_err(|error| damaged(error.to_string()))
}
