//! The files of one table of the store as one stream in the order of the table, whatever their number and order.
//!
//! What is in memory are a few rows of each file. Rows of equal key stay in the order of the files and of the rows
//! in them, as if all had been read and sorted.

use std::fs;
use std::path::{Path, PathBuf};

use arrow::array::RecordBatch;
use arrow::datatypes::SchemaRef;

use super::sorted::{Key, Source, Spill, is_sorted, sort_file};
use crate::store::{StoreError, io};

/// So many files of a table are open at once: seven tables may be merged side by side, and many systems allow a
/// process about a thousand.
const OPEN: usize = 96;
/// Rows in memory, of all files together, as long as each has a few.
const ROWS: usize = 128 * 1024;
const FEWEST_ROWS: usize = 1024;
const MOST_ROWS: usize = 16 * 1024;

/// Gives the rows of all files to `each`, some at a time, in the order of the key.
///
/// `aside` is a folder for files that have to be sorted first; it is removed at the end.
///
/// # Errors
/// A file is missing or damaged, or `each` fails.
pub(super) fn merge<E: From<StoreError>>(
    files: &[PathBuf],
    schema: &SchemaRef,
    key: Key,
    aside: &Path,
    each: &mut dyn FnMut(RecordBatch) -> Result<(), E>,
) -> Result<(), E> {
    merge_so_many(files, schema, key, aside, OPEN, each)
}

fn merge_so_many<E: From<StoreError>>(
    files: &[PathBuf],
    schema: &SchemaRef,
    key: Key,
    aside: &Path,
    open: usize,
    each: &mut dyn FnMut(RecordBatch) -> Result<(), E>,
) -> Result<(), E> {
    let mut sorted = Vec::with_capacity(files.len());
    let mut spilled = 0;
    let mut spill = || -> Result<PathBuf, StoreError> {
        fs::create_dir_all(aside).map_err(io("create the folder", aside))?;
        spilled += 1;
        Ok(aside.join(format!("{spilled}.parquet")))
    };
    for file in files {
        if is_sorted(file, key)? {
            sorted.push(file.clone());
        } else {
            let into = spill()?;
            sort_file(file, schema, key, &into)?;
            sorted.push(into);
        }
    }
    // Neighbours become one, so that rows of equal key stay in the order of the files.
    while sorted.len() > open {
        let mut fewer = Vec::new();
        for some in sorted.chunks(open) {
            let into = spill()?;
            let mut all = Spill::begin(schema, &into)?;
            merge_sorted(some, schema, key, &mut |batch| all.write(&batch))?;
            all.end()?;
            fewer.push(into);
        }
        sorted = fewer;
    }
    merge_sorted(&sorted, schema, key, each)?;
    if spilled > 0 {
        fs::remove_dir_all(aside).map_err(io("clear", aside))?;
    }
    Ok(())
}

fn merge_sorted<E: From<StoreError>>(
    files: &[PathBuf],
    schema: &SchemaRef,
    key: Key,
    each: &mut dyn FnMut(RecordBatch) -> Result<(), E>,
) -> Result<(), E> {
    let rows = (ROWS / files.len().max(1)).clamp(FEWEST_ROWS, MOST_ROWS);
    let mut sources = Vec::with_capacity(files.len());
    for file in files {
        sources.extend(Source::open(file, schema, key, rows)?);
    }
    while let Some((first, second)) = next_two(&sources) {
        let rows = match second {
            Some(second) => sources[first].before(&sources[second], first < second),
            None => sources[first].batch.num_rows() - sources[first].at,
        };
        let (taken, goes_on) = sources[first].take(rows)?;
        if !goes_on {
            // Not swapped: the order of the others counts.
            sources.remove(first);
        }
        each(taken)?;
    }
    Ok(())
}

/// The source whose row comes next, and the one whose row would come after it if the first had no other.
fn next_two(sources: &[Source]) -> Option<(usize, Option<usize>)> {
    let comes_before = |a: usize, b: usize| {
        let (a, b) = (&sources[a], &sources[b]);
        a.keys.compare(a.at, &b.keys, b.at).is_lt()
    };
    let mut places = 0..sources.len();
    let mut first = places.next()?;
    let mut second = None;
    for place in places {
        // Of equal ones the earlier file comes first.
        if comes_before(place, first) {
            second = Some(first);
            first = place;
        } else if second.is_none_or(|second| comes_before(place, second)) {
            second = Some(place);
        }
    }
    Some((first, second))
}

