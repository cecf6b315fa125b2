//! Compaction: many small files become few. What the store says stays the same.

use std::collections::BTreeMap;

use arrow::array::RecordBatch;
use arrow::compute::concat_batches;
use records::rows::ApproachRow;

use super::judged::{Hashes, Judged};
use super::load::{STORED, approaches_of, month_of, standing_refusals};
use crate::store::{
    APPROACHES_PER_FILE, Run, Store, StoreError, put_batch, read_batch, read_rows, write_rows_file,
    write_sample_file,
};

/// What a compaction did.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct CompactReport {
    /// Files that left.
    pub before: usize,
    /// Files that took their place.
    pub after: usize,
}

/// A table file of more rows than this stays as it is: what replaces one flight writes its file again.
const ROWS_PER_FILE: usize = 100_000;

/// Puts small files together: sample files of one month that the same rules have judged, and the files of
/// each table. Nothing is published where nothing can be put together. Earlier states keep their files.
///
/// # Errors
/// The store cannot be read or written.
pub fn compact(store: &mut Store) -> Result<CompactReport, StoreError> {
    loop {
        let mut run = Run {
            kind: "compact".to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            ..Run::default()
        };
        samples(store, &mut run)?;
        for table in STORED {
            match *table {
                // Together with the samples.
                "samples" | "approaches" => {}
                "quarantine" => refusals(store, &mut run)?,
                table => rows(store, table, &mut run)?,
            }
        }
        let count = |files: &BTreeMap<String, Vec<String>>| files.values().map(Vec::len).sum();
        let report = CompactReport {
            before: count(&run.removed),
            after: count(&run.added),
        };
        if report.before == 0 {
            return Ok(report);
        }
        match store.publish(run) {
            Ok(_) => return Ok(report),
            Err(StoreError::Raced { .. }) => store.refresh()?,
            Err(error) => return Err(error),
        }
    }
}

/// A sample file and the approaches in it.
type Small = (String, Vec<ApproachRow>);

/// Sample files of one month, judged alike, until together they are as large as a file may be.
fn samples(store: &Store, run: &mut Run) -> Result<(), StoreError> {
    let judged = Judged::of(store);
    let mut alike: BTreeMap<(String, Hashes), Vec<Small>> = BTreeMap::new();
    for file in store.files("samples") {
        let name = file.replacen("samples/", "approaches/", 1);
        let rows: Vec<ApproachRow> = read_rows(store.root(), &[name])?;
        if rows.len() <= APPROACHES_PER_FILE / 2 {
            let month = month_of(store.root(), &file)?.to_owned();
            let group = alike.entry((month, judged.rules(&file))).or_default();
            group.push((file, rows));
        }
    }
    for ((month, _), files) in alike {
        for group in groups(files, APPROACHES_PER_FILE, |(_, rows)| rows.len()) {
            let mut schema = None;
            let mut together = Vec::new();
            let mut merged = Vec::new();
            for (file, rows) in group {
                let (own, approaches) = approaches_of(store.root(), &file, rows)?;
                schema.get_or_insert(own);
                together.extend(approaches);
                run.remove("approaches", file.replacen("samples/", "approaches/", 1));
                run.remove("samples", file.clone());
                merged.push(file);
            }
            if let Some(schema) = schema {
                let new = write_sample_file(store.root(), &schema, &month, together)?;
                run.merged.insert(new.samples.clone(), merged);
                run.add("samples", Some(new.samples));
                run.add("approaches", Some(new.approaches));
            }
        }
    }
    Ok(())
}

/// Files of one table, in their order: rows that stand together stay together.
fn rows(store: &Store, table: &str, run: &mut Run) -> Result<(), StoreError> {
    let mut small: Vec<(String, RecordBatch)> = Vec::new();
    for file in store.files(table) {
        let batch = read_batch(&store.root().join(&file))?;
        if batch.num_rows() <= ROWS_PER_FILE / 2 {
            small.push((file, batch));
        }
    }
    for group in groups(small, ROWS_PER_FILE, |(_, batch)| batch.num_rows()) {
        let (files, batches): (Vec<String>, Vec<RecordBatch>) = group.into_iter().unzip();
        let Some(schema) = batches.first().map(RecordBatch::schema) else {
            continue;
        };
        let all = concat_batches(&schema, &batches).map_err(|error| StoreError::Rows {
            table: table.to_owned(),
            detail: error.to_string(),
        })?;
        run.add(table, Some(put_batch(store.root(), table, &all)?));
        for file in files {
            run.remove(table, file);
        }
    }
    Ok(())
}

/// The refusals that still stand, in one file.
fn refusals(store: &Store, run: &mut Run) -> Result<(), StoreError> {
    let files = store.files("quarantine");
    if files.len() > 1 {
        let standing = standing_refusals(store, store.number())?;
        run.add(
            "quarantine",
            write_rows_file(store.root(), "quarantine", &standing)?,
        );
        for file in files {
            run.remove("quarantine", file);
        }
    }
    Ok(())
}

/// Cuts a row of things into groups of at most `most`, in order; things that stay alone are left out.
fn groups<T>(things: Vec<T>, most: usize, size: impl Fn(&T) -> usize) -> Vec<Vec<T>> {
    let mut groups: Vec<(usize, Vec<T>)> = Vec::new();
    for thing in things {
        let size = size(&thing);
        match groups.last_mut() {
            Some((sum, group)) if *sum + size <= most => {
                *sum += size;
                group.push(thing);
            }
            _ => groups.push((size, vec![thing])),
        }
    }
    let groups = groups.into_iter().map(|(_, group)| group);
    groups.filter(|group| group.len() > 1).collect()
}

#[cfg(test)]
mod tests {
    use super::groups;

    #[test]
    fn groups_keep_order_and_size_and_leave_single_things_alone() {
        let cut = groups(vec![3, 3, 4, 5, 9, 1], 10, |size| *size);
        assert_eq!(cut, [vec![3, 3, 4], vec![9, 1]]);
        assert!(groups(vec![10, 10], 10, |size| *size).is_empty());
    }
}
