//! Which verdicts are reached again: every event, and the clear approaches nearest to an event.

use std::collections::{BTreeMap, BTreeSet};

use stats::quantile;

use crate::rows::{EventRow, GateRow, MeasurementRow};
use crate::rule_file::{CheckedRule, MeasureKind, Shape};

/// At least so many clear approaches a rule, where it has them: judgement, so that a rule without events has
/// a share that means something.
const LEAST_CLEAR: usize = 20;

/// One verdict.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Subject<'a> {
    pub(crate) flight_id: &'a str,
    pub(crate) approach_no: i32,
    pub(crate) rule: &'a str,
    pub(crate) what: What<'a>,
}

/// What was said.
#[derive(Debug, Clone, Copy)]
pub(crate) enum What<'a> {
    /// This event.
    Event(&'a EventRow),
    /// That there was none.
    Clear,
    /// Whether the criterion was passed.
    Gate(&'a GateRow),
}

impl Subject<'_> {
    /// As the table has it.
    pub(crate) fn verdict(&self) -> &'static str {
        match self.what {
            What::Event(_) => "event",
            What::Clear => "clear",
            What::Gate(_) => "gate",
        }
    }
}

type Approach<'a> = (&'a str, i32);

/// The verdicts to be reached again, in the order of (flight, approach, rule).
///
/// Gate verdicts are those of approaches with an event of the gate's rule, and of the clear ones chosen.
pub(crate) fn subjects<'a>(
    pack: &[CheckedRule],
    measurements: &'a [MeasurementRow],
    events: &'a [EventRow],
    gates: &'a [GateRow],
) -> Vec<Subject<'a>> {
    let mut chosen = Vec::new();
    for rule in pack {
        let own: Vec<&EventRow> = events.iter().filter(|e| e.rule == rule.id).collect();
        let verdicts: Vec<&MeasurementRow> =
            measurements.iter().filter(|m| m.rule == rule.id).collect();
        let criteria: Vec<&GateRow> = gates.iter().filter(|g| g.rule == rule.id).collect();
        let mut near = match rule.shape {
            Shape::Gate { .. } => near_gates(&verdicts, &criteria),
            _ => near_measures(rule, &verdicts),
        };
        near.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.cmp(&b.1)));
        near.truncate(own.len().max(LEAST_CLEAR));
        let mut approaches: BTreeSet<Approach<'_>> = near.iter().map(|near| near.1).collect();
        chosen.extend(approaches.iter().map(|(flight_id, approach_no)| Subject {
            flight_id,
            approach_no: *approach_no,
            rule: verdicts[0].rule.as_str(),
            what: What::Clear,
        }));
        for event in own {
            approaches.insert((&event.flight_id, event.approach_no));
            chosen.push(Subject {
                flight_id: &event.flight_id,
                approach_no: event.approach_no,
                rule: &event.rule,
                what: What::Event(event),
            });
        }
        for gate in criteria {
            if gate.passed.is_some() && approaches.contains(&(&gate.flight_id, gate.approach_no)) {
                chosen.push(Subject {
                    flight_id: &gate.flight_id,
                    approach_no: gate.approach_no,
                    rule: &gate.rule,
                    what: What::Gate(gate),
                });
            }
        }
    }
    // Stable: the verdicts of one approach and rule stay as they were put together.
    chosen.sort_by_key(|one| (one.flight_id, one.approach_no, one.rule));
    chosen
}

fn is_clear(row: &MeasurementRow) -> bool {
    row.status == "clear"
}

/// Clear approaches by how far their deciding measure is from where events lie, least first; none where it is
/// not known on which side that is.
fn near_measures<'a>(
    rule: &CheckedRule,
    verdicts: &[&'a MeasurementRow],
) -> Vec<(f64, Approach<'a>)> {
    let worst = |clear: bool| {
        let rows = verdicts.iter().filter(move |row| is_clear(row) == clear);
        rows.filter_map(|row| row.worst)
    };
    let side = match rule.worst().map(|worst| worst.kind) {
        Some(MeasureKind::Max) => Some(1.0),
        Some(MeasureKind::Min) => Some(-1.0),
        _ => {
            let median = |clear| quantile(&sorted(worst(clear)), 0.5);
            median(false)
                .zip(median(true))
                .map(|(event, clear)| (event - clear).signum())
        }
    };
    let Some(side) = side else {
        return Vec::new();
    };
    let clear = verdicts.iter().filter(|row| is_clear(row));
    clear
        .filter_map(|row| {
            Some((
                -side * row.worst?,
                (row.flight_id.as_str(), row.approach_no),
            ))
        })
        .collect()
}

/// Clear approaches by the smallest distance of a criterion to one of its bounds, in units of the
/// interquartile range of that criterion. A state has no distance.
fn near_gates<'a>(
    verdicts: &[&'a MeasurementRow],
    criteria: &[&'a GateRow],
) -> Vec<(f64, Approach<'a>)> {
    let mut known: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
    for row in criteria.iter().filter(|row| row.passed.is_some()) {
        known.entry(&row.criterion).or_default().extend(row.value);
    }
    let spread: BTreeMap<&str, f64> = known
        .into_iter()
        .filter_map(|(name, values)| {
            let values = sorted(values.into_iter());
            let spread = quantile(&values, 0.75)? - quantile(&values, 0.25)?;
            (spread > 0.0).then_some((name, spread))
        })
        .collect();
    let mut nearest: BTreeMap<Approach<'a>, f64> = BTreeMap::new();
    for row in criteria.iter().filter(|row| row.passed == Some(true)) {
        let (Some(value), Some(spread)) = (row.value, spread.get(row.criterion.as_str())) else {
            continue;
        };
        for bound in [row.lower, row.upper].into_iter().flatten() {
            let distance = (value - bound).abs() / spread;
            let least = nearest
                .entry((&row.flight_id, row.approach_no))
                .or_insert(distance);
            *least = least.min(distance);
        }
    }
    let clear = verdicts.iter().filter(|row| is_clear(row));
    clear
        .filter_map(|row| {
            let approach = (row.flight_id.as_str(), row.approach_no);
            Some((*nearest.get(&approach)?, approach))
        })
        .collect()
}

fn sorted(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values
}
