//! Takes flights out of the store: each file that holds one of them is written again without it.
//!
//! Files are never changed in place: an earlier state of the store still reads.

use std::collections::BTreeSet;
use std::path::Path;

use arrow::array::AsArray;
use arrow::datatypes::{Int64Type, SchemaRef};
use records::rows::ApproachRow;
use records::samples::uncleaned_key;

use super::RESULTS;
use crate::stages::rows_out::without;
use crate::store::{
    ApproachBatches, Run, SampleFile, Store, StoreError, read_batch, read_rows, write_sample_file,
};

/// Tables with one or more rows a flight, by `flight_id`.
pub(in crate::stages) const BY_FLIGHT: [&str; 7] = [
    "flights",
    "quality",
    "headers",
    "checkpoints",
    "lever_moves",
    "losses",
    "arrivals",
];

/// Adds to `run` what takes these flights out of every table.
///
/// # Errors
/// A file of the store is missing or damaged, or a new one cannot be written.
pub(in crate::stages) fn take_out(
    store: &Store,
    flights: &BTreeSet<&str>,
    run: &mut Run,
) -> Result<(), StoreError> {
    for table in BY_FLIGHT {
        without(store, table, &|row| flights.contains(row.flight_id), run)?;
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
            &|row| {
                let number = row.approach_no;
                number.is_some_and(|number| unjudged.contains(&(row.flight_id.to_owned(), number)))
            },
            run,
        )?;
    }
    Ok(())
}

/// A sample file with only these of its approaches.
fn rewrite(root: &Path, samples: &str, kept: Vec<ApproachRow>) -> Result<SampleFile, StoreError> {
    let (schema, approaches) = approaches_of(root, samples, kept)?;
    write_sample_file(root, &schema, month_of(root, samples)?, approaches)
}

/// The month that the path of a sample file names.
pub(in crate::stages) fn month_of<'a>(
    root: &Path,
    samples: &'a str,
) -> Result<&'a str, StoreError> {
    let month = samples
        .split('/')
        .find_map(|part| part.strip_prefix("month="));
    month.ok_or_else(|| StoreError::Damaged {
        path: root.join(samples),
        detail: "its path names no month".to_owned(),
    })
}

/// These approaches of a sample file, with their samples.
pub(in crate::stages) fn approaches_of(
    root: &Path,
    samples: &str,
    kept: Vec<ApproachRow>,
) -> Result<(SchemaRef, Vec<ApproachBatches>), StoreError> {
    let path = root.join(samples);
    let damaged = |detail: &str| StoreError::Damaged {
        path: path.clone(),
        detail: detail.to_owned(),
    };
    let batch = read_batch(&path)?;
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
    Ok((batch.schema(), approaches))
}
