//! The rows of one outcome rule.

use std::collections::BTreeMap;

use datafusion::execution::session_state::SessionState;
use records::rows::ApproachRow;

use super::DetectError;
use super::among::Among;
use super::assemble::worst_level;
use crate::judge::{Approaches, Found, Levels, OutcomeFound, outcomes};
use crate::rows::{EventRow, MeasurementRow};
use crate::rule_file::{CheckedRule, Shape};

/// Judges an outcome rule on every approach: a measurement each, and the events.
pub(crate) fn judge_outcome(
    rule: &CheckedRule,
    approaches: &Approaches<'_>,
    verdicts: &BTreeMap<String, Vec<Option<bool>>>,
    among: Option<&Among>,
    state: &SessionState,
) -> Result<(Vec<MeasurementRow>, Vec<EventRow>), DetectError> {
    let rows = approaches.rows;
    let Shape::Outcome { when, value, level } = &rule.shape else {
        return Ok((Vec::new(), Vec::new()));
    };
    let found = outcomes(rule, (when, value.as_ref()), approaches, verdicts, state)?;
    let levels = levels(rule, &found, rows, state)?;
    let mut measurements = Vec::with_capacity(rows.len());
    let mut events = Vec::new();
    for ((row, found), of_levels) in rows.iter().zip(&found).zip(levels) {
        let judged = if rule.levels.is_empty() {
            Some(level.name().to_owned())
        } else {
            of_levels
        };
        let event = judged
            .filter(|_| found.fired == Some(true))
            .map(|level| event(rule, row, level, found.value));
        let reason = match among.and_then(|among| among.why_not(row.approach_key)) {
            Some(reason) => Some(reason),
            None => found.fired.is_none().then(|| why(rule, found, verdicts)),
        };
        let event = event.filter(|_| reason.is_none());
        let status = match (&reason, &event) {
            (Some(_), _) => "not_evaluable",
            (None, Some(_)) => "event",
            (None, None) => "clear",
        };
        measurements.push(MeasurementRow {
            approach_key: row.approach_key,
            flight_id: row.flight_id.clone(),
            approach_no: row.approach_no,
            rule: rule.id.clone(),
            rule_version: rule.version,
            status: status.to_owned(),
            reason,
            level: worst_level(event.as_slice()),
            events: i32::from(event.is_some()),
            worst: found.value,
            worst_s: None,
            stabilised: None,
            stabilised_from: None,
            limits_hash: rule.limits_hash(
                row.aircraft_type.as_deref(),
                row.airport.as_deref(),
                row.runway.as_deref(),
            ),
        });
        events.extend(event);
    }
    Ok((measurements, events))
}

/// The level each approach reaches by the number of the rule.
fn levels(
    rule: &CheckedRule,
    found: &[OutcomeFound],
    rows: &[ApproachRow],
    state: &SessionState,
) -> Result<Vec<Option<String>>, DetectError> {
    if rule.levels.is_empty() {
        return Ok(vec![None; rows.len()]);
    }
    let candidates: Vec<(Found, BTreeMap<String, f64>)> = rows
        .iter()
        .zip(found)
        .map(|(row, found)| {
            let limits = rule.limits_for(
                row.aircraft_type.as_deref(),
                row.airport.as_deref(),
                row.runway.as_deref(),
            );
            let candidate = Found {
                values: vec![found.value],
                ..Found::default()
            };
            (candidate, limits)
        })
        .collect();
    let candidates: Vec<_> = candidates
        .iter()
        .map(|(found, limits)| (found, limits))
        .collect();
    Ok(Levels::new(rule, state)?.judge(&candidates, 1.0)?)
}

/// Why it could not be judged: the rules it reads come first, they have reasons of their own.
fn why(
    rule: &CheckedRule,
    found: &OutcomeFound,
    verdicts: &BTreeMap<String, Vec<Option<bool>>>,
) -> String {
    let (rules, columns): (Vec<&str>, Vec<&str>) = found
        .unknown
        .iter()
        .map(String::as_str)
        .partition(|name| verdicts.contains_key(*name));
    if !rules.is_empty() {
        return format!("not evaluable: {}", rules.join(", "));
    }
    if !columns.is_empty() {
        return format!("no data: {}", columns.join(", "));
    }
    let inputs: Vec<String> = rule.inputs().into_iter().collect();
    format!("not settled by: {}", inputs.join(", "))
}

fn event(rule: &CheckedRule, row: &ApproachRow, level: String, value: Option<f64>) -> EventRow {
    let unit = match &rule.shape {
        Shape::Outcome {
            value: Some(value), ..
        } => value.unit.name(),
        _ => None,
    };
    EventRow {
        flight_id: row.flight_id.clone(),
        approach_no: row.approach_no,
        rule: rule.id.clone(),
        rule_version: rule.version,
        family: rule.family.clone(),
        level,
        start_s: Some(row.end_s),
        end_s: Some(row.end_s),
        duration_s: Some(0.0),
        worst: value,
        worst_unit: unit.unwrap_or_default(),
        worst_s: None,
        height_aal_ft: None,
        distance_nm: None,
        edge: None,
        partial: false,
        robustness: None,
        measures: "{}".to_owned(),
    }
}
