//! What summaries need of the large tables: a few small numbers an approach, whatever the rows hold besides.
//!
//! A table of millions of rows is never in memory. Its files are folded one after the other, in any order, into
//! columns by the number of the approach.

mod checkpoints;
mod gates;
mod losses;
mod measured;
mod moves;
mod names;
mod places;
mod quality;

use arrow::array::RecordBatch;
use serde::Serialize;
use serde::de::DeserializeOwned;

use ::records::rows::ApproachRow;

use crate::store::{Store, StoreError, each_batch, rows_to_batch};

pub use checkpoints::Checkpoints;
pub use gates::Gates;
pub use losses::Losses;
pub use measured::Measured;
pub use moves::Moves;
pub use places::Places;
pub use quality::{ParameterFacts, Qualities};

pub(super) use gates::Met;
pub(super) use losses::Loss;
pub(super) use measured::{Cell, OfRule, Said};
pub(super) use moves::Channel;

/// What is kept of one table.
pub(crate) trait Fold: Default {
    /// Name of the table.
    const TABLE: &'static str;
    /// Columns that are read of it.
    const COLUMNS: &'static [&'static str];

    /// Takes in some rows. Rows of approaches that are not among `places` say nothing.
    ///
    /// # Errors
    /// A column is missing, or is of another kind.
    fn add(&mut self, batch: &RecordBatch, places: &Places<'_>) -> Result<(), String>;

    /// Puts what was taken in into the order of the tables.
    fn finish(&mut self) {}
}

/// Folds a table of the store as of run `number`, file by file.
///
/// # Errors
/// A file is missing or damaged.
pub(crate) fn fold<F: Fold>(
    store: &Store,
    number: u64,
    places: &Places<'_>,
) -> Result<F, StoreError> {
    let mut facts = F::default();
    for file in store.files_at(F::TABLE, number) {
        let path = store.root().join(file);
        each_batch(&path, F::COLUMNS, &mut |batch| facts.add(batch, places))?;
    }
    facts.finish();
    Ok(facts)
}

/// Takes in rows that are in memory.
///
/// # Errors
/// They are not those of the table.
pub(crate) fn add_rows<F: Fold, T: Serialize + DeserializeOwned>(
    facts: &mut F,
    rows: &[T],
    places: &Places<'_>,
) -> Result<(), StoreError> {
    let batch = rows_to_batch(F::TABLE, rows)?;
    facts
        .add(&batch, places)
        .map_err(|detail| StoreError::Rows {
            table: F::TABLE.to_owned(),
            detail,
        })
}

/// Folds rows that are in memory.
fn fold_rows<F: Fold, T: Serialize + DeserializeOwned>(
    approaches: &[ApproachRow],
    rows: &[T],
) -> Result<F, StoreError> {
    let mut facts = F::default();
    add_rows(&mut facts, rows, &Places::new(approaches))?;
    facts.finish();
    Ok(facts)
}

/// A column that the table always has.
fn needed<T>(column: Option<T>, name: &str) -> Result<T, String> {
    column.ok_or_else(|| format!("it has no column {name}"))
}

#[cfg(test)]
pub(super) fn facts_of<F: Fold, T: Serialize + DeserializeOwned>(
    approaches: &[ApproachRow],
    rows: &[T],
) -> F {
    fold_rows(approaches, rows).unwrap()
}
