//! The flip test over a store: what was not judged again yet, one run of the store a batch.

use std::collections::{BTreeMap, BTreeSet};

use datafusion::arrow::datatypes::SchemaRef;
use records::fleet::Fleet;
use records::rows::ApproachRow;

use super::load::approaches_of;
use crate::detect::{DetectError, Engine};
use crate::robust::{Again, Approach, Subject, What, flip, subjects};
use crate::rows::{EventRow, GateRow, MeasurementRow, RobustnessRow};
use crate::rule_file::CheckedRule;
use crate::store::{Run, Store, StoreError, read_rows, write_rows_file};

/// What a flip test did.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct FlipReport {
    /// Approaches that were judged again.
    pub approaches: usize,
    /// Verdicts of theirs that were asked about.
    pub verdicts: usize,
    /// Of these, how many survived every change.
    pub sure: usize,
}

/// A run of the store is published after so many approaches.
const APPROACHES_PER_RUN: usize = 2_000;

/// A verdict, told apart from every other: flight, approach, rule, kind, criterion, bits of the start.
type Key = (String, i32, String, String, Option<String>, Option<u64>);

/// Reaches every event, and the clear verdicts nearest to one, again on perturbed samples, where that has not
/// been done; what is no longer among the nearest leaves the store.
///
/// # Errors
/// The store does not hold what it says, or the engine fails. What earlier batches found is kept.
pub fn flip_new(
    engine: &Engine,
    pack: &[CheckedRule],
    schema: &SchemaRef,
    fleet: &Fleet,
    store: &mut Store,
    progress: &dyn Fn(usize, usize),
) -> Result<FlipReport, DetectError> {
    let again = Again {
        engine,
        pack,
        schema,
        fleet,
    };
    let mut report = FlipReport::default();
    loop {
        let measurements: Vec<MeasurementRow> = table(store, "measurements")?;
        let events: Vec<EventRow> = table(store, "events")?;
        let gates: Vec<GateRow> = table(store, "gates")?;
        let wanted = subjects(pack, &measurements, &events, &gates);
        let keys: BTreeSet<Key> = wanted.iter().map(key).collect();
        let mut run = Run {
            kind: "robustness".to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            ..Run::default()
        };
        let known = keep(store, &keys, &mut run)?;
        let left: Vec<Subject<'_>> = wanted
            .into_iter()
            .filter(|subject| !known.contains(&key(subject)))
            .collect();
        let stale = !run.removed.is_empty();
        if left.is_empty() && !stale {
            return Ok(report);
        }
        let asked = !left.is_empty();
        let (done, rows) = batch(&again, store, &left, &|approaches, all| {
            progress(report.approaches + approaches, report.approaches + all);
        })?;
        if asked && rows.is_empty() {
            return Err(StoreError::Damaged {
                path: store.root().to_owned(),
                detail: "verdicts name approaches that no sample file holds".to_owned(),
            }
            .into());
        }
        run.add(
            "robustness",
            write_rows_file(store.root(), "robustness", &rows)?,
        );
        tracing::info!(
            stage = "robustness",
            approaches = done.approaches,
            verdicts = done.verdicts,
            "batch judged again"
        );
        match store.publish(run) {
            Ok(_) => {
                report.approaches += done.approaches;
                report.verdicts += done.verdicts;
                report.sure += done.sure;
            }
            Err(StoreError::Raced { .. }) => store.refresh()?,
            Err(error) => return Err(error.into()),
        }
    }
}

fn table<T: serde::de::DeserializeOwned>(store: &Store, name: &str) -> Result<Vec<T>, StoreError> {
    read_rows(store.root(), &store.files(name))
}

fn key(subject: &Subject<'_>) -> Key {
    let (criterion, start_s) = match subject.what {
        What::Event(event) => (None, event.start_s),
        What::Clear => (None, None),
        What::Gate(gate) => (Some(gate.criterion.clone()), gate.gate_s),
    };
    (
        subject.flight_id.to_owned(),
        subject.approach_no,
        subject.rule.to_owned(),
        subject.verdict().to_owned(),
        criterion,
        start_s.map(f64::to_bits),
    )
}

