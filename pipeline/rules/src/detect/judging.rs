//! Runs of a batch → what each rule makes of each approach, the approaches dealt out over threads.

use std::collections::HashMap;
use std::sync::Arc;

use datafusion::arrow::datatypes::{DataType, SchemaRef};
use records::rows::ApproachRow;

use super::DetectError;
use super::applied::{Applied, Place, place};
use super::scan::Scanned;
use crate::compile::Places;
use crate::judge::{ApproachRuns, Clock, Judged, Setting, judge};
use crate::rule_file::{CheckedRule, Shape};
use crate::runs::Decoder;

/// One approach whose samples were seen.
pub(super) struct Seen<'a> {
    pub(super) row: &'a ApproachRow,
    /// Number of its place.
    pub(super) place: usize,
    pub(super) clock: Clock,
}

/// Approaches, and what the rules that read samples make of them.
pub(super) struct AllSeen<'a> {
    pub(super) approaches: Vec<Seen<'a>>,
    /// By the number of the rule, in the order of the approaches; all none for rules that read no samples.
    pub(super) judged: Vec<Vec<Option<Judged>>>,
}

impl AllSeen<'_> {
    fn with_room(rules: usize, approaches: usize) -> Self {
        Self {
            approaches: Vec::with_capacity(approaches),
            judged: (0..rules).map(|_| Vec::with_capacity(approaches)).collect(),
        }
    }
}

/// What judging needs of a rule.
pub(super) struct Judging<'a> {
    pub(super) rule: &'a CheckedRule,
    pub(super) places: &'a Places,
    /// By the number of the place.
    pub(super) applied: Vec<Arc<Applied>>,
    /// Whether a criterion reads a state that holds between samples rather than a quantity.
    pub(super) holds: Vec<bool>,
}

/// An approach to judge: its row, the key its samples lie under, and how many are stored.
#[derive(Clone, Copy)]
pub(super) struct Wanted<'a> {
    pub(super) row: &'a ApproachRow,
    pub(super) key: i64,
    pub(super) stored: i64,
}

/// The results of the scan by approach.
pub(super) struct ScannedRuns<'s> {
    scanned: &'s Scanned,
    decoders: Vec<Decoder>,
    /// Batch and row of each key.
    at: HashMap<i64, (usize, usize)>,
}

impl<'s> ScannedRuns<'s> {
    pub(super) fn new(scanned: &'s Scanned) -> Result<Self, DetectError> {
        let mut decoders = Vec::with_capacity(scanned.batches.len());
        let mut at = HashMap::new();
        for (batch, (keys, runs)) in scanned.batches.iter().enumerate() {
            decoders.push(Decoder::new(runs)?);
            for (row, key) in keys.values().iter().enumerate() {
                at.insert(*key, (batch, row));
            }
        }
        Ok(Self {
            scanned,
            decoders,
            at,
        })
    }

    fn runs<'a>(&'a self, wanted: Wanted<'a>) -> Result<ApproachRuns<'a>, DetectError> {
        let slots = 0..self.scanned.compiled.slots.len();
        let slots = match self.at.get(&wanted.key) {
            Some((batch, row)) => slots
                .map(|slot| self.decoders[*batch].views(*row, slot).collect())
                .collect(),
            None => slots.map(|_| Vec::new()).collect(),
        };
        let approach = ApproachRuns {
            row: wanted.row,
            slots,
            step_s: wanted.row.step_s,
        };
        if approach.samples() != wanted.stored {
            return Err(DetectError::Samples {
                flight_id: wanted.row.flight_id.clone(),
                approach_no: wanted.row.approach_no,
                seen: approach.samples(),
                stored: wanted.stored,
            });
        }
        Ok(approach)
    }
}

/// Judges the approaches on up to `threads` threads; the result is in their order.
pub(super) fn judge_all<'a>(
    found: &ScannedRuns<'_>,
    wanted: &[Wanted<'a>],
    rules: &[Judging<'_>],
    places: &[Place<'_>],
    threads: usize,
) -> Result<AllSeen<'a>, DetectError> {
    let share = wanted.len().div_ceil(threads.max(1)).max(1);
    let parts: Vec<&[Wanted<'a>]> = wanted.chunks(share).collect();
    let parts = side_by_side(parts, |part| judge_some(found, part, rules, places));
    let mut all = AllSeen::with_room(rules.len(), wanted.len());
    for part in parts {
        let part = part?;
        all.approaches.extend(part.approaches);
        for (all, part) in all.judged.iter_mut().zip(part.judged) {
            all.extend(part);
        }
    }
    Ok(all)
}

/// Does each of some works on a thread of its own, the first on this one; the results are in their order.
pub(super) fn side_by_side<W: Send, R: Send>(
    works: Vec<W>,
    work: impl Fn(W) -> R + Sync,
) -> Vec<R> {
    let work = &work;
    std::thread::scope(|scope| {
        let mut works = works.into_iter();
        let own = works.next();
        let others: Vec<_> = works.map(|one| scope.spawn(move || work(one))).collect();
        let own = own.map(work);
        // A panic goes on as what it is.
        let others = others.into_iter().map(|other| {
            other
                .join()
                .unwrap_or_else(|panic| std::panic::resume_unwind(panic))
        });
        own.into_iter().chain(others).collect()
    })
}

fn judge_some<'a>(
    found: &ScannedRuns<'_>,
    wanted: &[Wanted<'a>],
    rules: &[Judging<'_>],
    places: &[Place<'_>],
) -> Result<AllSeen<'a>, DetectError> {
    let mut all = AllSeen::with_room(rules.len(), wanted.len());
    for wanted in wanted {
        let approach = found.runs(*wanted)?;
        // Every row's place is among them.
        let place = places.binary_search(&place(wanted.row)).unwrap_or_default();
        for (judging, judged) in rules.iter().zip(&mut all.judged) {
            // Outcomes have no limits by place and read no samples.
            let applied = judging.applied.get(place);
            judged.push(applied.and_then(|applied| {
                let setting = Setting {
                    rule: judging.rule,
                    places: judging.places,
                    bounds: &applied.bounds,
                    holds: &judging.holds,
                };
                judge(&approach, &setting)
            }));
        }
        all.approaches.push(Seen {
            row: wanted.row,
            place,
            clock: approach.clock(),
        });
    }
    Ok(all)
}

/// Criteria that read only states: these hold between samples and are never interpolated.
pub(super) fn holding(rule: &CheckedRule, schema: &SchemaRef) -> Vec<bool> {
    let Shape::Gate { criteria, .. } = &rule.shape else {
        return Vec::new();
    };
    criteria
        .iter()
        .map(|criterion| {
            criterion.value.inputs.iter().all(|input| {
                schema
                    .field_with_name(input)
                    .is_ok_and(|field| *field.data_type() == DataType::Int8)
            })
        })
        .collect()
}
