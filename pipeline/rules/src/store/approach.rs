//! One approach out of a store: its row and its samples, without reading the rest.

use std::fs::File;

use arrow::array::{Array, BooleanArray, Int64Array, RecordBatch};
use arrow::compute::{concat_batches, filter_record_batch};
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use parquet::file::metadata::RowGroupMetaData;
use parquet::file::statistics::Statistics;
use records::rows::ApproachRow;

use super::{Store, StoreError, io, read_rows};

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

/// The samples of one approach, `k` ascending. Only the row groups that may hold it are read.
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
    let file = File::open(&path).map_err(io("open", &path))?;
    let builder = ParquetRecordBatchReaderBuilder::try_new(file)
        .map_err(|error| damaged(error.to_string()))?;
    let groups = builder.metadata().row_groups().iter().enumerate();
    let groups = groups
        .filter(|(_, group)| may_hold(group, key))
        .map(|(index, _)| index)
        .collect();
    let reader = builder
        .with_row_groups(groups)
        .build()
        .map_err(|error| damaged(error.to_string()))?;
    let mut parts = Vec::new();
    let mut schema = None;
    for batch in reader {
        let batch = batch.map_err(|error| damaged(error.to_string()))?;
        let part = of_key(&batch, key).map_err(damaged)?;
        schema = Some(part.schema());
        if part.num_rows() > 0 {
            parts.push(part);
        }
    }
    match schema {
        Some(schema) if !parts.is_empty() => {
            concat_batches(&schema, &parts).map_err(|error| damaged(error.to_string()))
        }
        _ => Err(damaged(format!(
            "it has no samples of approach {} of flight {}",
            approach.row.approach_no, approach.row.flight_id
        ))),
    }
}

/// Whether the keys of a row group reach over `key`; without statistics it may.
fn may_hold(group: &RowGroupMetaData, key: i64) -> bool {
    let column = group
        .columns()
        .iter()
        .find(|column| column.column_path().string() == "approach_key");
    match column.and_then(|column| column.statistics()) {
        Some(Statistics::Int64(range)) => {
            range.min_opt().is_none_or(|low| *low <= key)
                && range.max_opt().is_none_or(|high| key <= *high)
        }
        _ => true,
    }
}

fn of_key(batch: &RecordBatch, key: i64) -> Result<RecordBatch, String> {
    let keys = batch
        .column_by_name("approach_key")
        .and_then(|column| column.as_any().downcast_ref::<Int64Array>())
        .ok_or("it has no column approach_key of 64-bit integers")?;
    let own: BooleanArray = (0..keys.len())
        .map(|k| Some(keys.is_valid(k) && keys.value(k) == key))
        .collect();
    filter_record_batch(batch, &own).map_err(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use std::path::Path;
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
