//! Episodes: for how long, and how badly, did a condition hold?
//!
//! In this order: classify samples, run the state machine (`when` wins over `release`), bridge
//! breaks that are unknown or off, then hold. Bridged time counts in the span of the event, not in
//! the seconds that `hold` tests.

use super::{ApproachRuns, Evaluable, Found, Judged, Setting, why_unknown};
use crate::compile::{CARRIED_PLACE, Places, bit};
use crate::rule_file::{CheckedRule, MeasureKind};
use crate::runs::{ExtremeView, RunView};

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum State {
    Outside,
    Unknown,
    On,
    Between,
    Off,
}

/// `released` is the bit of the rule's release; without one, whatever is known and not on is off.
fn state(run: &RunView<'_>, released: Option<i8>) -> State {
    let code = run.code.unwrap_or(0);
    let has = |bit: i8| code & bit != 0;
    if !has(bit::WINDOW) {
        if has(bit::UNSURE) {
            State::Unknown
        } else {
            State::Outside
        }
    } else if has(bit::ON) {
        State::On
    } else if !has(bit::KNOWN) {
        State::Unknown
    } else if released.is_none_or(has) {
        State::Off
    } else {
        State::Between
    }
}

fn samples(run: &RunView<'_>) -> i64 {
    i64::from(run.k_last - run.k_first) + 1
}

/// A stretch in which the condition held, as indices of runs.
struct Span {
    runs: Vec<usize>,
    start_k: i32,
    end_k: i32,
    active: i64,
}

/// `None` for a rule that is no episode.
pub(super) fn judge(
    approach: &ApproachRuns<'_>,
    setting: &Setting<'_>,
    hold_s: f64,
    bridge_s: f64,
) -> Option<Judged> {
    let rule = setting.rule;
    let Places::Episode {
        slot,
        ends,
        released,
        certain,
    } = setting.places
    else {
        return None;
    };
    let runs = &approach.slots[*slot];
    let states: Vec<State> = runs.iter().map(|run| state(run, *released)).collect();
    let bridge = bridge_s / approach.step_s;
    let mut spans = bridged(spans(runs, &states, bridge), runs, &states, bridge);
    #[allow(clippy::cast_precision_loss)] // samples of one approach
    spans.retain(|span| span.active as f64 * approach.step_s >= hold_s);

    let window: Vec<RunView<'_>> = runs
        .iter()
        .copied()
        .filter(|run| run.code.unwrap_or(0) & bit::WINDOW != 0)
        .collect();
    let worst = extreme(rule, &window);
    let found = spans
        .iter()
        .map(|span| found(rule, runs, span, ends, *certain))
        .collect();
    Some(Judged {
        evaluable: evaluable(approach, rule, runs),
        found,
        worst: worst.map(|extreme| f64::from(extreme.value)),
        worst_k: worst.map(|extreme| f64::from(extreme.k)),
        gates: Vec::new(),
        stabilised: None,
    })
}