fn key_of(row: &RobustnessRow) -> Key {
    (
        row.flight_id.clone(),
        row.approach_no,
        row.rule.clone(),
        row.verdict.clone(),
        row.criterion.clone(),
        row.start_s.map(f64::to_bits),
    )
}

/// What is known already of the wanted verdicts; notes in `run` what takes all others out.
fn keep(store: &Store, wanted: &BTreeSet<Key>, run: &mut Run) -> Result<BTreeSet<Key>, StoreError> {
    let mut known = BTreeSet::new();
    for file in store.files("robustness") {
        let mut rows: Vec<RobustnessRow> = read_rows(store.root(), std::slice::from_ref(&file))?;
        let before = rows.len();
        rows.retain(|row| wanted.contains(&key_of(row)));
        known.extend(rows.iter().map(key_of));
        if rows.len() < before {
            let kept = write_rows_file(store.root(), "robustness", &rows)?;
            run.add("robustness", kept);
            run.remove("robustness", file);
        }
    }
    Ok(known)
}

/// Judges the first approaches of `left` again, one sample file in memory at a time.
fn batch(
    again: &Again<'_>,
    store: &Store,
    left: &[Subject<'_>],
    progress: &dyn Fn(usize, usize),
) -> Result<(FlipReport, Vec<RobustnessRow>), DetectError> {
    // Subjects of one approach stand together.
    let mut of: BTreeMap<(&str, i32), &[Subject<'_>]> = BTreeMap::new();
    for part in left.chunk_by(|a, b| (a.flight_id, a.approach_no) == (b.flight_id, b.approach_no)) {
        of.insert((part[0].flight_id, part[0].approach_no), part);
    }
    let mut rows = Vec::new();
    let mut done = FlipReport::default();
    progress(0, of.len());
    for file in store.files("approaches") {
        if done.approaches >= APPROACHES_PER_RUN {
            break;
        }
        let mut here: Vec<ApproachRow> = read_rows(store.root(), std::slice::from_ref(&file))?;
        here.retain(|row| of.contains_key(&(row.flight_id.as_str(), row.approach_no)));
        if here.is_empty() {
            continue;
        }
        let samples = file.replacen("approaches/", "samples/", 1);
        let (_, stored) = approaches_of(store.root(), &samples, here)?;
        let approaches: Vec<Approach<'_>> = stored
            .iter()
            .filter_map(|one| {
                let subjects = of.get(&(one.row.flight_id.as_str(), one.row.approach_no))?;
                Some(Approach {
                    row: &one.row,
                    samples: &one.samples,
                    subjects,
                })
            })
            .collect();
        rows.extend(flip(again, &approaches)?);
        done.approaches += approaches.len();
        progress(done.approaches, of.len());
    }
    done.verdicts = rows.len();
    done.sure = rows.iter().filter(|row| row.share == Some(1.0)).count();
    Ok((done, rows))
}

/// The share of perturbed judgements that agree, verdict by verdict.
pub(super) struct Shares(BTreeMap<Key, Option<f64>>);

impl Shares {
    pub(super) fn new(rows: &[RobustnessRow]) -> Self {
        Self(rows.iter().map(|row| (key_of(row), row.share)).collect())
    }

    /// Whether none is known.
    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    fn find(&self, subject: &Subject<'_>) -> Option<f64> {
        if self.is_empty() {
            return None;
        }
        self.0.get(&key(subject)).copied().flatten()
    }

    /// That of an event.
    pub(super) fn of_event(&self, event: &EventRow) -> Option<f64> {
        self.find(&Subject {
            flight_id: &event.flight_id,
            approach_no: event.approach_no,
            rule: &event.rule,
            what: What::Event(event),
        })
    }

    /// That of a criterion at a gate.
    pub(super) fn of_gate(&self, gate: &GateRow) -> Option<f64> {
        self.find(&Subject {
            flight_id: &gate.flight_id,
            approach_no: gate.approach_no,
            rule: &gate.rule,
            what: What::Gate(gate),
        })
    }
}
