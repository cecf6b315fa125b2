//! Detect: a batch of store files, one query over one scan, and the verdicts over its runs.

mod among;
mod applied;
mod assemble;
mod floor;
mod judging;
mod outcome_rows;
#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::cast_precision_loss)] // a few samples
mod reference;
mod rows;
mod scan;
mod suspects;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;
use std::path::Path;

use datafusion::arrow::datatypes::SchemaRef;
use datafusion::error::DataFusionError;
use records::rows::ApproachRow;

pub(crate) use among::Among;
pub(crate) use assemble::{assemble_scanned, verdict_of};
pub(crate) use outcome_rows::judge_outcome;
pub use scan::{Engine, EngineOptions, PackPlan};

use crate::judge::LevelsError;
use crate::rows::{EventRow, GateRow, MeasurementRow, SuspectRow};
use crate::rule_file::CheckedRule;
use crate::runs::RunsError;
use crate::store::StoreError;

/// Why a batch could not be judged.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum DetectError {
    /// The engine failed.
    #[error("cannot evaluate the rules: {0}")]
    Engine(#[from] DataFusionError),
    /// The aggregate's result did not decode.
    #[error("cannot read the result of the scan: {0}")]
    Runs(#[from] RunsError),
    /// A level or outcome failed.
    #[error(transparent)]
    Levels(#[from] LevelsError),
    /// The store could not be read or written.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The scan saw another number of samples than the store holds: never to be passed over.
    #[error(
        "approach {approach_no} of flight {flight_id}: the scan saw {seen} samples, the store says \
         {stored}; the store is damaged or was written by another program, load the fleet again"
    )]
    Samples {
        /// Flight.
        flight_id: String,
        /// Approach.
        approach_no: i32,
        /// Samples seen.
        seen: i64,
        /// Samples stored.
        stored: i64,
    },
}

/// What one batch of files yields.
#[derive(Debug, Default)]
pub struct Detected {
    /// One row an approach and rule.
    pub measurements: Vec<MeasurementRow>,
    /// One row an event.
    pub events: Vec<EventRow>,
    /// One row an approach, gate and criterion.
    pub gates: Vec<GateRow>,
    /// One row an event that only uncleaned samples show.
    pub suspects: Vec<SuspectRow>,
}

/// Judges the approaches of some store files: one query, one scan, whatever the size of the pack.
///
/// `files` are sample files below `store`; `rows` the approaches they hold; `schema` that of the
/// samples. The result is in the order of (flight, approach, rule), whatever the files' order.
///
/// Where an approach is stored a second time, as it was before it was cleaned, both are judged in the
/// same scan; of the second only suspects remain.
///
/// # Errors
/// A file does not read, or does not hold exactly the samples that `rows` says.
pub fn detect(
    engine: &Engine,
    pack: &[CheckedRule],
    schema: &SchemaRef,
    store: &Path,
    files: &[String],
    rows: Vec<ApproachRow>,
) -> Result<Detected, DetectError> {
    let scanned = engine.scan(pack, schema, store, files)?;
    let rows: BTreeMap<i64, ApproachRow> = rows
        .into_iter()
        .map(|row| (row.approach_key, row))
        .collect();
    assemble_scanned(engine, pack, schema, scanned, rows, BTreeMap::new())
}
