//! `precision`: of the events that people have looked at, how many stand.
//!
//! Known only of what was looked at, which is mostly the worst: the share says little of the others.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};
use stats::{Counted, wilson};

use super::count::LEVELS;
use super::{FEW_FLIGHTS, GIVES_AWAY, SecondLookRow, SummaryInput, SummaryOptions};

/// Rule × level.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PrecisionRow {
    /// Rule id.
    pub rule: String,
    /// Approaches with an event of at least this level.
    pub at_least_level: String,
    /// Approaches of the rule that `second_look` lists.
    pub listed: i64,
    /// Approaches with a verdict.
    pub looked_at: Option<i64>,
    /// Those of which the event stands.
    pub stands: Option<i64>,
    /// `stands` / `looked_at`.
    pub precision: Option<f64>,
    /// Lower end of its interval.
    pub ci_low: Option<f64>,
    /// Upper end of its interval.
    pub ci_high: Option<f64>,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}

/// The rows of every rule that is listed or has a verdict, and how many verdicts are about no event.
pub(super) fn rows(
    input: &SummaryInput<'_>,
    listed: &[SecondLookRow],
    options: &SummaryOptions,
) -> (Vec<PrecisionRow>, usize) {
    let mut worst: BTreeMap<(&str, i32, &str), usize> = BTreeMap::new();
    for event in input.events {
        let key = (
            event.flight_id.as_str(),
            event.approach_no,
            event.rule.as_str(),
        );
        if let Some(level) = LEVELS.iter().position(|level| *level == event.level) {
            let own = worst.entry(key).or_default();
            *own = level.max(*own);
        }
    }
    let mut without_event = 0;
    // By rule: flight, level and whether it stands.
    let mut looked: BTreeMap<&str, Vec<(&str, usize, bool)>> = BTreeMap::new();
    for row in input.verdicts.iter().filter(|row| row.verdict != "open") {
        let key = (row.flight_id.as_str(), row.approach_no, row.rule.as_str());
        match worst.get(&key) {
            Some(level) => looked.entry(&row.rule).or_default().push((
                &row.flight_id,
                *level,
                row.verdict == "stands",
            )),
            None => without_event += 1,
        }
    }
    let named = listed.iter().map(|row| row.rule.as_str());
    let rules: BTreeSet<&str> = named.chain(looked.keys().copied()).collect();
    let rows = rules.into_iter().flat_map(|rule| {
        let own = looked.get(rule).map(Vec::as_slice).unwrap_or_default();
        let hidden = hidden(own, options.min_flights);
        (0..LEVELS.len()).map(move |level| row(rule, level, own, hidden[level], listed, options))
    });
    (rows.collect(), without_event)
}

/// Why each level is withheld: few flights stand behind it, or behind what it lacks of the last level shown.
fn hidden(
    looked: &[(&str, usize, bool)],
    min_flights: usize,
) -> [Option<&'static str>; LEVELS.len()] {
    let mut shown: Option<usize> = None;
    std::array::from_fn(|level| {
        let own = looked.iter().filter(|(_, own, _)| *own >= level);
        let flights = own
            .map(|(flight, ..)| *flight)
            .collect::<BTreeSet<_>>()
            .len();
        let why = match shown {
            _ if (1..min_flights).contains(&flights) => Some(FEW_FLIGHTS),
            Some(more) if (1..min_flights).contains(&(more - flights)) => Some(GIVES_AWAY),
            _ => None,
        };
        if why.is_none() {
            shown = Some(flights);
        }
        why
    })
}

fn row(
    rule: &str,
    level: usize,
    looked: &[(&str, usize, bool)],
    hidden: Option<&'static str>,
    listed: &[SecondLookRow],
    options: &SummaryOptions,
) -> PrecisionRow {
    let is_listed = |row: &&SecondLookRow| {
        let own = LEVELS.iter().position(|name| *name == row.level);
        row.rule == rule && own >= Some(level)
    };
    let own = || looked.iter().filter(|(_, own, _)| *own >= level);
    let (looked_at, stands) = (own().count(), own().filter(|(.., stands)| *stands).count());
    let shown = hidden.is_none();
    #[allow(clippy::cast_precision_loss)] // counts of approaches
    let counted = Counted::new(stands as f64, looked_at as f64);
    let share = wilson(counted, options.confidence, None).filter(|_| shown);
    let number = |count: usize| i64::try_from(count).ok().filter(|_| shown);
    PrecisionRow {
        rule: rule.to_owned(),
        at_least_level: LEVELS[level].to_owned(),
        listed: i64::try_from(listed.iter().filter(is_listed).count()).unwrap_or(i64::MAX),
        looked_at: number(looked_at),
        stands: number(stands),
        precision: share.map(|share| share.share),
        ci_low: share.map(|share| share.low),
        ci_high: share.map(|share| share.high),
        suppressed: hidden.map(str::to_owned),
    }
}
