//! Takes flights out of the store: each file that holds one of them is written again without it.
//!
//! Files are never changed in place: an earlier state of the store still reads.

use std::collections::BTreeSet;
use std::fs::File;
use std::path::Path;

use arrow::array::{AsArray, BooleanArray, RecordBatch};
use arrow::compute::{concat_batches, filter_record_batch};
use arrow::datatypes::Int64Type;
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use records::rows::ApproachRow;

use super::RESULTS;
use crate::store::{
    ApproachBatches, Run, Store, StoreError, put_hashed, read_rows, write_sample_file,
    writer_properties,
};

/// Tables with one or more rows a flight, by `flight_id`.
const BY_FLIGHT: [&str; 3] = ["flights", "quality", "headers"];

/// Adds to `run` what takes these flights out of every table.
///
/// # Errors
/// A file of the store is missing or damaged, or a new one cannot be written.
pub(super) fn take_out(
    store: &Store,
    flights: &BTreeSet<&str>,
    run: &mut Run,
) -> Result<(), StoreError> {
    for table in BY_FLIGHT {
        without(store, table, flights, run)?;
    }
    // Sample files are judged as a whole: the other flights of a file leave the results too, and
    // come back with the next detect.
    let mut unjudged: BTreeSet<String> = BTreeSet::new();
    for file in store.files("approaches") {
        let rows: Vec<ApproachRow> = read_rows(store.root(), std::slice::from_ref(&file))?;
        if !rows
            .iter()
            .any(|row| flights.contains(row.flight_id.as_str()))
        {
            continue;
        }
        unjudged.extend(rows.iter().map(|row| row.flight_id.clone()));
        let samples = file.replacen("approaches/", "samples/", 1);
        let kept: Vec<ApproachRow> = rows
            .into_iter()
            .filter(|row| !flights.contains(row.flight_id.as_str()))
            .collect();
        if !kept.is_empty() {
            let new = rewrite(store.root(), &samples, kept)?;
            run.add("samples", Some(new.samples));
            run.add("approaches", Some(new.approaches));
        }
        run.remove("samples", samples);
        run.remove("approaches", file);
    }
    let unjudged: BTreeSet<&str> = unjudged.iter().map(String::as_str).collect();
    // What detect found is found anew for every approach of a sample file that was written again.
    for table in RESULTS {
        without(store, table, &unjudged, run)?;
    }
    Ok(())
}

/// Writes each file of `table` that has rows of these flights again without them.
fn without(
    store: &Store,
    table: &str,
    flights: &BTreeSet<&str>,
    run: &mut Run,
) -> Result<(), StoreError> {
    for file in store.files(table) {
        let path = store.root().join(&file);
        let damaged = |detail: String| StoreError::Damaged {
            path: path.clone(),
            detail,
        };
        let batch = read(&path)?;
        let ids = batch
            .column_by_name("flight_id")
            .ok_or_else(|| damaged("it has no column flight_id".to_owned()))?;
        let ids = arrow::compute::cast(ids, &arrow::datatypes::DataType::Utf8)
            .map_err(|error| damaged(error.to_string()))?;
        let stays: BooleanArray = ids
            .as_string::<i32>()
            .iter()
            .map(|id| Some(id.is_none_or(|id| !flights.contains(id))))
            .collect();
        if stays.true_count() == stays.len() {
            continue;
        }
        let left =
            filter_record_batch(&batch, &stays).map_err(|error| damaged(error.to_string()))?;
        if left.num_rows() > 0 {
            let mut bytes = Vec::new();
            let refuse = |error: parquet::errors::ParquetError| StoreError::Rows {
                table: table.to_owned(),
                detail: error.to_string(),
            };
            let properties = Some(writer_properties());
            let mut writer =
                ArrowWriter::try_new(&mut bytes, left.schema(), properties).map_err(refuse)?;
            writer.write(&left).map_err(refuse)?;
            writer.close().map_err(refuse)?;
            run.add(table, Some(put_hashed(store.root(), table, &bytes)?));
        }
        run.remove(table, file);
    }
    Ok(())
}

/// A sample file with only these of its approaches.
fn rewrite(
    root: &Path,
    samples: &str,
    kept: Vec<ApproachRow>,
) -> Result<crate::store::SampleFile, StoreError> {
    let path = root.join(samples);
    let damaged = |detail: &str| StoreError::Damaged {
        path: path.clone(),
        detail: detail.to_owned(),
    };
    let batch = read(&path)?;
    let keys = batch
        .column_by_name("approach_key")
        .and_then(|keys| keys.as_primitive_opt::<Int64Type>())
        .ok_or_else(|| damaged("it has no column approach_key"))?
        .values();
    let mut approaches = Vec::with_capacity(kept.len());
    for row in kept {
        // Sorted by key: the rows of an approach stand together.
        let from = keys.partition_point(|key| *key < row.approach_key);
        let to = keys.partition_point(|key| *key <= row.approach_key);
        if from == to {
            return Err(damaged("an approach has no samples"));
        }
        approaches.push(ApproachBatches {
            samples: batch.slice(from, to - from),
            row,
        });
    }
    let month = samples
        .split('/')
        .find_map(|part| part.strip_prefix("month="))
        .ok_or_else(|| damaged("its path names no month"))?;
    write_sample_file(root, &batch.schema(), month, approaches)
}

fn read(path: &Path) -> Result<RecordBatch, StoreError> {
    let damaged = |detail: String| StoreError::Damaged {
        path: path.to_owned(),
        detail,
    };
    let file = File::open(path).map_err(|error| damaged(error.to_string()))?;
    let reader = ParquetRecordBatchReaderBuilder::try_new(file)
        .and_then(ParquetRecordBatchReaderBuilder::build)
        .map_err(|error| damaged(error.to_string()))?;
    let schema = arrow::array::RecordBatchReader::schema(&reader);
    let batches = reader
        .collect::<Result<Vec<_>, _>>()
        .map_err(|error| damaged(error.to_string()))?;
    concat_batches(&schema, &batches).map_err(|error| damaged(error.to_string()))
}
