//! How sure the verdicts of each rule are: the flip test, rule by rule.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::{FEW_FLIGHTS, SummaryOptions};
use crate::rows::RobustnessRow;

/// One rule. Null is unknown or suppressed; `suppressed` tells which are the latter.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RuleRobustnessRow {
    /// Rule id.
    pub rule: String,
    /// Events that were judged again.
    pub events: Option<i64>,
    /// Mean share of perturbed judgements that still show them.
    pub events_share: Option<f64>,
    /// Clear approaches nearest to an event that were judged again.
    pub clear: Option<i64>,
    /// Mean share of perturbed judgements that are still clear.
    pub clear_share: Option<f64>,
    /// Verdicts of a gate's criteria that were judged again, on the same approaches.
    pub gates: Option<i64>,
    /// Mean share of perturbed judgements that come to the same.
    pub gates_share: Option<f64>,
    /// The channel that flips most verdicts more often than any other; the first by name of several.
    pub flips_most: Option<String>,
    /// Why numbers are withheld; null where none are.
    pub suppressed: Option<String>,
}

/// One row a rule of which verdicts were judged again, in the order of rule ids.
#[must_use]
pub fn robustness(rows: &[RobustnessRow], options: &SummaryOptions) -> Vec<RuleRobustnessRow> {
    let mut rules: BTreeMap<&str, Vec<&RobustnessRow>> = BTreeMap::new();
    for row in rows.iter().filter(|row| row.share.is_some()) {
        rules.entry(&row.rule).or_default().push(row);
    }
    let rules = rules.into_iter();
    rules.map(|(rule, rows)| of(rule, &rows, options)).collect()
}

fn of(rule: &str, rows: &[&RobustnessRow], options: &SummaryOptions) -> RuleRobustnessRow {
    let mut withheld = false;
    let mut shown: Vec<&RobustnessRow> = Vec::new();
    let mut part = |verdict: &str| -> (Option<i64>, Option<f64>) {
        let own = rows.iter().filter(|row| row.verdict == verdict).copied();
        let own: Vec<&RobustnessRow> = own.collect();
        let flights: BTreeSet<&str> = own.iter().map(|row| row.flight_id.as_str()).collect();
        if own.is_empty() {
            return (None, None);
        }
        if flights.len() < options.min_flights {
            withheld = true;
            return (None, None);
        }
        #[allow(clippy::cast_precision_loss)] // counts of verdicts
        let mean = own.iter().filter_map(|row| row.share).sum::<f64>() / own.len() as f64;
        let count = i64::try_from(own.len()).ok();
        shown.extend(own);
        (count, Some(mean))
    };
    let (events, events_share) = part("event");
    let (clear, clear_share) = part("clear");
    let (gates, gates_share) = part("gate");
    let mut flips: BTreeMap<&str, usize> = BTreeMap::new();
    for channel in shown.iter().filter_map(|row| row.flips_most.as_deref()) {
        *flips.entry(channel).or_default() += 1;
    }
    let most = flips.iter().max_by(|a, b| a.1.cmp(b.1).then(b.0.cmp(a.0)));
    RuleRobustnessRow {
        rule: rule.to_owned(),
        events,
        events_share,
        clear,
        clear_share,
        gates,
        gates_share,
        flips_most: most.map(|(channel, _)| (*channel).to_owned()),
        suppressed: withheld.then(|| FEW_FLIGHTS.to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(flight: usize, verdict: &str, share: f64, channel: Option<&str>) -> RobustnessRow {
        RobustnessRow {
            flight_id: format!("f{flight}"),
            approach_no: 1,
            rule: "r".to_owned(),
            verdict: verdict.to_owned(),
            criterion: None,
            start_s: None,
            variants: 4,
            survived: 0,
            share: Some(share),
            flips_most: channel.map(str::to_owned),
        }
    }

    #[test]
    fn what_too_few_flights_show_is_withheld_and_flips_no_channel() {
        let mut rows: Vec<RobustnessRow> = (0..20)
            .map(|n| {
                let share = if n < 10 { 0.5 } else { 1.0 };
                row(n, "clear", share, (n < 10).then_some("cas_kt"))
            })
            .collect();
        // Twelve events of nine flights.
        rows.extend((0..12).map(|n| row(n % 9, "event", 0.25, Some("roll_deg"))));
        let shown = robustness(&rows, &SummaryOptions::default());
        assert_eq!(
            shown,
            [RuleRobustnessRow {
                rule: "r".to_owned(),
                events: None,
                events_share: None,
                clear: Some(20),
                clear_share: Some(0.75),
                gates: None,
                gates_share: None,
                flips_most: Some("cas_kt".to_owned()),
                suppressed: Some(FEW_FLIGHTS.to_owned()),
            }]
        );
        rows.push(row(9, "event", 0.25, None));
        let shown = robustness(&rows, &SummaryOptions::default());
        assert_eq!(
            (shown[0].events, shown[0].events_share),
            (Some(13), Some(0.25))
        );
        assert_eq!(shown[0].flips_most.as_deref(), Some("roll_deg"));
        assert_eq!(shown[0].suppressed, None);
    }
}
