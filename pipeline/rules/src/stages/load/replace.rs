//! Takes flights out of the store: each file that holds one of them is written again without it.
//!
//! Files are never changed in place: an earlier state of the store still reads.

use std::collections::BTreeSet;
use std::fs::File;
use std::path::Path;

use arrow::array::{AsArray, BooleanArray, RecordBatch};
use arrow::compute::{concat_batches, filter_record_batch};
use arrow::datatypes::{Int32Type, Int64Type};
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use records::rows::ApproachRow;
use records::samples::uncleaned_key;

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
        without(store, table, &|flight, _| flights.contains(flight), run)?;
    }
    // Sample files are judged as a whole: the other approaches of a file leave the results too, and
    // come back with the next detect. Approaches and not flights: another one of the same flight may lie
    // in a file that stays as it is, and stays judged.
    let mut unjudged: BTreeSet<(String, i32)> = BTreeSet::new();
    for file in store.files("approaches") {
        let rows: Vec<ApproachRow> = read_rows(store.root(), std::slice::from_ref(&file))?;
        if !rows
            .iter()
            .any(|row| flights.contains(row.flight_id.as_str()))
        {
            continue;
        }
        let keys = rows
            .iter()
            .map(|row| (row.flight_id.clone(), row.approach_no));
        unjudged.extend(keys);
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
    // What detect found is found anew for every approach of a sample file that was written again.
    for table in RESULTS {
        without(
            store,
            table,
            &|flight, approach| {
                approach.is_some_and(|number| unjudged.contains(&(flight.to_owned(), number)))
            },
            run,
        )?;
    }
    Ok(())
}

/// Writes each file of `table` again without the rows whose flight, and approach where the table has it,
/// are to go.
fn without(
    store: &Store,
    table: &str,
    goes: &dyn Fn(&str, Option<i32>) -> bool,
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
        let numbers = batch
            .column_by_name("approach_no")
            .and_then(|numbers| numbers.as_primitive_opt::<Int32Type>());
        let stays: BooleanArray = (0..)
            .zip(ids.as_string::<i32>())
            .map(|(row, id)| {
                let number = numbers.map(|numbers| numbers.value(row));
                Some(id.is_none_or(|id| !goes(id, number)))
            })
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
    // Sorted by key: the rows of an approach stand together.
    let of = |wanted: i64| {
        let from = keys.partition_point(|key| *key < wanted);
        let to = keys.partition_point(|key| *key <= wanted);
        (from < to).then(|| batch.slice(from, to - from))
    };
    let mut approaches = Vec::with_capacity(kept.len());
    for row in kept {
        let samples = of(row.approach_key).ok_or_else(|| damaged("an approach has no samples"))?;
        let uncleaned = of(uncleaned_key(row.approach_key));
        if uncleaned.is_some() != (row.n_uncleaned != 0) {
            return Err(damaged(
                "an approach has no uncleaned samples, or some that its row does not know of",
            ));
        }
        approaches.push(ApproachBatches {
            row,
            samples,
            uncleaned,
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::write_rows_file;
    use serde::{Deserialize, Serialize};

    #[derive(Debug, PartialEq, Serialize, Deserialize)]
    struct Row {
        flight_id: String,
        approach_no: i32,
    }

    fn row(flight_id: &str, approach_no: i32) -> Row {
        Row {
            flight_id: flight_id.to_owned(),
            approach_no,
        }
    }

    #[test]
    fn the_other_approach_of_a_flight_keeps_its_results() {
        let folder = tempfile::TempDir::new().unwrap();
        let mut store = Store::open(folder.path()).unwrap();
        let rows = [row("f", 1), row("f", 2), row("g", 1)];
        let mut first = Run::default();
        first.add(
            "events",
            write_rows_file(folder.path(), "events", &rows).unwrap(),
        );
        store.publish(first).unwrap();
        let mut second = Run::default();
        let goes = |flight: &str, approach: Option<i32>| flight == "f" && approach == Some(1);
        without(&store, "events", &goes, &mut second).unwrap();
        store.publish(second).unwrap();
        let left: Vec<Row> = read_rows(store.root(), &store.files("events")).unwrap();
        assert_eq!(left, [row("f", 2), row("g", 1)]);
        let before: Vec<Row> = read_rows(store.root(), &store.files_at("events", 1)).unwrap();
        assert_eq!(before, rows);
    }
}
