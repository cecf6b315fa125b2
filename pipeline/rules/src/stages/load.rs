//! Load: what is new in the fleet folder goes through prepare into the store, step by step.
//!
//! A step is a bounded number of input files and one run of the store. What is interrupted goes on with
//! the step that was not published; steps are cut the same way then, so that the store ends up the same.

mod known;
mod plan;
mod replace;
mod step;

use std::collections::BTreeMap;

use records::fleet::Fleet;
use records::pipeline::{InputFile, Progress};
use serde::{Deserialize, Serialize};

use crate::store::{Store, StoreError};

pub use known::loaded_inputs;
pub(super) use known::mapped_otherwise;
pub use plan::standing_refusals;
pub(super) use plan::{outdated, stale_flights, still_to_load};
pub(super) use replace::{BY_FLIGHT, approaches_of, month_of, take_out};

/// A flight that was prepared, with or without an approach.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FlightRow {
    /// Opaque flight id.
    pub flight_id: String,
    /// Approaches found in it.
    pub approaches: i32,
    /// Input file it came from, relative to the fleet folder.
    pub file: String,
    /// Hash of its row of the flight list and of its aircraft type.
    pub basis: String,
}

/// What a load did.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LoadReport {
    /// Runs published; none where nothing was new.
    pub runs: usize,
    /// Input files in the fleet folder.
    pub files: usize,
    /// Of these, new or changed since the last load, or changed in what the flight list says of them.
    pub new_files: usize,
    /// Flights prepared by this load.
    pub flights: usize,
    /// Of these, in the place of an earlier version of themselves or of others of their file.
    pub replaced: usize,
    /// Approaches found in them.
    pub approaches: usize,
    /// Inputs refused by this load.
    pub quarantined: usize,
    /// Columns that no map names, with the number of files that have them.
    pub left_out: BTreeMap<String, usize>,
    /// Loaded flights whose row of the flight list, aircraft type or map has changed and whose file is gone:
    /// they stay as they are.
    pub out_of_reach: usize,
    /// Flights left out because they were erased from this store.
    pub erased: usize,
}

/// The tables that detect and the flip test fill.
pub(super) const RESULTS: [&str; 5] = ["measurements", "events", "gates", "suspect", "robustness"];

/// How much input one run takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Step {
    /// At most so many files.
    pub files: usize,
}

impl Default for Step {
    fn default() -> Self {
        Self { files: 2_000 }
    }
}

/// The tables that reviews note besides: what the fleet folder says of the fleet as a whole, and of events.
pub(super) const NOTED: [&str; 3] = ["flown_counts", "interventions", "verdicts"];

/// Everything that the store keeps: its tables, and the rules of its reviews.
pub const LOOKED_AFTER: [&str; 19] = [
    "samples",
    "approaches",
    "flights",
    "quality",
    "headers",
    "checkpoints",
    "lever_moves",
    "losses",
    "arrivals",
    "quarantine",
    "measurements",
    "events",
    "gates",
    "suspect",
    "robustness",
    "flown_counts",
    "interventions",
    "verdicts",
    "packs",
];

/// Every table that the store keeps.
pub const STORED: &[&str] = LOOKED_AFTER.split_at(LOOKED_AFTER.len() - 1).0;

/// Loads the inputs that the store does not know yet, one run a step.
///
/// A file with other bytes than before, or with a flight whose row of the flight list or aircraft type has
/// changed, takes the place of what was loaded from it; so does a file that a changed map touches. A changed
/// runway table or catalogue loads everything again; the old files leave in the first of its runs.
///
/// Of two processes that load into one store at the same time, the later to finish a step reads again
/// what the other loaded, and goes on with what is then still new.
///
/// # Errors
/// The store cannot be written. A bad input is no error: it is quarantined with its reason.
pub fn load(
    fleet: &Fleet,
    inputs: &[InputFile],
    store: &mut Store,
    step: Step,
    progress: &dyn Fn(Progress),
) -> Result<LoadReport, StoreError> {
    let mut report = LoadReport {
        files: inputs.len(),
        ..LoadReport::default()
    };
    loop {
        let plan = plan::plan(fleet, inputs, store)?;
        report.out_of_reach = plan.out_of_reach;
        if plan.new.is_empty() && !plan.all_again {
            return Ok(report);
        }
        let before = report.clone();
        let total = before.new_files + plan.new.len();
        let tell = |at: Progress| {
            progress(Progress {
                files: before.new_files + at.files,
                files_total: total,
                flights: before.flights + at.flights,
                approaches: before.approaches + at.approaches,
                quarantined: before.quarantined + at.quarantined,
            });
        };
        match step::take(fleet, inputs, &plan, step, store, &tell) {
            Ok(done) => done.add_to(&mut report),
            Err(StoreError::Raced { number }) => {
                tracing::info!(stage = "load", run = number, "another process was first");
                store.refresh()?;
            }
            Err(error) => return Err(error),
        }
    }
}
