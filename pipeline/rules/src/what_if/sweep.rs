//! The rate of one rule under many values of one of its limits.

use std::collections::{BTreeMap, BTreeSet};

use datafusion::arrow::datatypes::SchemaRef;
use records::rows::ApproachRow;

use super::WhatIfError;
use super::judging::{approaches, judge_store};
use super::stored::{judge_stored, why_not};
use crate::detect::{Among, DetectError, Engine, judge_outcome, verdict_of};
use crate::judge::Approaches;
use crate::rows::{EventRow, MeasurementRow};
use crate::rule_file::{CheckedRule, Shape};
use crate::stages::{judged_by, with_read};
use crate::store::{Store, read_rows};
use crate::summarise::{Measured, RateRow, SummaryOptions, fleet_rates};

/// What to sweep.
#[derive(Debug, Clone, Copy)]
pub struct SweepTask<'a> {
    /// The pack in force.
    pub pack: &'a [CheckedRule],
    /// Id of a rule of it.
    pub rule: &'a str,
    /// Name of one of its limits.
    pub limit: &'a str,
    /// The values to try. Overrides of the limit keep theirs.
    pub values: &'a [f64],
    /// Judge the samples again even where what is stored would do.
    pub from_samples: bool,
}

/// How the verdicts were reached.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Way {
    /// From the measurements of the rule that the store holds.
    Measurements,
    /// From the approach rows and the verdicts of other rules.
    Approaches,
    /// All samples were judged again.
    Samples {
        /// Why.
        why: String,
    },
}

/// One rule under many values of one limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Sweep {
    /// How it was done.
    pub way: Way,
    /// The value in force.
    pub in_force: f64,
    /// Overrides of the limit, which keep their own values.
    pub overrides: usize,
    /// In the order of the values asked for.
    pub points: Vec<SweepPoint>,
}

/// The whole fleet under one value of the limit.
#[derive(Debug, Clone, PartialEq)]
pub struct SweepPoint {
    /// The value.
    pub limit: f64,
    /// Rates at least low, at least medium, high; suppressed as in every table. Empty where no line approach
    /// was judged.
    pub rates: Vec<RateRow>,
}

/// Judges every approach of a store under each value of a limit, and counts.
///
/// The result is that of changing the limit in the rule file and reviewing again, over all months.
///
/// # Errors
/// There is no such rule or limit, or the store does not read.
pub fn sweep(
    engine: &Engine,
    task: SweepTask<'_>,
    schema: &SchemaRef,
    store: &Store,
    options: &SummaryOptions,
    progress: &dyn Fn(usize, usize),
) -> Result<Sweep, WhatIfError> {
    let rule = task.pack.iter().find(|rule| rule.id == task.rule);
    let rule = rule.ok_or_else(|| WhatIfError::NoRule {
        rule: task.rule.to_owned(),
    })?;
    let in_force = *rule
        .limits
        .get(task.limit)
        .ok_or_else(|| WhatIfError::NoLimit {
            rule: rule.id.clone(),
            limit: task.limit.to_owned(),
            limits: rule.limits.keys().cloned().collect(),
        })?;
    let copies = copies(rule, task.limit, task.values);
    let rows = approaches(store)?;
    let way = way(rule, &task, store);
    let (measurements, events) = match &way {
        Way::Measurements => from_measurements(engine, rule, &copies, store, &rows)?,
        Way::Approaches => from_approaches(engine, rule, &copies, store, &rows)?,
        Way::Samples { .. } => {
            let read = with_read(task.pack, &BTreeSet::from([rule.id.clone()]));
            let read = read
                .into_iter()
                .filter(|other| other.id != rule.id)
                .cloned();
            let pack: Vec<CheckedRule> = read.chain(copies.iter().cloned()).collect();
            let mut found = judge_store(engine, &pack, schema, store, progress)?;
            let wanted: BTreeSet<&str> = copies.iter().map(|copy| copy.id.as_str()).collect();
            found
                .measurements
                .retain(|row| wanted.contains(row.rule.as_str()));
            found
                .events
                .retain(|row| wanted.contains(row.rule.as_str()));
            (found.measurements, found.events)
        }
    };
    let measured = Measured::of(&rows, &measurements)?;
    let mut of_fleet = fleet_rates(&rows, &measured, &events, options);
    let points = copies
        .iter()
        .zip(task.values)
        .map(|(copy, limit)| SweepPoint {
            limit: *limit,
            rates: of_fleet.remove(&copy.id).unwrap_or_default(),
        });
    Ok(Sweep {
        way,
        in_force,
        overrides: rule
            .overrides
            .iter()
            .filter(|one| one.limits.contains_key(task.limit))
            .count(),
        points: points.collect(),
    })
}

