//! One approach out of a store: its row and its samples, without reading the rest.

use std::fs::File;
use std::path::Path;

use arrow::array::{Array, BooleanArray, Int64Array, RecordBatch, RecordBatchReader};
use arrow::compute::concat_batches;
use parquet::arrow::ProjectionMask;
use parquet::arrow::arrow_reader::{
    ArrowReaderMetadata, ArrowReaderOptions, ParquetRecordBatchReaderBuilder, RowSelection,
};
use parquet::file::metadata::RowGroupMetaData;
use parquet::file::statistics::Statistics;
use records::rows::ApproachRow;
use serde::de::DeserializeOwned;

use super::{Store, StoreError, each_batch, io, read_rows, texts, whole_numbers};

/// The column that tells approaches apart.
const KEY: &str = "approach_key";

/// Where an approach lies.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundApproach {
    /// Its row.
    pub row: ApproachRow,
    /// Its sample file, relative to the store.
    pub samples: String,
}

/// The approaches of a flight, by number.
///
/// # Errors
/// A file of the store is missing or damaged.
pub fn approaches_of_flight(
    store: &Store,
    flight_id: &str,
) -> Result<Vec<FoundApproach>, StoreError> {
    find_approaches(store, store.number(), |row| row.flight_id == flight_id)
}

/// The approaches that are `wanted` of the store as it was after run `number`, by flight and number.
///
/// # Errors
/// A file of the store is missing or damaged.
pub fn find_approaches(
    store: &Store,
    number: u64,
    wanted: impl Fn(&ApproachRow) -> bool,
) -> Result<Vec<FoundApproach>, StoreError> {
    let mut found = Vec::new();
    for file in store.files_at("approaches", number) {
        let rows: Vec<ApproachRow> = read_rows(store.root(), std::slice::from_ref(&file))?;
        // Sample files have the names of their approach files.
        let samples = file.replacen("approaches/", "samples/", 1);
        let own = rows.into_iter().filter(|row| wanted(row));
        found.extend(own.map(|row| FoundApproach {
            row,
            samples: samples.clone(),
        }));
    }
    found.sort_by(|a, b| {
        (&a.row.flight_id, a.row.approach_no).cmp(&(&b.row.flight_id, b.row.approach_no))
    });
    Ok(found)
}

/// The samples of one approach, `k` ascending. Only the row groups that may hold it are read, and of these only
/// its rows.
///
/// # Errors
/// The file is missing or damaged, or does not hold the approach.
pub fn read_approach(store: &Store, approach: &FoundApproach) -> Result<RecordBatch, StoreError> {
    let path = store.root().join(&approach.samples);
    let key = approach.row.approach_key;
    let damaged = |detail: String| StoreError::Damaged {
        path: path.clone(),
        detail,
    };
    let refuse = |error: parquet::errors::ParquetError| damaged(error.to_string());
    let file = File::open(&path).map_err(io("open", &path))?;
    let metadata = ArrowReaderMetadata::load(&file, ArrowReaderOptions::new()).map_err(refuse)?;
    let groups = metadata.metadata().row_groups().iter().enumerate();
    let groups: Vec<usize> = groups
        .filter(|(_, group)| may_hold(group, key))
        .map(|(index, _)| index)
        .collect();
    let reader = |file: File| {
        let builder = ParquetRecordBatchReaderBuilder::new_with_metadata(file, metadata.clone());
        builder.with_row_groups(groups.clone())
    };
    let keys = reader(file.try_clone().map_err(io("open", &path))?);
    let only_keys = ProjectionMask::columns(keys.parquet_schema(), [KEY]);
    let keys = keys.with_projection(only_keys).build().map_err(refuse)?;
    let mut own = Vec::new();
    for batch in keys {
        let batch = batch.map_err(|error| damaged(error.to_string()))?;
        own.push(of_key(&batch, key).map_err(damaged)?);
    }
    let selection = RowSelection::from_filters(&own);
    if selection.row_count() == 0 {
        return Err(damaged(format!(
            "it has no samples of approach {} of flight {}",
            approach.row.approach_no, approach.row.flight_id
        )));
    }
    let samples = reader(file)
        .with_row_selection(selection)
        .build()
        .map_err(refuse)?;
    let schema = samples.schema();
    let parts = samples
        .collect::<Result<Vec<RecordBatch>, _>>()
        .map_err(|error| damaged(error.to_string()))?;
    concat_batches(&schema, &parts).map_err(|error| damaged(error.to_string()))
}

/// The rows of a table, as of run `number`, that are about approaches of which `own` says so. Of a file without
/// any nothing else is read.
///
/// # Errors
/// A file of the store is missing or damaged.
pub fn rows_of_approaches<T: DeserializeOwned>(
    store: &Store,
    table: &str,
    number: u64,
    own: &dyn Fn(&str, i32) -> bool,
) -> Result<Vec<T>, StoreError> {
    let mut rows = Vec::new();
    for file in store.files_at(table, number) {
        let path = store.root().join(&file);
        let mut wanted = Vec::new();
        each_batch(&path, &["flight_id", "approach_no"], &mut |batch| {
            let flights = texts(batch, "flight_id")?.ok_or("it has no column flight_id")?;
            let numbers = whole_numbers(batch, "approach_no")?;
            let numbers = numbers.ok_or("it has no column approach_no")?;
            let is_own = |row: usize| {
                let number = i32::try_from(numbers.value(row)).ok();
                flights
                    .text(row)
                    .zip(number)
                    .map(|(flight, number)| own(flight, number))
            };
            wanted.push((0..batch.num_rows()).map(is_own).collect::<BooleanArray>());
            Ok(())
        })?;
        let selection = RowSelection::from_filters(&wanted);
        if selection.row_count() > 0 {
            rows.extend(selected::<T>(&path, selection)?);
        }
    }
    Ok(rows)
}