#[cfg(test)]
mod tests {
    use serde::{Deserialize, Serialize};
    use tempfile::TempDir;

    use super::*;
    use crate::store::{rows_to_batch, write_rows_file};

    #[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
    struct Row {
        flight_id: String,
        approach_no: i32,
        rule: String,
        /// File and row it stood in.
        from: i32,
    }

    const KEY: Key = Key {
        approach: true,
        then: Some("rule"),
    };

    fn row(flight: usize, approach_no: i32, rule: usize, from: i32) -> Row {
        Row {
            flight_id: format!("f{flight:02}"),
            approach_no,
            rule: format!("r{rule}"),
            from,
        }
    }

    /// What the merge gives of these files, and whether anything is left aside.
    fn merged(files: &[Vec<Row>], open: usize) -> (Vec<Row>, bool) {
        let folder = TempDir::new().unwrap();
        let written = files
            .iter()
            .filter_map(|rows| write_rows_file(folder.path(), "t", rows).unwrap());
        let paths: Vec<PathBuf> = written.map(|file| folder.path().join(file)).collect();
        let schema = rows_to_batch::<Row>("t", &[]).unwrap().schema();
        let aside = folder.path().join("aside");
        let mut rows: Vec<Row> = Vec::new();
        merge_so_many(&paths, &schema, KEY, &aside, open, &mut |batch| {
            let mut part: Vec<Row> = serde_arrow::from_record_batch(&batch).unwrap();
            rows.append(&mut part);
            Ok::<(), StoreError>(())
        })
        .unwrap();
        (rows, aside.exists())
    }

    fn sorted(files: &[Vec<Row>]) -> Vec<Row> {
        let mut all: Vec<Row> = files.concat();
        all.sort_by(|a, b| {
            (&a.flight_id, a.approach_no, &a.rule).cmp(&(&b.flight_id, b.approach_no, &b.rule))
        });
        all
    }

    /// Files of rows drawn without regard to order, with many equal keys.
    fn drawn(files: usize, rows: usize, in_order: bool) -> Vec<Vec<Row>> {
        let mut state = 7_u64;
        let mut draw = |below: usize| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) as usize % below
        };
        (0..files)
            .map(|file| {
                let drawn = (0..rows).map(|at| {
                    let from = i32::try_from(file * 10_000 + at).unwrap();
                    row(draw(40), i32::try_from(draw(3)).unwrap(), draw(4), from)
                });
                let drawn: Vec<Row> = drawn.collect();
                if in_order { sorted(&[drawn]) } else { drawn }
            })
            .collect()
    }

    #[test]
    fn any_files_in_any_order_are_as_if_all_were_read_and_sorted() {
        for (files, rows, in_order) in [
            (1, 5_000, true),
            (7, 300, true),
            (5, 200, false),
            (3, 3_000, false),
        ] {
            let files = drawn(files, rows, in_order);
            let (rows, left) = merged(&files, OPEN);
            assert!(rows == sorted(&files), "{} files", files.len());
            assert!(!left);
        }
    }

    #[test]
    fn more_files_than_may_be_open_are_put_together_first() {
        let files = drawn(11, 50, true);
        for open in [2, 3, 10] {
            let (rows, left) = merged(&files, open);
            assert!(rows == sorted(&files), "{open}");
            assert!(!left);
        }
    }

    #[test]
    fn rows_of_one_approach_in_two_files_stand_together() {
        let files = [
            vec![row(1, 1, 2, 0), row(1, 2, 2, 1), row(3, 1, 2, 2)],
            vec![row(1, 1, 1, 3), row(1, 1, 3, 4), row(2, 1, 1, 5)],
        ];
        let (rows, _) = merged(&files, OPEN);
        let from: Vec<i32> = rows.iter().map(|row| row.from).collect();
        assert_eq!(from, [3, 0, 4, 1, 5, 2]);
    }

    #[test]
    fn without_files_there_are_no_rows() {
        assert_eq!(merged(&[], OPEN), (Vec::new(), false));
    }

    #[test]
    fn a_file_that_is_missing_is_named() {
        let folder = TempDir::new().unwrap();
        let schema = rows_to_batch::<Row>("t", &[]).unwrap().schema();
        let files = [folder.path().join("x.parquet")];
        let error = merge(&files, &schema, KEY, folder.path(), &mut |_| {
            Ok::<(), StoreError>(())
        });
        assert!(error.unwrap_err().to_string().contains("x.parquet"));
    }
}
