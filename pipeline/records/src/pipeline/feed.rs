//! Turns one file into jobs: itself where it holds one flight, else its flights one by one.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::files::InputFile;
use super::watch::Watch;
use crate::fleet::Fleet;
use crate::load::{self, Draft, Fault, Plan, Run, Source};
use crate::rows::QuarantineRow;

/// One piece of work for one thread.
pub(super) enum Job<'a> {
    /// Read and prepare a file that is one flight.
    Whole {
        /// The file.
        file: &'a InputFile,
        /// All its rows.
        run: Run,
        /// What they are.
        plan: Arc<Plan>,
    },
    /// Prepare a flight that was cut out of a larger file.
    Cut {
        /// The larger file.
        source: Source<'a>,
        /// Decoded columns of the flight.
        draft: Draft,
        /// What they are.
        plan: Arc<Plan>,
    },
    /// Nothing to do but to say so.
    Refused(Source<'a>, QuarantineRow),
}

impl<'a> Job<'a> {
    pub(super) fn source(&self) -> Source<'a> {
        match self {
            Self::Whole { file, .. } => file.source(),
            Self::Cut { source, .. } | Self::Refused(source, _) => *source,
        }
    }
}

/// Hands the jobs of one file to `take`, and returns what `take` returns.
///
/// Columns that nobody asked for are counted in `left_out`.
pub(super) fn jobs<'a, E>(
    file: &'a InputFile,
    fleet: &Fleet,
    left_out: &mut BTreeMap<String, usize>,
    take: &mut dyn FnMut(Job<'a>) -> Result<(), E>,
) -> Result<(), E> {
    let refused = |row| Job::Refused(file.source(), row);
    if let Some(fault) = &file.fault {
        let fault = Fault::new("unreadable file", fault);
        return take(refused(file.source().refuse("read", fault)));
    }
    let mut watch = Watch::new(file);
    match cut(file, &mut watch, fleet, left_out, take) {
        Ok(taken) => taken,
        // A fault may be due to the change.
        Err(row) => take(refused(
            watch.steady(Err::<(), _>(row.clone())).err().unwrap_or(row),
        )),
    }
}

fn cut<'a, E>(
    file: &'a InputFile,
    watch: &mut Watch<'a>,
    fleet: &Fleet,
    left_out: &mut BTreeMap<String, usize>,
    take: &mut dyn FnMut(Job<'a>) -> Result<(), E>,
) -> Result<Result<(), E>, QuarantineRow> {
    let source = file.source();
    let opened = source.open()?;
    let plan = load::plan(opened.schema(), fleet).map_err(|fault| source.refuse("map", fault))?;
    for column in &plan.left_out {
        *left_out.entry(column.clone()).or_default() += 1;
    }
    let plan = Arc::new(plan);
    let read = |fault| source.refuse("read", fault);
    let (runs, back) = load::runs(opened, &plan, &source).map_err(read)?;
    if let [run] = runs.as_slice() {
        return Ok(take(Job::Whole {
            file,
            run: run.clone(),
            plan,
        }));
    }
    for flight_id in &back {
        if let Err(error) = take(Job::Refused(source, unsorted(source, flight_id, fleet)?)) {
            return Ok(Err(error));
        }
    }
    let mut pass = |draft: Draft| {
        // What was cut out before a change is as it was hashed; nothing after it is used.
        if back.contains(&draft.flight_id) || watch.changed() {
            return Ok(());
        }
        take(Job::Cut {
            source,
            draft,
            plan: Arc::clone(&plan),
        })
    };
    match load::drafts(source.open()?, &plan, &runs, &mut pass) {
        Ok(Err(error)) => Ok(Err(error)),
        read => watch.steady(read.map_err(|fault| source.refuse("read", fault))),
    }
}

fn unsorted(
    source: Source,
    flight_id: &str,
    fleet: &Fleet,
) -> Result<QuarantineRow, QuarantineRow> {
    let detail = "the rows of this flight do not stand together; sort the file by flight_id";
    let row = source.refuse("read", Fault::new("flight in pieces", detail));
    match fleet.privacy.id(flight_id) {
        Ok(id) => Ok(QuarantineRow {
            flight_id: Some(id),
            ..row
        }),
        Err(e) => Err(source.refuse("read", Fault::new("no privacy key", e.to_string()))),
    }
}
