//! Runs of all approaches of a batch → rows, rule by rule, levels for many candidates at once.

use std::collections::{BTreeMap, BTreeSet};

use datafusion::arrow::datatypes::SchemaRef;
use datafusion::error::DataFusionError;
use datafusion::execution::session_state::SessionState;
use records::rows::ApproachRow;
use records::samples::uncleaned_key;

use super::among::Among;
use super::applied::{Applied, applied, places};
use super::judging::{Judging, ScannedRuns, Seen, Wanted, holding, judge_all, side_by_side};
use super::outcome_rows::judge_outcome;
use super::rows::interleaved;
use super::scan::Scanned;
use super::suspects::suspects;
use super::{DetectError, Detected, Engine};
use crate::compile::Places;
use crate::judge::{Approaches, Evaluable, Found, Judged, Levels};
use crate::rows::{EventRow, MeasurementRow};
use crate::rule_file::{CheckedRule, Shape};
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
    let mut in_order: Vec<&ApproachRow> = rows.values().collect();
    in_order.sort_by(|a, b| (&a.flight_id, a.approach_no).cmp(&(&b.flight_id, b.approach_no)));
    let at = places(in_order.iter().copied());
    let ordered = after_what_they_read(pack, &scanned.compiled.places);
    let mut rules = Vec::with_capacity(ordered.len());
    for (rule, places) in ordered {
        rules.push(Judging {
            rule,
            places,
            applied: match rule.shape {
                Shape::Outcome { .. } => Vec::new(),
                _ => applied(rule, &at, &state)?,
            },
            holds: holding(rule, schema),
        });
    }
    let found = ScannedRuns::new(&scanned)?;
    let wanted: Vec<Wanted<'_>> = in_order
        .iter()
        .map(|row| Wanted {
            row,
            key: row.approach_key,
            stored: row.n_samples,
        })
        .collect();
    // As they were before they were cleaned.
    let uncleaned: Vec<Wanted<'_>> = in_order
        .iter()
        .filter(|row| row.n_uncleaned != 0)
        .map(|row| Wanted {
            row,
            key: uncleaned_key(row.approach_key),
            stored: row.n_uncleaned,
        })
        .collect();
    let approaches = judge_all(&found, &wanted, &rules, &at, engine.threads())?;
    let uncleaned = judge_all(&found, &uncleaned, &rules, &at, engine.threads())?;
    drop(found);
    drop(scanned.batches);

    // Laid out for the rules that read it, if there are any.
    let plain: Vec<ApproachRow> = match rules.iter().any(reads_approaches) {
        true => in_order.iter().map(|row| (*row).clone()).collect(),
        false => Vec::new(),
    };
    let plain = Approaches::new(&plain)?;
    // Rules that read no other rule do not wait for each other.
    let judged = approaches.judged.into_iter().zip(uncleaned.judged);
    let (alone, waiting): (Vec<_>, Vec<_>) = judged.enumerate().partition(|(number, _)| {
        let judging = &rules[*number];
        !reads_approaches(judging) && judging.rule.among.is_none()
    });
    let mut waiting: BTreeMap<usize, OfRule> = waiting.into_iter().collect();
    let seen = [approaches.approaches, uncleaned.approaches];
    let make = |number: usize, judged: OfRule, among: Option<&Among>| {
        both_rows(&rules[number], &seen, judged, among, &state)
    };
    let threads = engine.threads();
    let mut dealt: Vec<Vec<(usize, OfRule)>> = (0..threads).map(|_| Vec::new()).collect();
    for (at, one) in alone.into_iter().enumerate() {
        dealt[at % threads].push(one);
    }
    let made = side_by_side(dealt, |some| {
        let each = some.into_iter();
        each.map(|(number, judged)| (number, make(number, judged, None)))
            .collect::<Vec<_>>()
    });
    let mut made: BTreeMap<usize, _> = made.into_iter().flatten().collect();
    let mut by_rule = Vec::with_capacity(rules.len());
    let mut without_cleaning = Detected::default();
    for (number, judging) in rules.iter().enumerate() {
        let rule = judging.rule;
        let among = rule.among.as_ref().map(|id| {
            let keys = in_order.iter().map(|row| row.approach_key);
            let read = verdicts.get(id).map_or(&[][..], Vec::as_slice);
            Among::new(id, keys, read)
        });
        if reads_approaches(judging) {
            let (measurements, events) =
                judge_outcome(rule, &plain, &verdicts, among.as_ref(), &state)?;
            let verdict = measurements
                .iter()
                .map(|row| verdict_of(&row.status))
                .collect();
            verdicts.insert(rule.id.clone(), verdict);
            by_rule.push(Detected {
                measurements,
                events,
                ..Detected::default()
            });
            continue;
        }
        let rows = match (made.remove(&number), waiting.remove(&number)) {
            (Some(rows), _) => rows?,
            (None, Some(judged)) => make(number, judged, among.as_ref())?,
            (None, None) => {
                let text = format!("nobody judged by rule {}", rule.id);
                return Err(DataFusionError::Internal(text).into());
            }
        };
        verdicts.insert(rule.id.clone(), rows.verdicts);
        by_rule.push(rows.detected);
        without_cleaning.events.extend(rows.without_cleaning);
    }
    let ids = rules.iter().map(|judging| judging.rule.id.as_str());
    let mut detected = interleaved(ids.zip(by_rule).collect(), &in_order)?;
    detected.suspects = suspects(pack, &rows, &detected.events, without_cleaning.events);
    Ok(detected)
}

