//! Gates: what were the values at a crossing, and did they stay inside to the end?
//!
//! The crossing is the last downward one in the segment; quantities are interpolated linearly
//! between the two samples around it, states hold from the earlier one.

use super::stabilised::{Good, good, together};
use super::{ApproachRuns, Evaluable, Found, Judged, Setting, why_unknown};
use crate::compile::{Places, check, side};
use crate::rows::GateRow;
use crate::rule_file::{Asks, Criterion, Shape};
use crate::runs::RunView;

/// Seconds before and after the crossing in which a held criterion must be known.
const AROUND_S: f64 = 5.0;
/// The height to which `held_to_50ft` refers.
const HELD_TO_FT: f64 = 50.0;

struct Crossing<'r> {
    above: RunView<'r>,
    below: RunView<'r>,
    /// 0 at the sample above, 1 at the sample below.
    fraction: f64,
}

/// `None` for a rule that is no gate.
pub(super) fn judge(approach: &ApproachRuns<'_>, setting: &Setting<'_>) -> Option<Judged> {
    let rule = setting.rule;
    let Shape::Gate {
        column,
        level,
        to,
        asks,
        criteria,
    } = &rule.shape
    else {
        return None;
    };
    let Places::Gate {
        slot,
        gate,
        place,
        criteria: places,
    } = setting.places
    else {
        return None;
    };
    let runs = &approach.slots[*slot];
    let Some(crossing) = crossing(runs, *gate, *level) else {
        return Some(nothing(not_reached(approach, runs, column)));
    };
    let crossing_k = f64::from(crossing.above.k_last) + crossing.fraction;
    // The end of holding, and whether it was reached at all.
    let past = runs
        .iter()
        .find(|run| run.k_first > crossing.above.k_last && run.code == Some(side::PAST));
    let end_k = past.map_or(approach.segment(rule).0, |run| run.k_first);

    let mut rows = Vec::with_capacity(criteria.len());
    let mut all_held = Vec::with_capacity(criteria.len());
    let mut all_good: Vec<Good> = Vec::with_capacity(criteria.len());
    for (number, criterion) in criteria.iter().enumerate() {
        let places = &places[number];
        let value = at(&crossing, places.value, setting.holds[number]);
        let applies = match places.applies {
            Some(applies) => held(&crossing, applies).map(|flag| flag != 0.0),
            None => Some(true),
        };
        let (lower, upper) = setting.bounds[number];
        let watch = Watch {
            runs: &approach.slots[places.slot],
            step_s: approach.step_s,
        };
        let value = value.filter(|_| watch.known_around(&crossing, rule.coverage));
        let passed = match (applies, value) {
            (Some(true), Some(value)) => Some(
                lower.is_none_or(|lower| value >= lower)
                    && upper.is_none_or(|upper| value <= upper),
            ),
            _ => None,
        };
        let held = match (applies, to) {
            (Some(true), Some(_)) => watch
                .held(crossing.below.k_first, end_k, criterion.grace_s)
                .filter(|held| !held || past.is_some()),
            _ => None,
        };
        all_held.push(held);
        if to.is_some() && past.is_some() {
            let grace = (criterion.grace_s / approach.step_s).floor();
            #[allow(clippy::cast_possible_truncation)] // a few samples
            all_good.push(good(watch.runs, end_k, grace as i32));
        }
        rows.push(GateRow {
            flight_id: approach.row.flight_id.clone(),
            approach_no: approach.row.approach_no,
            rule: rule.id.clone(),
            gate_column: column.clone(),
            gate_value: *level,
            gate_ft: column.ends_with("_ft").then_some(*level),
            criterion: criterion.name.clone(),
            gate_s: approach.time_s(crossing_k),
            value,
            lower,
            upper,
            applies,
            passed,
            held_to_50ft: held.filter(|_| *to == Some(HELD_TO_FT)),
            robustness: None,
        });
    }
    let place = place.map(|end| at(&crossing, end, false));
    let stabilised = together(&all_good);
    let judged = verdict(
        approach,
        criteria,
        rows,
        (*asks, &all_held),
        crossing_k,
        place,
    );
    Some(Judged {
        stabilised,
        ..judged
    })
}

