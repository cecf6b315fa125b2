//! Outcome rules after all others, and their rows.

use std::collections::BTreeMap;

use datafusion::execution::session_state::SessionState;
use records::rows::ApproachRow;

use super::{DetectError, Detected};
use crate::judge::{ApproachRuns, outcomes};
use crate::rows::{EventRow, MeasurementRow};
use crate::rule_file::{CheckedRule, Shape};

/// Outcome rules, each after the rules it names.
pub(super) fn judge_outcomes(
    pack: &[CheckedRule],
    approaches: &[ApproachRuns<'_>],
    verdicts: &mut BTreeMap<String, Vec<Option<bool>>>,
    state: &SessionState,
    detected: &mut Detected,
) -> Result<(), DetectError> {
    let rows: Vec<ApproachRow> = approaches
        .iter()
        .map(|approach| approach.row.clone())
        .collect();
    let ids: Vec<&String> = pack.iter().map(|rule| &rule.id).collect();
    let mut left: Vec<&CheckedRule> = pack
        .iter()
        .filter(|rule| matches!(rule.shape, Shape::Outcome { .. }))
        .collect();
    while !left.is_empty() {
        let (ready, waiting): (Vec<_>, Vec<_>) = left.iter().copied().partition(|rule| {
            let inputs = rule.inputs();
            inputs
                .iter()
                .all(|input| !ids.contains(&input) || verdicts.contains_key(input))
        });
        if ready.is_empty() {
            break; // a cycle, which checking refuses
        }
        for rule in ready {
            let Shape::Outcome { when, level } = &rule.shape else {
                continue;
            };
            let mut fired = outcomes(rule, when, &rows, verdicts, state)?;
            // Whatever the condition yields: a rule it reads must have been evaluable, or a missing
            // channel would leave only the approaches that cannot fire.
            for input in rule.inputs() {
                if let Some(read) = verdicts.get(&input) {
                    for (fired, read) in fired.iter_mut().zip(read) {
                        *fired = fired.filter(|_| read.is_some());
                    }
                }
            }
            for (row, fired) in rows.iter().zip(&fired) {
                outcome_rows(
                    rule,
                    level.name(),
                    row,
                    *fired,
                    verdicts_missing(rule, verdicts),
                    detected,
                );
            }
            verdicts.insert(rule.id.clone(), fired);
        }
        left = waiting;
    }
    Ok(())
}

/// The rules an outcome reads, for the reason why it cannot be judged.
fn verdicts_missing(rule: &CheckedRule, verdicts: &BTreeMap<String, Vec<Option<bool>>>) -> String {
    let inputs = rule.inputs();
    let read: Vec<&str> = inputs
        .iter()
        .filter(|input| verdicts.contains_key(*input))
        .map(String::as_str)
        .collect();
    format!("not evaluable: {}", read.join(", "))
}

fn outcome_rows(
    rule: &CheckedRule,
    level: &str,
    row: &ApproachRow,
    fired: Option<bool>,
    why: String,
    detected: &mut Detected,
) {
    let (status, count) = match fired {
        Some(true) => ("event", 1),
        Some(false) => ("clear", 0),
        None => ("not_evaluable", 0),
    };
    detected.measurements.push(MeasurementRow {
        approach_key: row.approach_key,
        flight_id: row.flight_id.clone(),
        approach_no: row.approach_no,
        rule: rule.id.clone(),
        rule_version: rule.version,
        status: status.to_owned(),
        reason: fired.is_none().then_some(why),
        level: (fired == Some(true)).then(|| level.to_owned()),
        events: count,
        worst: None,
        worst_s: None,
        stabilised: None,
        stabilised_from: None,
        limits_hash: rule.limits_hash(
            row.aircraft_type.as_deref(),
            row.airport.as_deref(),
            row.runway.as_deref(),
        ),
    });
    if fired == Some(true) {
        detected.events.push(EventRow {
            flight_id: row.flight_id.clone(),
            approach_no: row.approach_no,
            rule: rule.id.clone(),
            rule_version: rule.version,
            family: rule.family.clone(),
            level: level.to_owned(),
            start_s: Some(row.end_s),
            end_s: Some(row.end_s),
            duration_s: Some(0.0),
            worst: None,
            worst_unit: String::new(),
            worst_s: None,
            height_aal_ft: None,
            distance_nm: None,
            edge: None,
            partial: false,
            robustness: None,
            measures: "{}".to_owned(),
        });
    }
}
