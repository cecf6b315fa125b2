//! Turns one input into jobs: itself where it holds one flight, else its flights one by one.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::files::{InputFile, PartFile};
use super::watch::Watch;
use crate::fleet::Fleet;
use crate::load::{self, Drafts, Fault, Part, Plan, Rows, Run, Source};
use crate::rows::QuarantineRow;

/// One piece of work for one thread.
pub(super) enum Job<'a> {
    /// Read and prepare an input that is one flight.
    Whole {
        /// The input.
        file: &'a InputFile,
        /// Its files.
        pieces: Vec<Piece<'a>>,
    },
    /// Prepare a flight that was cut out of larger files.
    Cut {
        /// The input.
        source: Source<'a>,
        /// What each file holds of the flight.
        pieces: Vec<(Rows, Arc<Plan>, Option<&'a str>)>,
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

/// One file that holds one flight, or its part of it.
pub(super) struct Piece<'a> {
    pub(super) file: &'a PartFile,
    /// The file, where the flight lies in several.
    pub(super) name: Option<&'a str>,
    pub(super) plan: Arc<Plan>,
    /// All its rows.
    pub(super) run: Run,
}

impl Piece<'_> {
    /// Reads it.
    pub(super) fn part(&self) -> Result<Part<'_>, Fault> {
        let read = load::only(&self.file.source(), &self.plan, &self.run);
        Ok(Part {
            draft: read.map_err(|fault| told(self.name, fault))?,
            plan: &self.plan,
            name: self.name,
        })
    }
}

/// A fault that says which of several files it is in.
fn told(name: Option<&str>, fault: Fault) -> Fault {
    match name {
        Some(name) => Fault::new(fault.reason, format!("{name}: {}", fault.detail)),
        None => fault,
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
        let fault = Fault::new(file.reason, fault);
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

/// One file of the input, with the flights that it holds.
struct Opened<'a> {
    file: &'a PartFile,
    name: Option<&'a str>,
    plan: Arc<Plan>,
    runs: Vec<Run>,
    /// Ids that come back after another flight.
    back: Vec<String>,
}

fn cut<'a, E>(
    file: &'a InputFile,
    watch: &mut Watch<'a>,
    fleet: &Fleet,
    left_out: &mut BTreeMap<String, usize>,
    take: &mut dyn FnMut(Job<'a>) -> Result<(), E>,
) -> Result<Result<(), E>, QuarantineRow> {
    let source = file.source();
    let mut parts = Vec::new();
    for part in &file.parts {
        let name = file.recording.as_ref().map(|_| part.relative.as_str());
        parts.push(opened(file, part, name, fleet, left_out)?);
    }
    let plans: Vec<(&str, &Plan)> = parts
        .iter()
        .map(|part| (part.file.relative.as_str(), part.plan.as_ref()))
        .collect();
    if let Some(fault) = load::clash(&plans) {
        return Err(source.refuse("map", fault));
    }
    take_names(&mut parts).map_err(|fault| source.refuse("read", fault))?;
    if parts.iter().all(|part| part.runs.len() == 1) && of_one_flight(&parts) {
        let pieces = parts.into_iter().filter_map(|mut part| {
            Some(Piece {
                file: part.file,
                name: part.name,
                run: part.runs.pop()?,
                plan: part.plan,
            })
        });
        let pieces = pieces.collect();
        return Ok(take(Job::Whole { file, pieces }));
    }
    many(file, &parts, watch, fleet, take)
}

fn opened<'a>(
    file: &'a InputFile,
    part: &'a PartFile,
    name: Option<&'a str>,
    fleet: &Fleet,
    left_out: &mut BTreeMap<String, usize>,
) -> Result<Opened<'a>, QuarantineRow> {
    let refuse = |stage, fault| file.source().refuse(stage, told(name, fault));
    let unreadable = |detail| refuse("read", Fault::new("unreadable file", detail));
    let opened = load::table_file::open(&part.path).map_err(unreadable)?;
    let plan = load::plan(opened.schema(), fleet).map_err(|fault| refuse("map", fault))?;
    for column in &plan.left_out {
        *left_out.entry(column.clone()).or_default() += 1;
    }
    let (mut runs, back) =
        load::runs(opened, &plan, &part.source()).map_err(|fault| refuse("read", fault))?;
    if plan.flight_id.is_none() {
        for run in &mut runs {
            run.flight_id = file.stem();
        }
    }
    Ok(Opened {
        file: part,
        name,
        plan: Arc::new(plan),
        runs,
        back,
    })
}