/// The rule once for each value, under ids of their own: one scan judges them all.
fn copies(rule: &CheckedRule, limit: &str, values: &[f64]) -> Vec<CheckedRule> {
    let copy = |(number, value): (usize, &f64)| {
        let mut copy = rule.clone();
        // No id of a rule has such a sign in it.
        copy.id = format!("{}@{number:04}", rule.id);
        copy.limits.insert(limit.to_owned(), *value);
        copy
    };
    values.iter().enumerate().map(copy).collect()
}

/// The cheapest way that is sure to give what judging again would.
fn way(rule: &CheckedRule, task: &SweepTask<'_>, store: &Store) -> Way {
    let again = |why: &str| Way::Samples {
        why: why.to_owned(),
    };
    if task.from_samples {
        return again("asked for");
    }
    if let Some(why) = why_not(rule, task.limit) {
        return again(&why);
    }
    let outcome = matches!(rule.shape, Shape::Outcome { .. });
    let mut asked = with_read(task.pack, &BTreeSet::from([rule.id.clone()]));
    if outcome {
        asked.retain(|one| one.id != rule.id);
    }
    if !judged_by(store, task.pack, asked.iter().map(|one| one.id.as_str())) {
        return again("the store was not judged by these rules as they are now");
    }
    if outcome {
        Way::Approaches
    } else {
        Way::Measurements
    }
}

type Found = (Vec<MeasurementRow>, Vec<EventRow>);

fn from_measurements(
    engine: &Engine,
    rule: &CheckedRule,
    copies: &[CheckedRule],
    store: &Store,
    rows: &[ApproachRow],
) -> Result<Found, WhatIfError> {
    let stored: Vec<MeasurementRow> = read_rows(store.root(), &store.files("measurements"))?;
    let stored: Vec<&MeasurementRow> = stored.iter().filter(|row| row.rule == rule.id).collect();
    let by_key: BTreeMap<i64, &ApproachRow> =
        rows.iter().map(|row| (row.approach_key, row)).collect();
    let state = engine.state();
    let mut found = Found::default();
    for copy in copies {
        let (measurements, events) = judge_stored(copy, &stored, &by_key, &state)?;
        found.0.extend(measurements);
        found.1.extend(events);
    }
    in_flight_order(&mut found.0);
    Ok(found)
}

fn from_approaches(
    engine: &Engine,
    rule: &CheckedRule,
    copies: &[CheckedRule],
    store: &Store,
    rows: &[ApproachRow],
) -> Result<Found, WhatIfError> {
    let read = rule.may_read();
    let mut said: BTreeMap<String, BTreeMap<i64, Option<bool>>> = BTreeMap::new();
    if !read.is_empty() {
        let stored: Vec<MeasurementRow> = read_rows(store.root(), &store.files("measurements"))?;
        for row in stored.into_iter().filter(|row| read.contains(&row.rule)) {
            let verdict = verdict_of(&row.status);
            said.entry(row.rule)
                .or_default()
                .insert(row.approach_key, verdict);
        }
    }
    let keys = || rows.iter().map(|row| row.approach_key);
    let verdicts: BTreeMap<String, Vec<Option<bool>>> = said
        .into_iter()
        .map(|(id, said)| {
            (
                id,
                keys()
                    .map(|key| said.get(&key).copied().flatten())
                    .collect(),
            )
        })
        .collect();
    let among = rule.among.as_ref().map(|id| {
        let read = verdicts.get(id).map_or(&[][..], Vec::as_slice);
        Among::new(id, keys(), read)
    });
    let state = engine.state();
    let approaches = Approaches::new(rows).map_err(DetectError::from)?;
    let mut found = Found::default();
    for copy in copies {
        let (measurements, events) =
            judge_outcome(copy, &approaches, &verdicts, among.as_ref(), &state)?;
        found.0.extend(measurements);
        found.1.extend(events);
    }
    in_flight_order(&mut found.0);
    Ok(found)
}

/// Counting tells flights apart by their changing.
fn in_flight_order(measurements: &mut [MeasurementRow]) {
    measurements.sort_by(|a, b| {
        (&a.flight_id, a.approach_no, &a.rule).cmp(&(&b.flight_id, b.approach_no, &b.rule))
    });
}
