//! Judging a whole store without keeping a result.

use datafusion::arrow::datatypes::SchemaRef;
use records::rows::ApproachRow;

use super::WhatIfError;
use crate::detect::{Detected, Engine, detect};
use crate::rule_file::CheckedRule;
use crate::stages::first_batch;
use crate::store::{Store, read_rows};

/// Every approach of a store.
pub(super) fn approaches(store: &Store) -> Result<Vec<ApproachRow>, WhatIfError> {
    let rows: Vec<ApproachRow> = read_rows(store.root(), &store.files("approaches"))?;
    if rows.is_empty() {
        return Err(WhatIfError::Empty);
    }
    Ok(rows)
}

/// What `pack` says of every approach of a store: one scan of each of its files, whatever the number of rules.
pub(super) fn judge_store(
    engine: &Engine,
    pack: &[CheckedRule],
    schema: &SchemaRef,
    store: &Store,
    progress: &dyn Fn(usize, usize),
) -> Result<Detected, WhatIfError> {
    let files = store.files("samples");
    let mut all = Detected::default();
    let mut done = 0;
    while done < files.len() {
        progress(done, files.len());
        let (batch, rows) = first_batch(store.root(), files[done..].iter())?;
        done += batch.len();
        let found = detect(engine, pack, schema, store.root(), &batch, rows)?;
        all.measurements.extend(found.measurements);
        all.events.extend(found.events);
    }
    progress(done, files.len());
    Ok(all)
}
