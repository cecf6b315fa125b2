//! Two packs over one store: which approaches change, and why.

use std::collections::{BTreeMap, BTreeSet};

use datafusion::arrow::datatypes::SchemaRef;
use records::rows::ApproachRow;

use super::WhatIfError;
use super::judging::{approaches, judge_store};
use crate::detect::Engine;
use crate::rows::MeasurementRow;
use crate::rule_file::{CheckedRule, differing_lines};
use crate::stages::with_read;
use crate::store::Store;

/// What differs between two packs, and what follows from it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PackChange {
    /// Rules that are not the same in both, sorted.
    pub rules: Vec<RuleChange>,
    /// Rules that say the same in both packs, by their files.
    pub alike: usize,
    /// Approaches whose verdict changes, in the order of rule, flight and approach.
    pub verdicts: Vec<ChangedVerdict>,
}

/// One rule that differs.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RuleChange {
    /// Rule id.
    pub rule: String,
    /// What differs in its meaning, line by line as `before -> after`; for one that only reads a changed rule,
    /// which.
    pub why: Vec<String>,
    /// Approaches judged by it, before and after; 0 where a pack does not have it.
    pub evaluable: [usize; 2],
    /// Approaches with an event, before and after.
    pub with_event: [usize; 2],
}

/// One approach of which a rule says something else.
#[derive(Debug, Clone, PartialEq)]
pub struct ChangedVerdict {
    /// Rule id.
    pub rule: String,
    /// Opaque flight id.
    pub flight_id: String,
    /// From 1, in flight order.
    pub approach_no: i32,
    /// `gains an event`, `loses its event`, `other level`, `now judged` or `no longer judged`.
    pub change: &'static str,
    /// Level, or status where there is none; null where the pack has no such rule.
    pub before: Option<String>,
    /// The same, after.
    pub after: Option<String>,
    /// The deciding measure, before and after.
    pub worst: [Option<f64>; 2],
    /// Why it could not be judged, where one of the two could not.
    pub reason: Option<String>,
}

/// Judges every approach of a store by what differs between two packs.
///
/// # Errors
/// The store does not read.
pub fn compare_packs(
    engine: &Engine,
    (before, after): (&[CheckedRule], &[CheckedRule]),
    schema: &SchemaRef,
    store: &Store,
    progress: &dyn Fn(usize, usize),
) -> Result<PackChange, WhatIfError> {
    let mut change = PackChange::default();
    let why = differences(before, after);
    change.alike = before
        .iter()
        .filter(|rule| !why.contains_key(&rule.id))
        .count();
    if why.is_empty() {
        return Ok(change);
    }
    let changed: BTreeSet<String> = why.keys().cloned().collect();
    let mut said = Vec::with_capacity(2);
    for pack in [before, after] {
        let judging: Vec<CheckedRule> = with_read(pack, &changed).into_iter().cloned().collect();
        let mut found = judge_store(engine, &judging, schema, store, progress)?;
        found.measurements.retain(|row| changed.contains(&row.rule));
        said.push(found.measurements);
    }
    let rows = approaches(store)?;
    let lines: BTreeSet<i64> = rows
        .iter()
        .filter(|row| ApproachRow::is_line(row))
        .map(|row| row.approach_key)
        .collect();
    for (rule, why) in why {
        let of = |said: &[MeasurementRow]| -> BTreeMap<i64, MeasurementRow> {
            let own = said.iter().filter(|row| row.rule == rule);
            own.map(|row| (row.approach_key, row.clone())).collect()
        };
        let both = [of(&said[0]), of(&said[1])];
        let count = |test: &dyn Fn(&MeasurementRow) -> bool| {
            let line = |said: &BTreeMap<i64, MeasurementRow>| {
                let counted = said
                    .values()
                    .filter(|row| lines.contains(&row.approach_key));
                counted.filter(|row| test(row)).count()
            };
            [line(&both[0]), line(&both[1])]
        };
        change.rules.push(RuleChange {
            evaluable: count(&|row| matches!(row.status.as_str(), "event" | "clear")),
            with_event: count(&|row| row.status == "event"),
            rule,
            why,
        });
        let keys: BTreeSet<i64> = both.iter().flat_map(BTreeMap::keys).copied().collect();
        let pairs = keys
            .iter()
            .filter_map(|key| verdict(both[0].get(key), both[1].get(key)));
        change.verdicts.extend(pairs);
    }
    change.verdicts.sort_by(|a, b| {
        (&a.rule, &a.flight_id, a.approach_no).cmp(&(&b.rule, &b.flight_id, b.approach_no))
    });
    Ok(change)
}

/// By rule, what differs; rules that read one that differs come along.
fn differences(before: &[CheckedRule], after: &[CheckedRule]) -> BTreeMap<String, Vec<String>> {
    let by_id = |pack: &[CheckedRule]| -> BTreeMap<String, CheckedRule> {
        pack.iter()
            .map(|rule| (rule.id.clone(), rule.clone()))
            .collect()
    };
    let (before, after) = (by_id(before), by_id(after));
    let ids: BTreeSet<&String> = before.keys().chain(after.keys()).collect();
    let mut why: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for id in &ids {
        let lines = match (before.get(*id), after.get(*id)) {
            (Some(_), None) => vec!["only in the pack before".to_owned()],
            (None, Some(_)) => vec!["only in the pack after".to_owned()],
            (Some(one), Some(two)) => differing_lines(one, two),
            (None, None) => Vec::new(),
        };
        if !lines.is_empty() {
            why.insert((*id).clone(), lines);
        }
    }
    loop {
        let mut more = Vec::new();
        for (id, rule) in before.iter().chain(&after) {
            let read = rule
                .may_read()
                .into_iter()
                .find(|read| why.contains_key(read));
            if let Some(read) = read.filter(|_| !why.contains_key(id)) {
                more.push((id.clone(), vec![format!("reads {read}, which differs")]));
            }
        }
        if more.is_empty() {
            return why;
        }
        why.extend(more);
    }
}

fn verdict(
    before: Option<&MeasurementRow>,
    after: Option<&MeasurementRow>,
) -> Option<ChangedVerdict> {
    let state = |row: &MeasurementRow| match (row.status.as_str(), &row.level) {
        ("event", Some(level)) => level.clone(),
        (status, _) => status.to_owned(),
    };
    let (old, new) = (before.map(state), after.map(state));
    if old == new {
        return None;
    }
    let is = |row: Option<&MeasurementRow>, states: &[&str]| {
        row.is_some_and(|row| states.contains(&row.status.as_str()))
    };
    let (fired, fires) = (is(before, &["event"]), is(after, &["event"]));
    let (knew, knows) = (
        is(before, &["event", "clear"]),
        is(after, &["event", "clear"]),
    );
    let change = match () {
        () if fired && fires => "other level",
        () if fires => "gains an event",
        () if fired => "loses its event",
        () if knows => "now judged",
        () if knew => "no longer judged",
        // Neither says anything that counts.
        () => return None,
    };
    let one = after.or(before)?;
    Some(ChangedVerdict {
        rule: one.rule.clone(),
        flight_id: one.flight_id.clone(),
        approach_no: one.approach_no,
        change,
        before: old,
        after: new,
        worst: [
            before.and_then(|row| row.worst),
            after.and_then(|row| row.worst),
        ],
        reason: [before, after]
            .into_iter()
            .flatten()
            .find_map(|row| row.reason.clone()),
    })
}
