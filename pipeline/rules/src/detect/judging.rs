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

/// One approach, judged by every rule that reads samples.
pub(super) struct Seen<'a> {
    pub(super) row: &'a ApproachRow,
    /// Number of its place.
    pub(super) place: usize,
    pub(super) clock: Clock,
    /// By the number of the rule; none for rules that read no samples.
    pub(super) judged: Vec<Option<Judged>>,
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

    fn runs<'a>(&self, wanted: Wanted<'a>) -> Result<ApproachRuns<'a>, DetectError> {
        let slots = match self.at.get(&wanted.key) {
            Some((batch, row)) => self.decoders[*batch].row(*row),
            None => vec![Vec::new(); self.scanned.compiled.slots.len()],
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
) -> Result<Vec<Seen<'a>>, DetectError> {
    let share = wanted.len().div_ceil(threads.max(1)).max(1);
    let one = |part: &[Wanted<'a>]| -> Result<Vec<Seen<'a>>, DetectError> {
        let seen = part.iter().map(|one| seen(found, *one, rules, places));
        seen.collect()
    };
    std::thread::scope(|scope| {
        let mut parts = wanted.chunks(share);
        let own = parts.next();
        let others: Vec<_> = parts.map(|part| scope.spawn(move || one(part))).collect();
        let mut all = match own {
            Some(part) => one(part)?,
            None => Vec::new(),
        };
        for other in others {
            // A panic goes on as what it is.
            let part = other
                .join()
                .unwrap_or_else(|panic| std::panic::resume_unwind(panic));
            all.extend(part?);
        }
        Ok(all)
    })
}

fn seen<'a>(
    found: &ScannedRuns<'_>,
    wanted: Wanted<'a>,
    rules: &[Judging<'_>],
    places: &[Place<'_>],
) -> Result<Seen<'a>, DetectError> {
    let approach = found.runs(wanted)?;
    // Every row's place is among them.
    let place = places.binary_search(&place(wanted.row)).unwrap_or_default();
    let judged = rules.iter().map(|judging| {
        // Outcomes have no limits by place and read no samples.
        let applied = judging.applied.get(place)?;
        let setting = Setting {
            rule: judging.rule,
            places: judging.places,
            bounds: &applied.bounds,
            holds: &judging.holds,
        };
        judge(&approach, &setting)
    });
    Ok(Seen {
        row: wanted.row,
        place,
        judged: judged.collect(),
        clock: approach.clock(),
    })
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