fn reads_approaches(judging: &Judging<'_>) -> bool {
    matches!(judging.rule.shape, Shape::Outcome { .. })
}

/// Each rule after the rules it reads, otherwise in the order of the pack. Rules in a circle, which checking
/// refuses, are left out.
fn after_what_they_read<'p>(
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

/// What one rule makes of the approaches, and of the samples of some as they were before they were cleaned.
type OfRule = (Vec<Option<Judged>>, Vec<Option<Judged>>);

/// What comes of one rule.
struct RuleRows {
    /// By the number of the approach.
    verdicts: Vec<Option<bool>>,
    detected: Detected,
    /// Events on samples as they were before they were cleaned.
    without_cleaning: Vec<EventRow>,
}

/// The rows of a rule that reads samples; `seen` are the approaches, and those that have samples from before they
/// were cleaned.
fn both_rows(
    judging: &Judging<'_>,
    seen: &[Vec<Seen<'_>>; 2],
    judged: OfRule,
    among: Option<&Among>,
    state: &SessionState,
) -> Result<RuleRows, DetectError> {
    let rule = judging.rule;
    let levels = Levels::new(rule, state)?;
    let rows_of = |seen: &[Seen<'_>], judged: Vec<Option<Judged>>, detected: &mut Detected| {
        let pairs = seen.iter().zip(judged);
        let judged = pairs.filter_map(|(approach, judged)| {
            let mut judged = judged?;
            if let Some(among) = among {
                among.apply(approach.row.approach_key, &mut judged);
            }
            Some((approach, judging.applied[approach.place].as_ref(), judged))
        });
        rows_of(rule, judged.collect(), &levels, detected)
    };
    let (mut detected, mut without_cleaning) = (Detected::default(), Detected::default());
    let verdicts = rows_of(&seen[0], judged.0, &mut detected)?;
    if !seen[1].is_empty() {
        rows_of(&seen[1], judged.1, &mut without_cleaning)?;
    }
    Ok(RuleRows {
        verdicts,
        detected,
        without_cleaning: without_cleaning.events,
    })
}

fn rows_of(
    rule: &CheckedRule,
    judged: Vec<(&Seen<'_>, &Applied, Judged)>,
    levels: &Levels,
    detected: &mut Detected,
) -> Result<Vec<Option<bool>>, DetectError> {
    let step_s = judged
        .first()
        .map_or(1.0, |(approach, _, _)| approach.row.step_s);
    let candidates: Vec<(&Found, &Limits)> = judged
        .iter()
        .flat_map(|(_, applied, judged)| {
            judged
                .found
                .iter()
                .map(move |found| (found, &applied.limits))
        })
        .collect();
    let mut levels = levels.judge(&candidates, step_s)?.into_iter();
    let mut verdicts = Vec::with_capacity(judged.len());
    for (approach, applied, judged) in judged {
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
            worst_s: judged.worst_k.and_then(|k| approach.clock.time_s(k)),
            stabilised: judged.stabilised.map(|one| one.state.to_owned()),
            stabilised_from: judged.stabilised.and_then(|one| one.value),
            limits_hash: applied.hash.clone(),
        });
        verdicts.push(verdict);
        detected.events.extend(events);
        detected.gates.extend(judged.gates);
    }
    Ok(verdicts)
}

fn event(
    rule: &CheckedRule,
    approach: &Seen<'_>,
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
        start_s: approach.clock.time_s(found.start_k),
        end_s: approach.clock.time_s(found.end_k),
        duration_s: Some((found.end_k - found.start_k) * approach.row.step_s),
        worst: found.worst,
        worst_unit: worst_unit(rule),
        worst_s: found.worst_k.and_then(|k| approach.clock.time_s(k)),
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