/// A part that does not name its one flight takes the name from another that does.
fn take_names(parts: &mut [Opened]) -> Result<(), Fault> {
    let named = parts.iter().find(|part| part.plan.flight_id.is_some());
    let Some(named) = named else { return Ok(()) };
    let Some(unnamed) = parts.iter().find(|part| part.plan.flight_id.is_none()) else {
        return Ok(());
    };
    let [run] = named.runs.as_slice() else {
        let detail = format!(
            "{} has no flight id column, and {} holds several flights; give both the column",
            unnamed.file.relative, named.file.relative
        );
        return Err(Fault::new("parts name other flights", detail));
    };
    let flight_id = run.flight_id.clone();
    for part in parts
        .iter_mut()
        .filter(|part| part.plan.flight_id.is_none())
    {
        for run in &mut part.runs {
            run.flight_id.clone_from(&flight_id);
        }
    }
    Ok(())
}

fn of_one_flight(parts: &[Opened]) -> bool {
    let mut ids = parts.iter().flat_map(|part| &part.runs);
    let first = ids.next().map(|run| &run.flight_id);
    ids.all(|run| Some(&run.flight_id) == first)
}

/// The flights of files that hold many, each flight from all files at once.
fn many<'a, E>(
    file: &'a InputFile,
    parts: &[Opened<'a>],
    watch: &mut Watch<'a>,
    fleet: &Fleet,
    take: &mut dyn FnMut(Job<'a>) -> Result<(), E>,
) -> Result<Result<(), E>, QuarantineRow> {
    let source = file.source();
    let read = |fault| source.refuse("read", fault);
    let back: BTreeSet<&str> = parts
        .iter()
        .flat_map(|part| part.back.iter().map(String::as_str))
        .collect();
    for flight_id in &back {
        let detail = "the rows of this flight do not stand together; sort the file by flight_id";
        let fault = Fault::new("flight in pieces", detail);
        let row = of_flight(source, flight_id, fault, fleet)?;
        if let Err(error) = take(Job::Refused(source, row)) {
            return Ok(Err(error));
        }
    }
    let whole: Vec<Vec<&Run>> = parts
        .iter()
        .map(|part| {
            let runs = part.runs.iter();
            runs.filter(|run| !back.contains(run.flight_id.as_str()))
                .collect()
        })
        .collect();
    let order = load::merged(&whole).map_err(read)?;
    let mut drafts = Vec::new();
    for part in parts {
        let opened = load::table_file::open(&part.file.path);
        let opened = opened.map_err(|e| read(told(part.name, Fault::new("unreadable file", e))))?;
        let new = Drafts::new(opened, &part.plan, &part.runs);
        drafts.push(new.map_err(|fault| read(told(part.name, fault)))?);
    }
    let ids: Vec<BTreeSet<&str>> = whole
        .iter()
        .map(|runs| runs.iter().map(|run| run.flight_id.as_str()).collect())
        .collect();
    for flight_id in order {
        let mut pieces = Vec::new();
        let mut lacking = None;
        for ((part, drafts), ids) in parts.iter().zip(&mut drafts).zip(&ids) {
            if !ids.contains(flight_id) {
                if !fleet
                    .parts
                    .all()
                    .get(part.file.part)
                    .is_some_and(|p| p.optional)
                {
                    lacking = Some(part.file.relative.as_str());
                }
                continue;
            }
            // Flights in pieces stand between the others.
            while let Some(rows) = drafts
                .next()
                .map_err(|fault| read(told(part.name, fault)))?
            {
                if rows.flight_id == flight_id {
                    pieces.push((rows, Arc::clone(&part.plan), part.name));
                    break;
                }
            }
        }
        // What was cut out before a change is as it was hashed; nothing after it is used.
        if watch.changed() {
            return watch.steady(Ok(Ok(())));
        }
        let job = match lacking {
            Some(lacking) => {
                let detail = format!(
                    "this flight is not in {lacking}, and is in the other part; complete the file, or name                      its part in optional_parts of [records]"
                );
                let fault = Fault::new("part missing", detail);
                Job::Refused(source, of_flight(source, flight_id, fault, fleet)?)
            }
            None => Job::Cut { source, pieces },
        };
        if let Err(error) = take(job) {
            return Ok(Err(error));
        }
    }
    for (part, drafts) in parts.iter().zip(&mut drafts) {
        while drafts
            .next()
            .map_err(|fault| read(told(part.name, fault)))?
            .is_some()
        {}
    }
    watch.steady(Ok(Ok(())))
}

fn of_flight(
    source: Source,
    flight_id: &str,
    fault: Fault,
    fleet: &Fleet,
) -> Result<QuarantineRow, QuarantineRow> {
    let row = source.refuse("read", fault);
    match fleet.privacy.id(flight_id) {
        Ok(id) => Ok(QuarantineRow {
            flight_id: Some(id),
            ..row
        }),
        Err(e) => Err(source.refuse("read", Fault::new("no privacy key", e.to_string()))),
    }
}