fn verdict(
    approach: &ApproachRuns<'_>,
    criteria: &[Criterion],
    rows: Vec<GateRow>,
    (asks, held): (Asks, &[Option<bool>]),
    crossing_k: f64,
    place: [Option<f64>; 2],
) -> Judged {
    let failed = rows.iter().filter(|row| row.passed == Some(false)).count();
    let unknown: Vec<&Criterion> = criteria
        .iter()
        .zip(&rows)
        .zip(held)
        .filter(|((_, row), held)| {
            let asked_and_unknown = asks == Asks::Held && held.is_none();
            row.applies != Some(false) && (row.passed.is_none() || asked_and_unknown)
        })
        .map(|((criterion, _), _)| criterion)
        .collect();
    let none_applies = rows.iter().all(|row| row.applies == Some(false));
    let evaluable = if none_applies {
        // It could not have failed.
        Evaluable::No("no criterion applies".to_owned())
    } else if unknown.is_empty() {
        Evaluable::Yes
    } else {
        let inputs: Vec<String> = unknown
            .iter()
            .flat_map(|criterion| {
                let applies = criterion.applies.iter().flat_map(|applies| &applies.inputs);
                criterion.value.inputs.iter().chain(applies).cloned()
            })
            .collect();
        let names: Vec<&str> = unknown
            .iter()
            .map(|criterion| criterion.name.as_str())
            .collect();
        Evaluable::No(why_unknown(approach.row, &inputs).unwrap_or_else(|| {
            let where_ = match asks {
                Asks::At => "at",
                Asks::Held => "at or below",
            };
            format!("unknown {where_} the gate: {}", names.join(", "))
        }))
    };
    let not_held = rows
        .iter()
        .zip(held)
        .filter(|(row, held)| row.applies == Some(true) && **held == Some(false))
        .count();
    let faults = match asks {
        Asks::At => failed,
        Asks::Held => not_held,
    };
    #[allow(clippy::cast_precision_loss)] // a handful of criteria
    let (failures, not_held, count) = (failed as f64, not_held as f64, faults as f64);
    // One criterion: its value is the measure. Several have no common unit: how many failed.
    let worst = match rows.as_slice() {
        _ if none_applies => None,
        [row] if asks == Asks::At => row.value,
        _ if unknown.is_empty() || faults > 0 => Some(count),
        _ => None,
    };
    // One criterion that did not hold is enough; else all that apply must be known to have held.
    let applying: Vec<Option<bool>> = rows
        .iter()
        .zip(held)
        .filter(|(row, _)| row.applies == Some(true))
        .map(|(_, held)| *held)
        .collect();
    let held: Option<bool> = if applying.contains(&Some(false)) {
        Some(false)
    } else {
        (!applying.contains(&None)).then_some(true)
    };
    let mut values: Vec<Option<f64>> = rows.iter().map(|row| row.value).collect();
    values.push(Some(failures));
    values.push(held.map(f64::from));
    values.push(Some(not_held));
    let found = Found {
        start_k: crossing_k,
        end_k: crossing_k,
        values,
        worst,
        worst_k: Some(crossing_k),
        place,
        edge: None,
        partial: !unknown.is_empty(),
    };
    Judged {
        evaluable,
        found: if faults > 0 { vec![found] } else { Vec::new() },
        worst,
        worst_k: worst.map(|_| crossing_k),
        gates: rows,
        stabilised: None,
    }
}

fn nothing(reason: String) -> Judged {
    Judged {
        evaluable: Evaluable::No(reason),
        found: Vec::new(),
        worst: None,
        worst_k: None,
        gates: Vec::new(),
        stabilised: None,
    }
}

