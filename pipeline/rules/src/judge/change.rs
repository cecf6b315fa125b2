//! Changes: what was true at the moment a state changed?

use super::{ApproachRuns, Evaluable, Found, Judged, why_unknown};
use crate::rule_file::{CheckedRule, Direction, Measure, MeasureKind};
use crate::runs::RunView;

pub(super) fn judge(
    approach: &ApproachRuns<'_>,
    rule: &CheckedRule,
    (slot, measures, place): (usize, &[usize], [usize; 2]),
    of: &String,
    direction: Direction,
    before_s: f64,
) -> Judged {
    let known: Vec<&RunView<'_>> = approach.slots[slot]
        .iter()
        .filter(|run| run.code.unwrap_or(0) != 0)
        .collect();
    let mut changes = Vec::new();
    let mut unseen = false;
    for pair in known.windows(2) {
        let (from, to) = (pair[0].code.unwrap_or(0), pair[1].code.unwrap_or(0));
        let wanted = match direction {
            Direction::Up => to > from,
            Direction::Down => to < from,
            Direction::Any => to != from,
        };
        let unknown_s = f64::from(pair[1].k_first - pair[0].k_last - 1) * approach.step_s;
        if wanted && unknown_s <= before_s {
            changes.push(found(rule, pair[1], measures, place));
        } else if wanted {
            unseen = true; // it changed, and nobody knows when
        }
    }
    let deciding = rule.measures.iter().find(|measure| measure.name == "worst");
    let least = deciding.is_some_and(|measure| measure.kind == MeasureKind::Min);
    let mut worst: Option<(f64, Option<f64>)> = None;
    for change in &changes {
        let Some(value) = change.worst else { continue };
        if worst.is_none_or(|(best, _)| if least { value < best } else { value > best }) {
            worst = Some((value, change.worst_k));
        }
    }
    let evaluable = if unseen {
        Evaluable::No(format!("{of} changed while unknown"))
    } else {
        evaluable(approach, rule, of, &known, &changes)
    };
    // What the rule measures must be known; a rule that measures nothing asks only for the change.
    changes.retain(|change| deciding.is_none() || change.worst.is_some());
    Judged {
        evaluable,
        found: changes,
        worst: worst.map(|(value, _)| value),
        worst_k: worst.and_then(|(_, k)| k),
        gates: Vec::new(),
        stabilised: None,
    }
}

/// Measures read at the first sample in the new state.
fn found(rule: &CheckedRule, new: &RunView<'_>, measures: &[usize], place: [usize; 2]) -> Found {
    let first = |end: usize| new.first(end).map(f64::from);
    let values: Vec<Option<f64>> = measures.iter().map(|end| first(*end)).collect();
    let named = |measure: &Measure| measure.name == "worst";
    let worst = rule.measures.iter().position(named);
    let worst = worst.and_then(|measure| values[measure]);
    let k = f64::from(new.k_first);
    Found {
        start_k: k,
        end_k: k,
        values,
        worst,
        worst_k: Some(k),
        place: place.map(first),
        edge: None,
        partial: false,
    }
}

fn evaluable(
    approach: &ApproachRuns<'_>,
    rule: &CheckedRule,
    of: &String,
    known: &[&RunView<'_>],
    changes: &[Found],
) -> Evaluable {
    let (_, segment) = approach.segment(rule);
    let seen: i32 = known.iter().map(|run| run.k_last - run.k_first + 1).sum();
    if segment == 0 {
        return Evaluable::No("window not reached".to_owned());
    }
    if f64::from(seen) < rule.coverage * f64::from(segment) {
        let reason = why_unknown(approach.row, [of])
            .unwrap_or_else(|| "state known on too little of the segment".to_owned());
        return Evaluable::No(reason);
    }
    if changes.is_empty() {
        return Evaluable::No(format!("no such change of {of}"));
    }
    if rule.worst().is_none() {
        return Evaluable::Yes;
    }
    let measured = changes
        .iter()
        .filter(|change| change.worst.is_some())
        .count();
    #[allow(clippy::cast_precision_loss)] // changes of one approach
    if (measured as f64) < rule.coverage * changes.len() as f64 {
        let reason = why_unknown(approach.row, &rule.inputs())
            .unwrap_or_else(|| "inputs unknown at the change".to_owned());
        return Evaluable::No(reason);
    }
    Evaluable::Yes
}
