//! Rules whose verdicts under another limit follow from what the store holds of the verdicts under this one.
//!
//! Of a gate with one criterion the value at the crossing is stored, of a change the worst of all changes.
//! Where a limit moves nothing but the bound, or the levels, these numbers are all that judging looks at.

use std::collections::{BTreeMap, BTreeSet};

use datafusion::execution::session_state::SessionState;
use records::rows::ApproachRow;

use crate::expression::{Comparison, Expression};
use crate::judge::{Found, Levels, LevelsError, constant};
use crate::rows::{EventRow, MeasurementRow};
use crate::rule_file::{Asks, CheckedRule, MeasureKind, Shape, threshold};

/// Why a rule must be judged again when `limit` changes; `None` where what is stored will do.
pub(super) fn why_not(rule: &CheckedRule, limit: &str) -> Option<String> {
    let reads = |expression: &Expression| expression.limits.contains(limit);
    match &rule.shape {
        Shape::Gate { asks, criteria, .. } => {
            let [only] = criteria.as_slice() else {
                return Some(
                    "of a gate with several criteria only how many failed is stored".to_owned(),
                );
            };
            if *asks == Asks::Held {
                return Some("what came below the gate is not stored as a number".to_owned());
            }
            if reads(&only.value) || only.applies.as_ref().is_some_and(reads) {
                return Some("the limit changes what is measured or where it applies".to_owned());
            }
            let names: BTreeSet<&str> = BTreeSet::from([only.name.as_str(), "failed"]);
            levels_read(rule, &names)
        }
        Shape::Change { .. } => {
            let Some(worst) = rule.worst() else {
                return Some("it has no measure `worst`".to_owned());
            };
            if reads(&worst.expression) {
                return Some("the limit changes what is measured".to_owned());
            }
            levels_read(rule, &BTreeSet::from(["worst"])).or_else(|| {
                (!worse_is_worse(rule)).then(|| "its levels are no plain thresholds".to_owned())
            })
        }
        Shape::Episode { .. } => {
            Some("where an episode begins and ends is in the samples".to_owned())
        }
        Shape::Outcome { .. } => None,
    }
}

fn levels_read(rule: &CheckedRule, names: &BTreeSet<&str>) -> Option<String> {
    let mut others = rule
        .levels
        .iter()
        .flat_map(|level| &level.when.inputs)
        .filter(|name| !names.contains(name.as_str()));
    others
        .next()
        .map(|name| format!("its levels read `{name}`, of which not every candidate is stored"))
}

/// Whether a worse number never has a lesser level, so that the worst of several decides.
fn worse_is_worse(rule: &CheckedRule) -> bool {
    use Comparison::{Greater, GreaterOrEqual, Less, LessOrEqual};
    let Some(worst) = rule.worst() else {
        return false;
    };
    rule.levels.iter().all(|level| {
        let one = threshold(&level.when.tree, &rule.limits);
        one.is_some_and(|one| match worst.kind {
            MeasureKind::Max => matches!(one.operator, Greater | GreaterOrEqual),
            MeasureKind::Min => matches!(one.operator, Less | LessOrEqual),
            _ => false,
        })
    })
}

type Limits = BTreeMap<String, f64>;

