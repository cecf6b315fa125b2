//! From files to prepared flights: many at once, delivered in one order, memory bounded.
//!
//! One thread reads files in the order of their paths and hands out flights in the order of their file, as many
//! threads as there are cores prepare them, and they are delivered in that order, whatever the number of
//! threads. Reading, preparing and what is done with the delivered go on side by side; only a few flights are
//! in memory at a time.

mod feed;
mod files;
mod groups;
mod watch;
mod workers;

use std::collections::{BTreeMap, BTreeSet};
use std::panic::{AssertUnwindSafe, catch_unwind};

use crate::derive::look_back;
use crate::fleet::Fleet;
use crate::flight::RawFlight;
use crate::load::{self, Fault, Part, Source};
use crate::prepare::{PreparedFlight, prepare};
use crate::rows::QuarantineRow;
use crate::samples::missing_columns;

use feed::{Job, Piece};
pub use files::{InputFile, chosen_maps, input_files};
use watch::Watch;
use workers::side_by_side;

/// What became of one flight, or of a file that holds none to be had.
#[derive(Debug, Clone)]
pub enum Outcome<F = PreparedFlight> {
    /// Cleaned, cut into approaches, with all columns; or what was made of it.
    Flight(F),
    /// Refused, with the reason.
    Quarantined(QuarantineRow),
}

/// How far the work is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Progress {
    /// Files taken up so far.
    pub files: usize,
    /// Files in all.
    pub files_total: usize,
    /// Flights delivered.
    pub flights: usize,
    /// Approaches delivered.
    pub approaches: usize,
    /// Refusals delivered.
    pub quarantined: usize,
}

/// What was done with all files.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Summary {
    /// Everything delivered.
    pub done: Progress,
    /// Columns that no map and no catalogue name asked for, with the number of files that have
    /// them: they were left out.
    pub left_out: BTreeMap<String, usize>,
}

/// Prepares every flight of the files and hands each outcome to `sink`, in the order of `files`.
///
/// `among` are all files of the fleet, of which `files` are some: which of two copies counts must not depend
/// on how many are taken at a time.
///
/// A flight that fails, or makes the program panic, becomes a quarantine row and the rest goes on.
/// Of two flights with one id the first stays.
///
/// # Errors
/// Only what `sink` returns; nothing more is delivered after that.
pub fn prepare_files<E>(
    fleet: &Fleet,
    files: &[InputFile],
    among: &[InputFile],
    sink: &mut dyn FnMut(Outcome) -> Result<(), E>,
    progress: &dyn Fn(Progress),
) -> Result<Summary, E> {
    prepare_files_as(fleet, files, among, &|flight| flight, sink, progress)
}

