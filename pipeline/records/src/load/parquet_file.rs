//! Opens Parquet files that may be anything: sizes are checked before they are believed.

use std::fs::File;
use std::io::{Read, Seek, SeekFrom};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

use arrow::array::RecordBatch;
use parquet::arrow::arrow_reader::{ParquetRecordBatchReader, ParquetRecordBatchReaderBuilder};

/// An opened file, its footer read.
pub(crate) type Opened = ParquetRecordBatchReaderBuilder<File>;

const MAGIC: &[u8; 4] = b"PAR1";
const TAIL_BYTES: u64 = 8;
/// Larger files are refused, by judgement.
pub(super) const MAX_FILE_BYTES: u64 = 64 << 30;
const MAX_FOOTER_BYTES: u64 = 64 << 20;
pub(super) const MAX_COLUMNS: usize = 5_000;
const MAX_ROW_GROUPS: usize = 100_000;
/// Largest claimed size of one row group once decompressed.
const MAX_ROW_GROUP_BYTES: i64 = 8 << 30;

/// Opens a file and reads its footer; nothing is decoded yet.
///
/// # Errors
/// In words for the user: what is wrong with the file and what may have happened to it.
pub(crate) fn open(path: &Path) -> Result<Opened, String> {
    let mut file = File::open(path).map_err(|e| e.to_string())?;
    check_tail(&mut file)?;
    let builder = guarded(|| ParquetRecordBatchReaderBuilder::try_new(file))?
        .map_err(|e| format!("the Parquet footer cannot be read: {e}"))?;
    let metadata = builder.metadata();
    let columns = metadata.file_metadata().schema_descr().num_columns();
    if columns > MAX_COLUMNS {
        return Err(format!("{columns} columns, at most {MAX_COLUMNS} are read"));
    }
    if metadata.num_row_groups() > MAX_ROW_GROUPS {
        let groups = metadata.num_row_groups();
        return Err(format!(
            "{groups} row groups, at most {MAX_ROW_GROUPS} are read"
        ));
    }
    for (i, group) in metadata.row_groups().iter().enumerate() {
        let bytes = group.total_byte_size();
        if !(0..=MAX_ROW_GROUP_BYTES).contains(&bytes) {
            return Err(format!(
                "row group {i} claims {bytes} bytes uncompressed, at most {MAX_ROW_GROUP_BYTES} \
                 are read: write smaller row groups"
            ));
        }
    }
    Ok(builder)
}

/// Runs a step of decoding; damaged bytes may make the decoder panic, which is one more way of
/// not being readable.
pub(super) fn guarded<T>(step: impl FnOnce() -> T) -> Result<T, String> {
    catch_unwind(AssertUnwindSafe(step))
        .map_err(|_| "the content is damaged: decoding it failed; copy the file again".to_owned())
}

/// The next batch of a reader.
pub(super) fn next_batch(
    reader: &mut ParquetRecordBatchReader,
) -> Result<Option<RecordBatch>, String> {
    guarded(|| reader.next())?
        .transpose()
        .map_err(|e| e.to_string())
}

fn check_tail(file: &mut File) -> Result<(), String> {
    let bytes = file.metadata().map_err(|e| e.to_string())?.len();
    if bytes > MAX_FILE_BYTES {
        return Err(format!(
            "{bytes} bytes, at most {MAX_FILE_BYTES} are read: split the file"
        ));
    }
    let no_parquet = "not a Parquet file";
    if bytes < TAIL_BYTES + 4 {
        return Err(format!("{no_parquet}: {bytes} bytes is too short"));
    }
    let mut read = |from: SeekFrom, into: &mut [u8]| {
        file.seek(from)
            .and_then(|_| file.read_exact(into))
            .map_err(|e| e.to_string())
    };
    let mut head = [0; 4];
    read(SeekFrom::Start(0), &mut head)?;
    let mut tail = [0; TAIL_BYTES as usize];
    read(SeekFrom::End(-(TAIL_BYTES as i64)), &mut tail)?;
    let [a, b, c, d, end @ ..] = tail;
    if &head != MAGIC {
        return Err(format!("{no_parquet}: it does not begin with PAR1"));
    }
    if &end != MAGIC {
        return Err("the file is cut off: it does not end with PAR1; copy it again".to_owned());
    }
    let footer = u64::from(u32::from_le_bytes([a, b, c, d]));
    if footer > bytes - TAIL_BYTES || footer > MAX_FOOTER_BYTES {
        return Err(format!(
            "the footer claims {footer} bytes in a file of {bytes}"
        ));
    }
    file.seek(SeekFrom::Start(0))
        .map(|_| ())
        .map_err(|e| e.to_string())
}