/// What `rule` says where another version of it, with other limits, has said `stored`.
pub(super) fn judge_stored(
    rule: &CheckedRule,
    stored: &[&MeasurementRow],
    rows: &BTreeMap<i64, &ApproachRow>,
    state: &SessionState,
) -> Result<(Vec<MeasurementRow>, Vec<EventRow>), LevelsError> {
    // Limits of a place and their bounds: a few, for thousands of approaches.
    let mut known: BTreeMap<String, (Limits, Bounds)> = BTreeMap::new();
    let mut hashes = Vec::with_capacity(stored.len());
    for one in stored {
        let place = rows.get(&one.approach_key).map(|row| {
            let text = |text: &'_ Option<String>| text.clone();
            (
                text(&row.aircraft_type),
                text(&row.airport),
                text(&row.runway),
            )
        });
        let (kind, airport, runway) = place.unwrap_or_default();
        let place = (kind.as_deref(), airport.as_deref(), runway.as_deref());
        let hash = rule.limits_hash(place.0, place.1, place.2);
        if !known.contains_key(&hash) {
            let limits = rule.limits_for(place.0, place.1, place.2);
            let bounds = bounds(rule, &limits, state)?;
            known.insert(hash.clone(), (limits, bounds));
        }
        hashes.push(hash);
    }
    let candidates: Vec<(Found, &Limits)> = stored
        .iter()
        .zip(&hashes)
        .filter_map(|(one, hash)| {
            let (limits, bounds) = known.get(hash)?;
            Some((candidate(rule, one.worst, bounds), limits))
        })
        .collect();
    let pairs: Vec<_> = candidates
        .iter()
        .map(|(found, limits)| (found, *limits))
        .collect();
    let levels = Levels::new(rule, state)?.judge(&pairs, 1.0)?;
    let mut measurements = Vec::with_capacity(stored.len());
    let mut events = Vec::new();
    for (((one, hash), (found, _)), level) in stored.iter().zip(hashes).zip(&candidates).zip(levels)
    {
        let mut measured = (*one).clone();
        measured.rule.clone_from(&rule.id);
        measured.limits_hash = hash;
        // What could not be judged stays so: that does not hang on limits.
        if matches!(one.status.as_str(), "event" | "clear") {
            let level = level.filter(|_| found.worst.is_some());
            let status = if level.is_some() { "event" } else { "clear" };
            status.clone_into(&mut measured.status);
            measured.level.clone_from(&level);
            events.extend(level.map(|level| event(rule, one, level)));
        }
        measurements.push(measured);
    }
    Ok((measurements, events))
}

/// Lower and upper bound of the criterion of a gate; empty for other rules.
type Bounds = Vec<(Option<f64>, Option<f64>)>;

fn bounds(
    rule: &CheckedRule,
    limits: &Limits,
    state: &SessionState,
) -> Result<Bounds, LevelsError> {
    let Shape::Gate { criteria, .. } = &rule.shape else {
        return Ok(Vec::new());
    };
    let one = |bound: &Option<Expression>| match bound {
        Some(bound) => constant(rule, bound, limits, state),
        None => Ok(None),
    };
    let of = criteria
        .iter()
        .map(|criterion| Ok((one(&criterion.lower)?, one(&criterion.upper)?)));
    of.collect()
}

/// What levels look at; without a `worst` it is no candidate.
fn candidate(rule: &CheckedRule, worst: Option<f64>, bounds: &Bounds) -> Found {
    let Some((lower, upper)) = bounds.first() else {
        let measures = rule.measures.iter();
        return Found {
            worst,
            values: measures
                .map(|one| worst.filter(|_| one.name == "worst"))
                .collect(),
            ..Found::default()
        };
    };
    let outside = worst.filter(|value| {
        lower.is_some_and(|lower| *value < lower) || upper.is_some_and(|upper| *value > upper)
    });
    let failed = f64::from(u8::from(outside.is_some()));
    Found {
        worst: outside,
        values: vec![worst, Some(failed), None, Some(0.0)],
        ..Found::default()
    }
}

/// As much of an event as counting asks for.
fn event(rule: &CheckedRule, one: &MeasurementRow, level: String) -> EventRow {
    EventRow {
        flight_id: one.flight_id.clone(),
        approach_no: one.approach_no,
        rule: rule.id.clone(),
        rule_version: rule.version,
        family: rule.family.clone(),
        level,
        start_s: None,
        end_s: None,
        duration_s: None,
        worst: one.worst,
        worst_unit: String::new(),
        worst_s: one.worst_s,
        height_aal_ft: None,
        distance_nm: None,
        edge: None,
        partial: false,
        robustness: None,
        measures: "{}".to_owned(),
    }
}

#[cfg(test)]
mod tests;
