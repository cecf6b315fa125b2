//! Runs of all approaches of a batch → rows, rule by rule, levels for many candidates at once.

use std::collections::{BTreeMap, BTreeSet};

use datafusion::arrow::datatypes::{DataType, SchemaRef};
use datafusion::execution::session_state::SessionState;
use records::rows::ApproachRow;
use records::samples::uncleaned_key;

use super::among::Among;
use super::outcome_rows::judge_outcome;
use super::scan::Scanned;
use super::suspects::suspects;
use super::{DetectError, Detected, Engine};
use crate::compile::Places;
use crate::judge::{ApproachRuns, Evaluable, Found, Judged, Levels, Setting, constant, judge};
use crate::rows::{EventRow, MeasurementRow};
use crate::rule_file::{CheckedRule, Shape};
use crate::runs::decode;
use crate::store::seven_digits;

type Limits = BTreeMap<String, f64>;

/// `verdicts` are those of rules outside the pack that outcome rules may read, one an approach.
pub(crate) fn assemble_scanned(
    engine: &Engine,
    pack: &[CheckedRule],
    schema: &SchemaRef,
    scanned: Scanned,
    rows: BTreeMap<i64, ApproachRow>,
    mut verdicts: BTreeMap<String, Vec<Option<bool>>>,
) -> Result<Detected, DetectError> {
    let state = engine.state();
    let mut slots_of: BTreeMap<i64, Vec<Vec<crate::runs::Run>>> = BTreeMap::new();
    for (keys, runs) in &scanned.batches {
        for row in 0..keys.len() {
            slots_of.insert(keys.value(row), decode(runs, row)?);
        }
    }
    let mut runs_of = |row, key: i64, stored: i64| -> Result<ApproachRuns<'_>, DetectError> {
        let row: &ApproachRow = row;
        let slots = slots_of.remove(&key).unwrap_or_else(|| {
            std::iter::repeat_with(Vec::new)
                .take(scanned.compiled.slots.len())
                .collect()
        });
        let approach = ApproachRuns {
            row,
            slots,
            step_s: row.step_s,
        };
        if approach.samples() != stored {
            return Err(DetectError::Samples {
                flight_id: row.flight_id.clone(),
                approach_no: row.approach_no,
                seen: approach.samples(),
                stored,
            });
        }
        Ok(approach)
    };
    let mut approaches = Vec::with_capacity(rows.len());
    // As they were before they were cleaned.
    let mut uncleaned = Vec::new();
    for (key, row) in &rows {
        approaches.push(runs_of(row, *key, row.n_samples)?);
        if row.n_uncleaned != 0 {
            uncleaned.push(runs_of(row, uncleaned_key(*key), row.n_uncleaned)?);
        }
    }
    for approaches in [&mut approaches, &mut uncleaned] {
        approaches.sort_by(|a, b| {
            (&a.row.flight_id, a.row.approach_no).cmp(&(&b.row.flight_id, b.row.approach_no))
        });
    }

    let mut detected = Detected::default();
    let mut without_cleaning = Detected::default();
    let plain_rows: Vec<ApproachRow> = approaches.iter().map(|one| one.row.clone()).collect();
    for (rule, places) in in_order(pack, &scanned.compiled.places) {
        let among = rule.among.as_ref().map(|id| {
            let keys = plain_rows.iter().map(|row| row.approach_key);
            let read = verdicts.get(id).map_or(&[][..], Vec::as_slice);
            Among::new(id, keys, read)
        });
        if matches!(rule.shape, Shape::Outcome { .. }) {
            let (measured, events) =
                judge_outcome(rule, &plain_rows, &verdicts, among.as_ref(), &state)?;
            let verdict = measured.iter().map(|row| verdict_of(&row.status)).collect();
            verdicts.insert(rule.id.clone(), verdict);
            detected.measurements.extend(measured);
            detected.events.extend(events);
            continue;
        }
        let mut known_limits: BTreeMap<String, Applied> = BTreeMap::new();
        let holds = holding(rule, schema);
        let mut judge_all = |approaches, detected: &mut Detected| {
            let approaches: &[ApproachRuns<'_>] = approaches;
            let mut judged = Vec::with_capacity(approaches.len());
            for approach in approaches {
                let applied = applied(rule, approach.row, &mut known_limits, &state)?;
                let setting = Setting {
                    rule,
                    places,
                    bounds: &applied.bounds,
                    holds: &holds,
                };
                if let Some(mut result) = judge(approach, &setting) {
                    if let Some(among) = &among {
                        among.apply(approach.row.approach_key, &mut result);
                    }
                    judged.push((approach, applied.clone(), result));
                }
            }
            rows_of(rule, judged, &state, detected)
        };
        verdicts.insert(rule.id.clone(), judge_all(&approaches, &mut detected)?);
        if !uncleaned.is_empty() {
            judge_all(&uncleaned, &mut without_cleaning)?;
        }
    }
    let events = without_cleaning.events;
    detected.suspects = suspects(pack, &rows, &detected.events, events);

    // Rows come rule by rule; the tables go approach by approach.
    detected.measurements.sort_by(|a, b| {
        (&a.flight_id, a.approach_no, &a.rule).cmp(&(&b.flight_id, b.approach_no, &b.rule))
    });
    detected.events.sort_by(|a, b| {
        let key = |e: &EventRow| (e.flight_id.clone(), e.approach_no, e.rule.clone());
        key(a).cmp(&key(b)).then_with(|| {
            a.start_s
                .unwrap_or(f64::MAX)
                .total_cmp(&b.start_s.unwrap_or(f64::MAX))
        })
    });
    // Stable: criteria stay in the order of the rule file.
    detected.gates.sort_by(|a, b| {
        (&a.flight_id, a.approach_no, &a.rule).cmp(&(&b.flight_id, b.approach_no, &b.rule))
    });
    Ok(detected)
}