fn crossing<'r>(runs: &[RunView<'r>], gate: usize, level: f64) -> Option<Crossing<'r>> {
    // The last crossing, even where a gap hides it: an earlier one is not the gate.
    let known: Vec<RunView<'r>> = runs
        .iter()
        .copied()
        .filter(|run| matches!(run.code, Some(side::ABOVE | side::BELOW | side::PAST)))
        .collect();
    let pair = known
        .windows(2)
        .rev()
        .find(|pair| pair[0].code == Some(side::ABOVE) && pair[1].code != Some(side::ABOVE))?;
    if pair[0].k_last + 1 != pair[1].k_first {
        return None;
    }
    let above = f64::from(pair[0].last(gate)?);
    let below = f64::from(pair[1].first(gate)?);
    let fraction = if above > below {
        (above - level) / (above - below)
    } else {
        0.0
    };
    Some(Crossing {
        above: pair[0],
        below: pair[1],
        fraction,
    })
}

fn not_reached(approach: &ApproachRuns<'_>, runs: &[RunView<'_>], column: &String) -> String {
    let seen = |code: i8| runs.iter().any(|run| run.code == Some(code));
    match (seen(side::ABOVE), seen(side::BELOW) || seen(side::PAST)) {
        (false, false) => {
            why_unknown(approach.row, [column]).unwrap_or_else(|| format!("{column} not known"))
        }
        (true, true) => "no samples at the gate".to_owned(),
        _ => "gate not reached".to_owned(),
    }
}

fn at(crossing: &Crossing<'_>, end: usize, holds: bool) -> Option<f64> {
    if holds {
        return held(crossing, end);
    }
    let above = f64::from(crossing.above.last(end)?);
    let below = f64::from(crossing.below.first(end)?);
    let value = above + crossing.fraction * (below - above);
    // As wide as the samples, so that levels see the same number.
    #[allow(clippy::cast_possible_truncation)]
    let value = value as f32;
    Some(f64::from(value))
}

/// A sample covers the time to the next: at the crossing the earlier one still holds.
fn held(crossing: &Crossing<'_>, end: usize) -> Option<f64> {
    crossing.above.last(end).map(f64::from)
}

/// A criterion watched below its gate.
struct Watch<'r> {
    runs: &'r [RunView<'r>],
    step_s: f64,
}

impl Watch<'_> {
    /// Samples of runs for which `test` holds, and all window samples, within `[from, to)`.
    fn count(&self, from: i32, to: i32, test: impl Fn(i8) -> bool) -> (i32, i32) {
        self.runs.iter().fold((0, 0), |(hits, all), run| {
            let code = run.code.unwrap_or(0);
            let samples = (run.k_last + 1).min(to) - run.k_first.max(from);
            if samples <= 0 || code & check::WINDOW == 0 {
                return (hits, all);
            }
            (hits + if test(code) { samples } else { 0 }, all + samples)
        })
    }

    fn known_around(&self, crossing: &Crossing<'_>, coverage: f64) -> bool {
        #[allow(clippy::cast_possible_truncation)] // a few samples
        let margin = (AROUND_S / self.step_s).round() as i32;
        let (from, to) = (
            crossing.above.k_last - margin + 1,
            crossing.below.k_first + margin,
        );
        let (known, all) = self.count(from, to, |code| code & check::KNOWN != 0);
        f64::from(known) >= coverage * f64::from(all)
    }

    /// Whether no excursion in `[from, to)` lasts longer than the grace time.
    fn held(&self, from: i32, to: i32, grace_s: f64) -> Option<bool> {
        let mut excursion = 0;
        let mut end = from;
        for run in self.runs {
            let (first, last) = (run.k_first.max(from), (run.k_last + 1).min(to));
            if first >= last {
                continue;
            }
            if first != end {
                excursion = 0;
            }
            end = last;
            if run.code.unwrap_or(0) & check::OUTSIDE == 0 {
                excursion = 0;
                continue;
            }
            excursion += last - first;
            if f64::from(excursion) * self.step_s > grace_s {
                return Some(false);
            }
        }
        let (known, all) = self.count(from, to, |code| code & check::KNOWN != 0);
        (all > 0 && known == all).then_some(true)
    }
}
