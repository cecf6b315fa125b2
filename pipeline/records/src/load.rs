//! Files of records to [`RawFlight`]s in catalogue names, units and signs.
//!
//! A file holds one flight, or many with a column that says which. A file that cannot be read
//! becomes a [`QuarantineRow`]; nothing here stops a run.

mod assemble;
mod common_time;
mod csv_file;
mod decode;
mod numbers;
mod order;
pub(crate) mod parquet_file;
mod parts;
mod plan;
mod runs;
pub(crate) mod table_file;
mod times;
pub mod units;

use std::path::Path;

use crate::fleet::Fleet;
use crate::flight::RawFlight;
use crate::rows::QuarantineRow;

pub(crate) use assemble::Part;
pub(crate) use decode::{Draft, Drafts, Rows};
pub(crate) use parts::{clash, merged};
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
    let unreadable = |detail| source.refuse("read", Fault::new("unreadable file", detail));
    let builder = table_file::open(source.path).map_err(unreadable)?;
    let plan = plan(builder.schema(), fleet).map_err(|fault| source.refuse("map", fault))?;
    let (runs, _) = runs(builder, &plan, source).map_err(|f| source.refuse("read", f))?;
    match <[Run; 1]>::try_from(runs) {
        Ok([run]) => {
            let draft = only(source, &plan, &run).map_err(|f| source.refuse("read", f))?;
            let parts = vec![Part {
                draft,
                plan: &plan,
                name: None,
            }];
            finish(parts, source, fleet)
        }
        Err(runs) => {
            let detail = format!("the file holds {} flights, expected one", runs.len());
            Err(source.refuse("read", Fault::new("not one flight", detail)))
        }
    }
}

/// Decodes the one flight of a file, which is all of it.
pub(crate) fn only(source: &Source, plan: &Plan, run: &Run) -> Result<Draft, Fault> {
    let opened = table_file::open(source.path).map_err(|e| Fault::new("unreadable file", e))?;
    let runs = std::slice::from_ref(run);
    let mut drafts = Drafts::new(opened, plan, runs)?;
    let empty = || Fault::new("empty file", "the file holds no rows");
    let rows = drafts.next()?.ok_or_else(empty)?;
    let draft = rows.draft(plan)?;
    drafts.next().map(|_| draft)
}

/// Turns the decoded parts of a flight into one: id, time base, channels, what the flight list adds.
pub(crate) fn finish(
    parts: Vec<Part>,
    source: &Source,
    fleet: &Fleet,
) -> Result<RawFlight, QuarantineRow> {
    let named = parts.first().map_or("", |part| &part.draft.flight_id);
    let flight_id = fleet
        .privacy
        .id(named)
        .map_err(|e| source.refuse("read", Fault::new("no privacy key", e.to_string())))?;
    assemble::assemble(parts, &flight_id, source.relative, fleet).map_err(|fault| QuarantineRow {
        flight_id: Some(flight_id),
        ..source.refuse("time", fault)
    })
}

#[cfg(test)]
mod tests;
