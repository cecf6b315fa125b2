//! Files of records to [`RawFlight`]s in catalogue names, units and signs.
//!
//! A file holds one flight, or many with a column that says which. A file that cannot be read
//! becomes a [`QuarantineRow`]; nothing here stops a run.

mod assemble;
mod csv_file;
mod decode;
mod numbers;
mod order;
pub(crate) mod parquet_file;
mod plan;
mod runs;
pub(crate) mod table_file;
mod times;
pub mod units;

use std::convert::Infallible;
use std::path::Path;

use crate::fleet::Fleet;
use crate::flight::RawFlight;
use crate::rows::QuarantineRow;

pub(crate) use decode::{Draft, drafts};
pub(crate) use plan::{Plan, map_of, plan};
pub(crate) use runs::{Run, runs};
pub(crate) use table_file::Opened;
pub(crate) use times::Times;

/// A file as it is known to the user, and where it lies.
#[derive(Debug, Clone, Copy)]
pub struct Source<'a> {
    /// Where it lies.
    pub path: &'a Path,
    /// Relative to the fleet folder, with forward slashes.
    pub relative: &'a str,
}

impl Source<'_> {
    /// A quarantine row about this file.
    pub(crate) fn refuse(&self, stage: &str, fault: Fault) -> QuarantineRow {
        QuarantineRow {
            file: self.relative.to_owned(),
            flight_id: None,
            stage: stage.to_owned(),
            reason: fault.reason.to_owned(),
            detail: fault.detail,
        }
    }

    /// Opens the file and reads what columns it has.
    pub(crate) fn open(&self) -> Result<Opened, QuarantineRow> {
        table_file::open(self.path)
            .map_err(|detail| self.refuse("read", Fault::new("unreadable file", detail)))
    }

    /// The flight id of a file that holds one flight without naming it.
    pub(crate) fn stem(&self) -> String {
        self.path
            .file_stem()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned()
    }
}

/// Why something is refused: words that can be counted, and what exactly.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Fault {
    pub(crate) reason: &'static str,
    pub(crate) detail: String,
}

impl Fault {
    pub(crate) fn new(reason: &'static str, detail: impl Into<String>) -> Self {
        Self {
            reason,
            detail: detail.into(),
        }
    }
}

/// Loads a file that holds one flight.
///
/// # Errors
/// A quarantine row where the file cannot be read, fits no parameter map, holds several flights or
/// has no usable time.
pub fn one_flight(source: &Source, fleet: &Fleet) -> Result<RawFlight, QuarantineRow> {
    let builder = source.open()?;
    let plan = plan(builder.schema(), fleet).map_err(|fault| source.refuse("map", fault))?;
    let (runs, _) = runs(builder, &plan, source).map_err(|f| source.refuse("read", f))?;
    match <[Run; 1]>::try_from(runs) {
        Ok([run]) => whole_file(source, &plan, run, fleet),
        Err(runs) => {
            let detail = format!("the file holds {} flights, expected one", runs.len());
            Err(source.refuse("read", Fault::new("not one flight", detail)))
        }
    }
}

/// Loads the one flight of a file, which is all of it.
pub(crate) fn whole_file(
    source: &Source,
    plan: &Plan,
    run: Run,
    fleet: &Fleet,
) -> Result<RawFlight, QuarantineRow> {
    let mut found = None;
    let mut keep = |draft| {
        found = Some(draft);
        Ok::<(), Infallible>(())
    };
    match drafts(source.open()?, plan, &[run], &mut keep) {
        Ok(Ok(())) => {}
        Ok(Err(never)) => match never {},
        Err(fault) => return Err(source.refuse("read", fault)),
    }
    let empty = || source.refuse("read", Fault::new("empty file", "the file holds no rows"));
    finish(found.ok_or_else(empty)?, plan, source, fleet)
}

/// Turns decoded columns into a flight: id, time base, channels, what the flight list adds.
pub(crate) fn finish(
    draft: Draft,
    plan: &Plan,
    source: &Source,
    fleet: &Fleet,
) -> Result<RawFlight, QuarantineRow> {
    let flight_id = fleet
        .privacy
        .id(&draft.flight_id)
        .map_err(|e| source.refuse("read", Fault::new("no privacy key", e.to_string())))?;
    assemble::assemble(draft, &flight_id, plan, source.relative, fleet).map_err(|fault| {
        QuarantineRow {
            flight_id: Some(flight_id),
            ..source.refuse("time", fault)
        }
    })
}

#[cfg(test)]
mod tests;