fn selected<T: DeserializeOwned>(path: &Path, rows: RowSelection) -> Result<Vec<T>, StoreError> {
    let damaged = |detail: String| StoreError::Damaged {
        path: path.to_owned(),
        detail,
    };
    let file = File::open(path).map_err(io("open", path))?;
    let reader = ParquetRecordBatchReaderBuilder::try_new(file)
        .and_then(|builder| builder.with_row_selection(rows).build())
        .map_err(|error| damaged(error.to_string()))?;
    let mut found = Vec::new();
    for batch in reader {
        let batch = batch.map_err(|error| damaged(error.to_string()))?;
        let part: Vec<T> = serde_arrow::from_record_batch(&batch)
            .map_err(|error| damaged(error.message().to_owned()))?;
        found.extend(part);
    }
    Ok(found)
}

/// Whether the keys of a row group reach over `key`; without statistics it may.
fn may_hold(group: &RowGroupMetaData, key: i64) -> bool {
    let column = group
        .columns()
        .iter()
        .find(|column| column.column_path().string() == KEY);
    match column.and_then(|column| column.statistics()) {
        Some(Statistics::Int64(range)) => {
            range.min_opt().is_none_or(|low| *low <= key)
                && range.max_opt().is_none_or(|high| key <= *high)
        }
        _ => true,
    }
}

fn of_key(batch: &RecordBatch, key: i64) -> Result<BooleanArray, String> {
    let keys = batch
        .column_by_name(KEY)
        .and_then(|column| column.as_any().downcast_ref::<Int64Array>())
        .ok_or("it has no column approach_key of 64-bit integers")?;
    Ok((0..keys.len())
        .map(|k| Some(keys.is_valid(k) && keys.value(k) == key))
        .collect())
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use arrow::array::{ArrayRef, Int32Array};
    use parquet::arrow::ArrowWriter;

    use super::*;

    /// One row group an approach, the uncleaned samples of approach 7 first.
    fn store(folder: &Path) -> Store {
        let store = Store::open(folder).expect("a store");
        std::fs::create_dir(folder.join("samples")).expect("a folder");
        let group = |key: i64, rows: i32| {
            let keys: ArrayRef = Arc::new((0..rows).map(|_| Some(key)).collect::<Int64Array>());
            let numbers: ArrayRef = Arc::new(Int32Array::from_iter_values(0..rows));
            RecordBatch::try_from_iter([("approach_key", keys), ("k", numbers)]).expect("a batch")
        };
        let groups = [group(-8, 5), group(3, 2), group(7, 4), group(9, 3)];
        let file = File::create(folder.join("samples/x.parquet")).expect("a file");
        let mut writer = ArrowWriter::try_new(file, groups[0].schema(), None).expect("a writer");
        for group in &groups {
            writer.write(group).expect("rows");
            writer.flush().expect("a row group");
        }
        writer.close().expect("a file");
        store
    }

    fn found(key: i64) -> FoundApproach {
        FoundApproach {
            row: ApproachRow {
                approach_key: key,
                flight_id: "f".to_owned(),
                approach_no: 1,
                ..ApproachRow::default()
            },
            samples: "samples/x.parquet".to_owned(),
        }
    }

    #[test]
    fn an_approach_is_found_whole_and_without_its_uncleaned_samples() {
        let folder = tempfile::tempdir().expect("a folder");
        let store = store(folder.path());
        for (key, rows) in [(3, 2), (7, 4), (9, 3)] {
            let batch = read_approach(&store, &found(key)).expect("samples");
            assert_eq!(batch.num_rows(), rows, "{key}");
            let keys = batch.column(0).as_any().downcast_ref::<Int64Array>();
            assert!(keys.expect("keys").iter().all(|k| k == Some(key)));
        }
    }

    #[test]
    fn an_approach_that_its_file_lacks_is_a_damage() {
        let folder = tempfile::tempdir().expect("a folder");
        let store = store(folder.path());
        for key in [1, 8, 99] {
            let error = read_approach(&store, &found(key)).expect_err("a refusal");
            let text = error.to_string();
            assert!(
                text.contains("no samples of approach 1 of flight f"),
                "{text}"
            );
        }
    }

    #[test]
    fn only_row_groups_that_may_hold_the_key_are_read() {
        let folder = tempfile::tempdir().expect("a folder");
        store(folder.path());
        let file = File::open(folder.path().join("samples/x.parquet")).expect("a file");
        let builder = ParquetRecordBatchReaderBuilder::try_new(file).expect("Parquet");
        let groups = builder.metadata().row_groups();
        let read: Vec<bool> = groups.iter().map(|group| may_hold(group, 7)).collect();
        assert_eq!(read, [false, false, true, false]);
    }
}
