//! One event that could stand for a topic: how far from the middle of its kind, and what came of it.

use std::collections::BTreeMap;

use super::super::core_events::CoreEvent;

/// Events of one rule and level from which a middle can be told: judgement. Of two each is an end.
const FEWEST: usize = 3;
/// Half of the events lie so near to the middle, as a share of all: they are all typical.
const NEAR: f64 = 0.25;

/// The worst event of one rule on one approach.
#[derive(Debug, Clone, Copy)]
pub(super) struct Candidate<'a> {
    pub(super) of: CoreEvent<'a>,
    /// Distance of its rank from that of the median among the events of its rule and level, as a share of them:
    /// ranks compare whatever the unit, and whether more or less of it is worse. From 0 to a half.
    pub(super) from_median: f64,
    /// Whether it lies in the middle half of enough events.
    pub(super) is_typical: bool,
    /// Whether the approach came out of it: went around, or met the governing gate after it and landed.
    pub(super) recovered: bool,
}

/// The candidates among the events of a topic, by flight, approach and rule.
pub(super) fn candidates<'a>(
    events: &[CoreEvent<'a>],
    governing_gate_ft: f64,
) -> Vec<Candidate<'a>> {
    let mut worst: BTreeMap<(&str, i32, &str), CoreEvent<'a>> = BTreeMap::new();
    for event in events {
        let one = worst.entry(event.key()).or_insert(*event);
        // Of several the worst, of equal ones the first.
        if event.level > one.level {
            *one = *event;
        }
    }
    let mut kinds: BTreeMap<(&str, usize), Vec<f64>> = BTreeMap::new();
    for one in worst.values() {
        let kind = kinds.entry((&one.event.rule, one.level)).or_default();
        kind.extend(one.event.worst);
    }
    let candidate = |of: CoreEvent<'a>| {
        let kind = &kinds[&(of.event.rule.as_str(), of.level)];
        let from_median = of.event.worst.map_or(0.5, |worst| from_median(worst, kind));
        Candidate {
            of,
            from_median,
            is_typical: kind.len() >= FEWEST && from_median <= NEAR,
            recovered: recovered(&of, governing_gate_ft),
        }
    };
    worst.into_values().map(candidate).collect()
}

/// How far the rank of `value` is from the middle of all of them, as a share; equal values share a rank.
#[allow(clippy::cast_precision_loss)] // counts of events
fn from_median(value: f64, all: &[f64]) -> f64 {
    let below = all.iter().filter(|other| **other < value).count() as f64;
    let equal = all.iter().filter(|other| **other == value).count() as f64;
    ((below + equal / 2.0) / all.len() as f64 - 0.5).abs()
}

/// A go-around ends what was wrong. A landing is one where everything the governing gate asks for was right from
/// the gate on, and the event lay above: null says nothing either way, and is no recovery.
fn recovered(of: &CoreEvent<'_>, governing_gate_ft: f64) -> bool {
    match of.row.outcome.as_str() {
        "go_around" | "go_around_touched" => true,
        "landing" | "landing_unseen" => {
            let from_ft = of.row.stabilised_height_ft;
            let settled_ft = from_ft.filter(|from_ft| *from_ft >= governing_gate_ft);
            settled_ft
                .zip(of.event.height_aal_ft)
                .is_some_and(|(settled_ft, event_ft)| event_ft >= settled_ft)
        }
        _ => false,
    }
}