/// As [`prepare_files`], and makes something of each flight with `make`, on the thread that prepared it: what
/// `sink` does, it does alone.
///
/// # Errors
/// Only what `sink` returns; nothing more is delivered after that.
pub fn prepare_files_as<'a, F: Send, E>(
    fleet: &Fleet,
    files: &'a [InputFile],
    among: &'a [InputFile],
    make: &(dyn Fn(PreparedFlight) -> F + Sync),
    sink: &mut dyn FnMut(Outcome<F>) -> Result<(), E>,
    progress: &dyn Fn(Progress),
) -> Result<Summary, E> {
    let mut done = Progress {
        files_total: files.len(),
        ..Progress::default()
    };
    let mut delivered: BTreeSet<String> = BTreeSet::new();
    let read = |take: &mut dyn FnMut((usize, Job<'a>)) -> Result<(), Stopped>| {
        let mut left_out = BTreeMap::new();
        // Who stops does so because the sink failed, and that is told there.
        let _ = hand_out(fleet, files, among, &mut left_out, take);
        left_out
    };
    let work = |(at, job): (usize, Job<'a>)| {
        let file = job.source().relative.to_owned();
        (at, file, run(job, fleet, make))
    };
    let mut deliver = |(at, file, outcome): (usize, String, Outcome<Made<F>>)| {
        let outcome = match refuse_duplicate(outcome, &file, &mut delivered) {
            Outcome::Flight(flight) => {
                done.flights += 1;
                done.approaches += flight.approaches;
                Outcome::Flight(flight.made)
            }
            Outcome::Quarantined(row) => {
                done.quarantined += 1;
                Outcome::Quarantined(row)
            }
        };
        sink(outcome)?;
        done.files = at;
        progress(done);
        Ok(())
    };
    let left_out = side_by_side(&read, &work, &mut deliver)?;
    done.files = files.len();
    progress(done);
    Ok(Summary { done, left_out })
}

/// Nobody takes any more.
struct Stopped;

/// Hands out the jobs of all files, each with the number of its file.
fn hand_out<'a>(
    fleet: &Fleet,
    files: &'a [InputFile],
    among: &'a [InputFile],
    left_out: &mut BTreeMap<String, usize>,
    take: &mut dyn FnMut((usize, Job<'a>)) -> Result<(), Stopped>,
) -> Result<(), Stopped> {
    let originals = originals(fleet, among);
    let in_groups = in_groups(among);
    for (at, file) in files.iter().enumerate() {
        let source = file.source();
        let mut take = |job| take((at, job));
        match originals.get(file.content_hash.as_str()) {
            Some(original) if original.relative != file.relative => {
                take(Job::Refused(source, copy(source, original)))?;
            }
            _ if file.recording.is_none() && in_groups.contains_key(file.content_hash.as_str()) => {
                let part = in_groups[file.content_hash.as_str()];
                take(Job::Refused(source, copy_of_part(source, part)))?;
            }
            _ => feed::jobs(file, fleet, left_out, &mut take)?,
        }
    }
    Ok(())
}

/// What was made of a flight, and what is counted and compared of it.
struct Made<F> {
    flight_id: String,
    approaches: usize,
    made: F,
}

/// One flight from job to outcome; a panic in it is a fault of ours, and no other flight's.
fn run<F>(
    job: Job,
    fleet: &Fleet,
    make: &(dyn Fn(PreparedFlight) -> F + Sync),
) -> Outcome<Made<F>> {
    let source = job.source();
    let prepared = || match job {
        Job::Whole { file, pieces } => {
            let parts: Result<Vec<Part>, Fault> = pieces.iter().map(Piece::part).collect();
            let raw = match parts {
                Ok(parts) => load::finish(parts, &source, fleet),
                Err(fault) => Err(source.refuse("read", fault)),
            };
            finished(Watch::new(file).steady(raw)?, fleet)
        }
        Job::Cut { source, pieces } => {
            let (rows, plans): (Vec<_>, Vec<_>) = pieces
                .into_iter()
                .map(|(rows, plan, name)| (rows, (plan, name)))
                .unzip();
            let parts: Result<Vec<Part>, Fault> = rows
                .into_iter()
                .zip(&plans)
                .map(|(rows, (plan, name))| {
                    let draft = rows.draft(plan)?;
                    Ok(Part {
                        draft,
                        plan,
                        name: *name,
                    })
                })
                .collect();
            let parts = parts.map_err(|fault| source.refuse("read", fault))?;
            finished(load::finish(parts, &source, fleet)?, fleet)
        }
        Job::Refused(_, row) => Err(row),
    };
    let work = || {
        prepared().map(|flight| Made {
            flight_id: flight.flight_id.clone(),
            approaches: flight.approaches.len(),
            made: make(flight),
        })
    };
    match catch_unwind(AssertUnwindSafe(work)) {
        Ok(Ok(flight)) => Outcome::Flight(flight),
        Ok(Err(row)) => Outcome::Quarantined(row),
        Err(panic) => {
            let message = panic
                .downcast_ref::<String>()
                .map(String::as_str)
                .or_else(|| panic.downcast_ref::<&str>().copied())
                .unwrap_or("no message");
            let detail = format!("please report this with the record: {message}");
            let fault = Fault::new("program fault", detail);
            Outcome::Quarantined(source.refuse("prepare", fault))
        }
    }
}

/// Prepares one flight and adds the operator's own columns.
fn finished(raw: RawFlight, fleet: &Fleet) -> Result<PreparedFlight, QuarantineRow> {
    let mut flight = prepare(raw, fleet)?;
    let windows = fleet.catalogue.windows();
    if !windows.is_empty() {
        for approach in &mut flight.approaches {
            look_back(&mut approach.columns, windows);
            if let Some(columns) = &mut approach.uncleaned {
                look_back(columns, windows);
            }
            approach.row.missing_columns = missing_columns(&approach.columns, &fleet.catalogue);
        }
    }
    Ok(flight)
}

/// Of files with the same bytes, the one that is used.
///
/// A copy under another name holds the same flight under another id, where only the name tells: it
/// would count twice. The original is the one whose name is in the flight list, else the one with
/// the shortest path: copies get longer names.
fn originals<'a>(fleet: &Fleet, files: &'a [InputFile]) -> BTreeMap<&'a str, &'a InputFile> {
    let rank = |file: &InputFile| {
        let id = fleet.privacy.id(&file.stem());
        let listed = id.is_ok_and(|id| fleet.flights.contains_key(&id));
        (!listed, file.relative.len())
    };
    let mut originals: BTreeMap<&str, &InputFile> = BTreeMap::new();
    for file in files {
        let original = originals.entry(&file.content_hash).or_insert(file);
        if original.relative != file.relative && rank(file) < rank(original) {
            *original = file;
        }
    }
    originals
}

/// The parts of recordings, by their content.
fn in_groups(files: &[InputFile]) -> BTreeMap<&str, &str> {
    let groups = files.iter().filter(|file| file.recording.is_some());
    let parts = groups.flat_map(|file| &file.parts);
    parts
        .map(|part| (part.content_hash.as_str(), part.relative.as_str()))
        .collect()
}

fn copy_of_part(source: Source, part: &str) -> QuarantineRow {
    let detail =
        format!("every byte is that of {part}, and that one is used; remove one of the two");
    source.refuse("read", Fault::new("copy of a part", detail))
}

fn copy(source: Source, original: &InputFile) -> QuarantineRow {
    let detail = format!(
        "every byte is that of {}, and that one is used; remove one of the two",
        original.relative
    );
    source.refuse("read", Fault::new("duplicate file", detail))
}

fn refuse_duplicate<F>(
    outcome: Outcome<Made<F>>,
    file: &str,
    delivered: &mut BTreeSet<String>,
) -> Outcome<Made<F>> {
    match outcome {
        Outcome::Flight(flight) if !delivered.insert(flight.flight_id.clone()) => {
            Outcome::Quarantined(QuarantineRow {
                file: file.to_owned(),
                flight_id: Some(flight.flight_id),
                stage: "read".to_owned(),
                reason: "duplicate flight".to_owned(),
                detail: "an earlier file, in the order of their paths, holds a flight of this id, \
                         and that one is used; remove one of the two"
                    .to_owned(),
            })
        }
        other => other,
    }
}

#[cfg(test)]
mod tests;