/// Each rule after the rules it reads, otherwise in the order of the pack. Rules in a circle, which checking
/// refuses, are left out.
fn in_order<'p>(
    pack: &'p [CheckedRule],
    places: &'p [Places],
) -> Vec<(&'p CheckedRule, &'p Places)> {
    let ids: BTreeSet<&str> = pack.iter().map(|rule| rule.id.as_str()).collect();
    let mut left: Vec<_> = pack.iter().zip(places).collect();
    let mut done: BTreeSet<&str> = BTreeSet::new();
    let mut ordered = Vec::with_capacity(left.len());
    loop {
        let (ready, waiting): (Vec<_>, Vec<_>) = left.into_iter().partition(|(rule, _)| {
            let mut read = rule.may_read().into_iter();
            read.all(|id| !ids.contains(id.as_str()) || done.contains(id.as_str()))
        });
        if ready.is_empty() {
            return ordered;
        }
        done.extend(ready.iter().map(|(rule, _)| rule.id.as_str()));
        ordered.extend(ready);
        left = waiting;
    }
}

/// What other rules read of a status.
pub(crate) fn verdict_of(status: &str) -> Option<bool> {
    match status {
        "event" => Some(true),
        "clear" => Some(false),
        _ => None,
    }
}

/// The limits that apply to an approach and what follows from them.
#[derive(Clone)]
struct Applied {
    limits: Limits,
    hash: String,
    bounds: Vec<(Option<f64>, Option<f64>)>,
}

fn applied(
    rule: &CheckedRule,
    row: &ApproachRow,
    known: &mut BTreeMap<String, Applied>,
    state: &SessionState,
) -> Result<Applied, DetectError> {
    let place = (
        row.aircraft_type.as_deref(),
        row.airport.as_deref(),
        row.runway.as_deref(),
    );
    let hash = rule.limits_hash(place.0, place.1, place.2);
    if let Some(applied) = known.get(&hash) {
        return Ok(applied.clone());
    }
    let limits = rule.limits_for(place.0, place.1, place.2);
    let mut bounds = Vec::new();
    if let Shape::Gate { criteria, .. } = &rule.shape {
        for criterion in criteria {
            let mut pair = [None, None];
            for (side, bound) in pair.iter_mut().zip([&criterion.lower, &criterion.upper]) {
                if let Some(bound) = bound {
                    *side = constant(rule, bound, &limits, state)?;
                }
            }
            bounds.push((pair[0], pair[1]));
        }
    }
    let applied = Applied {
        limits,
        hash: hash.clone(),
        bounds,
    };
    known.insert(hash, applied.clone());
    Ok(applied)
}

