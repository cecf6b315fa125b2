//! Which verdicts survive what was changed.

use std::collections::BTreeMap;

use super::select::{Subject, What};
use crate::detect::Detected;
use crate::rows::{EventRow, RobustnessRow};

/// An event is still there when one of its rule begins or ends no farther away than this: judgement, wide
/// enough for a lag and narrow enough not to take another event for it.
const WITHIN_S: f64 = 10.0;

/// What one variant showed.
#[derive(Default)]
pub(super) struct Shown {
    events: Vec<EventRow>,
    passed: BTreeMap<(String, String), Option<bool>>,
}

/// What was detected, dealt out by the number that stands for the flight.
pub(super) fn by_variant(detected: Detected, variants: usize) -> Vec<Shown> {
    let mut shown: Vec<Shown> = std::iter::repeat_with(Shown::default)
        .take(variants)
        .collect();
    for event in detected.events {
        let of = event.flight_id.parse().ok();
        if let Some(one) = of.and_then(|of: usize| shown.get_mut(of)) {
            one.events.push(event);
        }
    }
    for gate in detected.gates {
        let of = gate.flight_id.parse().ok();
        if let Some(one) = of.and_then(|of: usize| shown.get_mut(of)) {
            one.passed.insert((gate.rule, gate.criterion), gate.passed);
        }
    }
    shown
}

/// Counts survivors over the variants that a verdict was asked of, each with the channel that was changed.
pub(super) fn count<'v>(
    subject: &Subject<'_>,
    asked: impl Iterator<Item = (&'v str, &'v Shown)>,
) -> RobustnessRow {
    let (mut variants, mut survived) = (0, 0);
    let mut flips: BTreeMap<&str, i32> = BTreeMap::new();
    for (channel, shown) in asked {
        variants += 1;
        if survives(subject, shown) {
            survived += 1;
        } else {
            *flips.entry(channel).or_default() += 1;
        }
    }
    // The first by name of those that flip it as often.
    let most = flips.iter().max_by(|a, b| a.1.cmp(b.1).then(b.0.cmp(a.0)));
    let (start_s, criterion) = match subject.what {
        What::Event(event) => (event.start_s, None),
        What::Clear => (None, None),
        What::Gate(gate) => (gate.gate_s, Some(gate.criterion.clone())),
    };
    RobustnessRow {
        flight_id: subject.flight_id.to_owned(),
        approach_no: subject.approach_no,
        rule: subject.rule.to_owned(),
        verdict: subject.verdict().to_owned(),
        criterion,
        start_s,
        variants,
        survived,
        share: (variants > 0).then(|| f64::from(survived) / f64::from(variants)),
        flips_most: most.map(|(channel, _)| (*channel).to_owned()),
    }
}

fn survives(subject: &Subject<'_>, shown: &Shown) -> bool {
    let mut events = shown.events.iter().filter(|e| e.rule == subject.rule);
    match subject.what {
        What::Event(event) => events.any(|other| overlap(event, other)),
        What::Clear => events.next().is_none(),
        What::Gate(gate) => {
            let key = (gate.rule.clone(), gate.criterion.clone());
            shown.passed.get(&key).copied().flatten() == gate.passed
        }
    }
}

/// Whether two events of one rule may be the same; where their times are not known, they may.
fn overlap(one: &EventRow, other: &EventRow) -> bool {
    let before = |start: Option<f64>, end: Option<f64>| match (start, end) {
        (Some(start), Some(end)) => start <= end + WITHIN_S,
        _ => true,
    };
    before(one.start_s, other.end_s) && before(other.start_s, one.end_s)
}
