//! Takes rows out of a table: each file that holds one is written again without it.
//!
//! Files are never changed in place: an earlier state of the store still reads.

use arrow::array::{AsArray, BooleanArray, RecordBatch, StringArray};
use arrow::compute::{cast, filter_record_batch};
use arrow::datatypes::{DataType, Int32Type};

use crate::store::{Run, Store, StoreError, put_batch, read_batch};

/// What tells whether a row goes.
pub(super) struct RowKey<'a> {
    pub(super) flight_id: &'a str,
    /// Where the table has it.
    pub(super) approach_no: Option<i32>,
    /// Where the table has it.
    pub(super) rule: Option<&'a str>,
}

/// Notes in `run` what takes every row of `table` out for which `goes` says so. Rows that name no flight
/// stay.
///
/// # Errors
/// A file of the store is missing or damaged, or a new one cannot be written.
pub(super) fn without(
    store: &Store,
    table: &str,
    goes: &dyn Fn(&RowKey<'_>) -> bool,
    run: &mut Run,
) -> Result<(), StoreError> {
    for file in store.files(table) {
        let path = store.root().join(&file);
        let damaged = |detail: String| StoreError::Damaged {
            path: path.clone(),
            detail,
        };
        let batch = read_batch(&path)?;
        let stays = staying(&batch, goes).map_err(damaged)?;
        if stays.true_count() == stays.len() {
            continue;
        }
        let left =
            filter_record_batch(&batch, &stays).map_err(|error| damaged(error.to_string()))?;
        if left.num_rows() > 0 {
            run.add(table, Some(put_batch(store.root(), table, &left)?));
        }
        run.remove(table, file);
    }
    Ok(())
}

fn staying(
    batch: &RecordBatch,
    goes: &dyn Fn(&RowKey<'_>) -> bool,
) -> Result<BooleanArray, String> {
    let ids = texts(batch, "flight_id")?.ok_or("it has no column flight_id")?;
    let rules = texts(batch, "rule")?;
    let numbers = batch
        .column_by_name("approach_no")
        .and_then(|numbers| numbers.as_primitive_opt::<Int32Type>());
    Ok((0..)
        .zip(&ids)
        .map(|(row, id)| {
            Some(id.is_none_or(|flight_id| {
                !goes(&RowKey {
                    flight_id,
                    approach_no: numbers.map(|numbers| numbers.value(row)),
                    rule: rules.as_ref().map(|rules| rules.value(row)),
                })
            }))
        })
        .collect())
}

/// A column of texts, however it is stored.
pub(super) fn texts(batch: &RecordBatch, name: &str) -> Result<Option<StringArray>, String> {
    let Some(column) = batch.column_by_name(name) else {
        return Ok(None);
    };
    let column = cast(column, &DataType::Utf8).map_err(|error| error.to_string())?;
    Ok(Some(column.as_string::<i32>().clone()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::{read_rows, write_rows_file};
    use serde::{Deserialize, Serialize};

    #[derive(Debug, PartialEq, Serialize, Deserialize)]
    struct Row {
        flight_id: String,
        approach_no: i32,
        rule: String,
    }

    fn row(flight_id: &str, approach_no: i32, rule: &str) -> Row {
        Row {
            flight_id: flight_id.to_owned(),
            approach_no,
            rule: rule.to_owned(),
        }
    }

    /// What is left of `rows` after those that `goes` names, and the store that says so.
    fn left(rows: &[Row], goes: &dyn Fn(&RowKey<'_>) -> bool) -> Vec<Row> {
        let folder = tempfile::TempDir::new().unwrap();
        let mut store = Store::open(folder.path()).unwrap();
        let mut first = Run::default();
        first.add(
            "events",
            write_rows_file(folder.path(), "events", rows).unwrap(),
        );
        store.publish(first).unwrap();
        let mut second = Run::default();
        without(&store, "events", goes, &mut second).unwrap();
        store.publish(second).unwrap();
        let before: Vec<Row> = read_rows(store.root(), &store.files_at("events", 1)).unwrap();
        assert_eq!(before, rows);
        read_rows(store.root(), &store.files("events")).unwrap()
    }

    #[test]
    fn the_other_approach_of_a_flight_and_the_other_rule_keep_their_rows() {
        let rows = [row("f", 1, "a"), row("f", 2, "a"), row("g", 1, "b")];
        let first = left(&rows, &|row| {
            row.flight_id == "f" && row.approach_no == Some(1)
        });
        assert_eq!(first, rows[1..]);
        let second = left(&rows, &|row| row.rule == Some("a"));
        assert_eq!(second, rows[2..]);
        assert!(left(&rows, &|_| true).is_empty());
    }
}