/// Criteria that read only states: these hold between samples and are never interpolated.
fn holding(rule: &CheckedRule, schema: &SchemaRef) -> Vec<bool> {
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

fn rows_of(
    rule: &CheckedRule,
    judged: Vec<(&ApproachRuns<'_>, Applied, Judged)>,
    state: &SessionState,
    detected: &mut Detected,
) -> Result<Vec<Option<bool>>, DetectError> {
    let step_s = judged
        .first()
        .map_or(1.0, |(approach, _, _)| approach.step_s);
    let candidates: Vec<(&Found, &Limits)> = judged
        .iter()
        .flat_map(|(_, applied, judged)| {
            judged
                .found
                .iter()
                .map(move |found| (found, &applied.limits))
        })
        .collect();
    let mut levels = Levels::new(rule, state)?
        .judge(&candidates, step_s)?
        .into_iter();
    let mut verdicts = Vec::with_capacity(judged.len());
    for (approach, applied, judged) in &judged {
        let evaluable = judged.evaluable == Evaluable::Yes;
        let mut events = Vec::new();
        for found in &judged.found {
            if let Some(level) = levels.next().flatten() {
                events.push(event(rule, approach, found, level, evaluable));
            }
        }
        let sure = events.iter().any(|event| !event.partial);
        let (status, verdict) = match (evaluable, events.is_empty()) {
            (true, true) => ("clear", Some(false)),
            (true, false) if sure => ("event", Some(true)),
            (false, true) => ("not_evaluable", None),
            _ => ("partial", None),
        };
        let reason = match &judged.evaluable {
            Evaluable::No(reason) => Some(reason.clone()),
            Evaluable::Yes if status == "partial" => Some("seen on partly known input".to_owned()),
            Evaluable::Yes => None,
        };
        detected.measurements.push(MeasurementRow {
            approach_key: approach.row.approach_key,
            flight_id: approach.row.flight_id.clone(),
            approach_no: approach.row.approach_no,
            rule: rule.id.clone(),
            rule_version: rule.version,
            status: status.to_owned(),
            reason,
            level: worst_level(&events),
            events: i32::try_from(events.len()).unwrap_or(i32::MAX),
            worst: judged.worst,
            worst_s: judged.worst_k.and_then(|k| approach.time_s(k)),
            stabilised: judged.stabilised.map(|one| one.state.to_owned()),
            stabilised_from: judged.stabilised.and_then(|one| one.value),
            limits_hash: applied.hash.clone(),
        });
        verdicts.push(verdict);
        detected.events.extend(events);
        detected.gates.extend(judged.gates.iter().cloned());
    }
    Ok(verdicts)
}

fn event(
    rule: &CheckedRule,
    approach: &ApproachRuns<'_>,
    found: &Found,
    level: String,
    evaluable: bool,
) -> EventRow {
    let names: Vec<&String> = match &rule.shape {
        Shape::Gate { criteria, .. } => criteria.iter().map(|criterion| &criterion.name).collect(),
        _ => rule.measures.iter().map(|measure| &measure.name).collect(),
    };
    // In the order of the rule file, which a map would not keep.
    let measures: Vec<String> = names
        .into_iter()
        .zip(&found.values)
        .map(|(name, value)| match value {
            Some(value) => format!("\"{name}\":{}", seven_digits(*value)),
            None => format!("\"{name}\":null"),
        })
        .collect();
    EventRow {
        flight_id: approach.row.flight_id.clone(),
        approach_no: approach.row.approach_no,
        rule: rule.id.clone(),
        rule_version: rule.version,
        family: rule.family.clone(),
        level,
        start_s: approach.time_s(found.start_k),
        end_s: approach.time_s(found.end_k),
        duration_s: Some((found.end_k - found.start_k) * approach.step_s),
        worst: found.worst,
        worst_unit: worst_unit(rule),
        worst_s: found.worst_k.and_then(|k| approach.time_s(k)),
        height_aal_ft: found.place[0],
        distance_nm: found.place[1],
        edge: found.edge,
        partial: found.partial || !evaluable,
        robustness: None,
        measures: format!("{{{}}}", measures.join(",")),
    }
}

/// Unit of the deciding measure; a gate of several criteria counts failures.
fn worst_unit(rule: &CheckedRule) -> String {
    match &rule.shape {
        Shape::Gate { criteria, .. } => match criteria.as_slice() {
            [only] => only.value.unit.name(),
            _ => Some("criteria".to_owned()),
        },
        _ => rule.worst().and_then(|worst| worst.expression.unit.name()),
    }
    .unwrap_or_default()
}

pub(super) fn worst_level(events: &[EventRow]) -> Option<String> {
    ["high", "medium", "low"]
        .into_iter()
        .find(|level| events.iter().any(|event| event.level == *level))
        .map(str::to_owned)
}