/// The state machine. Unknown samples, up to `bridge` of them, leave it as it was: what comes after
/// them may go on between `when` and `release`.
fn spans(runs: &[RunView<'_>], states: &[State], bridge: f64) -> Vec<Span> {
    let mut spans: Vec<Span> = Vec::new();
    let mut open = false;
    let mut unknown = 0;
    for (index, (run, state)) in runs.iter().zip(states).enumerate() {
        if index > 0 {
            // Samples that are not there are unknown.
            unknown += i64::from(run.k_first - runs[index - 1].k_last) - 1;
        }
        if *state == State::Unknown {
            unknown += samples(run);
            continue;
        }
        #[allow(clippy::cast_precision_loss)] // samples of one approach
        let goes_on = open && unknown as f64 <= bridge;
        unknown = 0;
        match (state, goes_on, spans.last_mut()) {
            (State::On | State::Between, true, Some(span)) => {
                span.runs.push(index);
                span.end_k = run.k_last + 1;
                span.active += samples(run);
            }
            (State::On, _, _) => {
                spans.push(Span {
                    runs: vec![index],
                    start_k: run.k_first,
                    end_k: run.k_last + 1,
                    active: samples(run),
                });
                open = true;
            }
            _ => open = false,
        }
    }
    spans
}

/// Joins neighbours over breaks of at most `bridge` samples that do not leave the window.
fn bridged(spans: Vec<Span>, runs: &[RunView<'_>], states: &[State], bridge: f64) -> Vec<Span> {
    let mut joined: Vec<Span> = Vec::with_capacity(spans.len());
    for span in spans {
        if let Some(last) = joined.last_mut() {
            let short = f64::from(span.start_k - last.end_k) <= bridge;
            let inside = runs
                .iter()
                .zip(states)
                .filter(|(run, _)| run.k_first >= last.end_k && run.k_last < span.start_k)
                .all(|(_, state)| *state != State::Outside);
            if short && inside {
                last.runs.extend(span.runs);
                last.end_k = span.end_k;
                last.active += span.active;
                continue;
            }
        }
        joined.push(span);
    }
    joined
}

fn evaluable(approach: &ApproachRuns<'_>, rule: &CheckedRule, runs: &[RunView<'_>]) -> Evaluable {
    let (mut window, mut known, mut unsure) = (0_i64, 0_i64, 0_i64);
    for run in runs {
        let code = run.code.unwrap_or(0);
        if code & bit::WINDOW != 0 {
            window += samples(run);
            if code & bit::KNOWN != 0 {
                known += samples(run);
            }
        } else if code & bit::UNSURE != 0 {
            unsure += samples(run);
        }
    }
    if window + unsure == 0 {
        return Evaluable::No("window not reached".to_owned());
    }
    #[allow(clippy::cast_precision_loss)] // samples of one approach
    let coverage = known as f64 / (window + unsure) as f64;
    if coverage >= rule.coverage {
        return Evaluable::Yes;
    }
    let reason = why_unknown(approach.row, &rule.required_inputs())
        .unwrap_or_else(|| "inputs known on too little of the window".to_owned());
    Evaluable::No(reason)
}

/// The extreme of the deciding measure over some runs; ties go to the earliest sample.
fn extreme<'r>(rule: &CheckedRule, runs: &[RunView<'r>]) -> Option<ExtremeView<'r>> {
    let (value, measure) = rule
        .measures
        .iter()
        .filter(|measure| matches!(measure.kind, MeasureKind::Min | MeasureKind::Max))
        .enumerate()
        .find(|(_, measure)| measure.name == "worst")?;
    fold(runs, value, measure.kind)
}

fn fold<'r>(runs: &[RunView<'r>], value: usize, kind: MeasureKind) -> Option<ExtremeView<'r>> {
    let mut best: Option<ExtremeView<'r>> = None;
    for run in runs {
        let candidate = match kind {
            MeasureKind::Min => run.min(value),
            _ => run.max(value),
        };
        let Some(candidate) = candidate else { continue };
        let better = best.is_none_or(|best| match kind {
            MeasureKind::Min => candidate.value < best.value,
            _ => candidate.value > best.value,
        });
        if better {
            best = Some(candidate);
        }
    }
    best
}

fn found(
    rule: &CheckedRule,
    all: &[RunView<'_>],
    span: &Span,
    ends: &[usize],
    certain: Option<i8>,
) -> Found {
    let runs: Vec<RunView<'_>> = span.runs.iter().map(|index| all[*index]).collect();
    let worst = extreme(rule, &runs);
    let carried = |place: usize| {
        worst
            .and_then(|extreme| extreme.carried(place))
            .map(f64::from)
    };
    let (mut value, mut end, mut at_worst) = (0, 0, CARRIED_PLACE.len());
    let mut values = Vec::with_capacity(rule.measures.len());
    for measure in &rule.measures {
        values.push(match measure.kind {
            MeasureKind::AtWorst => {
                at_worst += 1;
                carried(at_worst - 1)
            }
            MeasureKind::First | MeasureKind::Last => {
                end += 1;
                let place = ends[end - 1];
                let number = match measure.kind {
                    MeasureKind::First => runs.first().and_then(|run| run.first(place)),
                    _ => runs.last().and_then(|run| run.last(place)),
                };
                number.map(f64::from)
            }
            MeasureKind::Min | MeasureKind::Max => {
                value += 1;
                let extreme = fold(&runs, value - 1, measure.kind);
                extreme.map(|extreme| f64::from(extreme.value))
            }
        });
    }
    let on = |run: &&RunView<'_>| run.code.unwrap_or(0) & bit::ON != 0;
    let edge = certain.map(|certain| {
        let mut on = runs.iter().filter(on);
        !on.any(|run| run.code.unwrap_or(0) & certain != 0)
    });
    let unknown = runs
        .iter()
        .filter(on)
        .any(|run| run.code.unwrap_or(0) & bit::KNOWN == 0);
    Found {
        start_k: f64::from(span.start_k),
        end_k: f64::from(span.end_k),
        values,
        worst: worst.map(|extreme| f64::from(extreme.value)),
        worst_k: worst.map(|extreme| f64::from(extreme.k)),
        place: [carried(0), carried(1)],
        edge,
        partial: unknown,
    }
}
