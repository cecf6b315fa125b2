//! The rows of the tables that may be passed round. Null is not computed, unknown or suppressed;
//! `suppressed` tells which cells are the latter.

use serde::{Deserialize, Serialize};

use super::count::{Cells, LEVELS, Tally};
use super::group::Group;
use super::{Shown, SummaryOptions};

/// Rule × level × group over all months.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RateRow {
    /// Rule id.
    pub rule: String,
    /// Version of the rule.
    pub rule_version: u32,
    /// `core`, or `trial`: measured and shown, never flagged.
    pub rule_status: String,
    /// The row counts approaches with an event of at least this level.
    pub at_least_level: String,
    /// `fleet`, `aircraft_type`, `airport`, `runway`.
    pub group_kind: String,
    /// Name of the group; `unknown` where the record does not tell.
    pub group: String,
    /// Line approaches in the group.
    pub approaches: Option<i64>,
    /// Those on which the rule could have fired: the denominator.
    pub evaluable: Option<i64>,
    /// Those with an event of at least the level.
    pub approaches_with_event: Option<i64>,
    /// Events of at least the level, edge events left out.
    pub events: Option<i64>,
    /// Edge events of at least the level.
    pub events_edge: Option<i64>,
    /// 1,000 × `approaches_with_event` / `evaluable`.
    pub rate_per_1000: Option<f64>,
    /// Lower end of the interval.
    pub ci_low: Option<f64>,
    /// Upper end of the interval.
    pub ci_high: Option<f64>,
    /// Dispersion used for the interval; null = not estimated.
    pub phi: Option<f64>,
    /// Hash of the limits that applied in the fleet.
    pub limits_hash: String,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}

/// Rule × level × month × group.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TrendRow {
    /// Rule id.
    pub rule: String,
    /// Version of the rule.
    pub rule_version: u32,
    /// `core`, or `trial`: measured and shown, never flagged.
    pub rule_status: String,
    /// The row counts approaches with an event of at least this level.
    pub at_least_level: String,
    /// `YYYY-MM`.
    pub month: String,
    /// `fleet`, `aircraft_type`, `airport`, `runway`.
    pub group_kind: String,
    /// Name of the group.
    pub group: String,
    /// Approaches on which the rule could have fired: the denominator.
    pub evaluable: Option<i64>,
    /// Those with an event of at least the level.
    pub approaches_with_event: Option<i64>,
    /// Events of at least the level, edge events left out.
    pub events: Option<i64>,
    /// Edge events of at least the level.
    pub events_edge: Option<i64>,
    /// 1,000 × `approaches_with_event` / `evaluable`.
    pub rate_per_1000: Option<f64>,
    /// Lower end of the interval.
    pub ci_low: Option<f64>,
    /// Upper end of the interval.
    pub ci_high: Option<f64>,
    /// Dispersion used for the interval; null = not estimated.
    pub phi: Option<f64>,
    /// Events expected from the mix of types and runways; null = not computed.
    pub expected: Option<f64>,
    /// Observed over expected; null = not computed.
    pub standardised_ratio: Option<f64>,
    /// Rate of the months before; null = not computed.
    pub baseline_rate: Option<f64>,
    /// Rate over baseline rate; null = not computed.
    pub ratio: Option<f64>,
    /// Lower end of the ratio's interval.
    pub ratio_low: Option<f64>,
    /// Upper end of the ratio's interval.
    pub ratio_high: Option<f64>,
    /// p of month against baseline; null = not computed.
    pub p: Option<f64>,
    /// p adjusted for the number of comparisons.
    pub q: Option<f64>,
    /// `higher`, `lower`; null = not computed.
    pub signal: Option<String>,
    /// Why there is no signal.
    pub why_no_signal: Option<String>,
    /// The rise this month could have shown with 80 % power.
    pub detectable_rise_pct: Option<f64>,
    /// Hash of the limits that applied in the fleet.
    pub limits_hash: String,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}

/// Airport (× runway) × rule, over all months.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HotspotRow {
    /// Airport.
    pub airport: String,
    /// Runway end; null = the whole airport.
    pub runway: Option<String>,
    /// Rule id.
    pub rule: String,
    /// `core`, or `trial`: measured and shown, never flagged.
    pub rule_status: String,
    /// Approaches on which the rule could have fired.
    pub evaluable: Option<i64>,
    /// Those with an event of any level.
    pub approaches_with_event: Option<i64>,
    /// 1,000 × `approaches_with_event` / `evaluable`.
    pub rate_per_1000: Option<f64>,
    /// Lower end of the interval.
    pub ci_low: Option<f64>,
    /// Upper end of the interval.
    pub ci_high: Option<f64>,
    /// Events expected from the mix of types; null = not computed.
    pub expected: Option<f64>,
    /// Observed over expected; null = not computed.
    pub standardised_ratio: Option<f64>,
    /// Rate per 1,000 shrunk towards that of all airports.
    pub shrunk_rate: Option<f64>,
    /// Lower 5 % of the shrunk rate: what the rank goes by.
    pub shrunk_low_5pct: Option<f64>,
    /// Probability that the true rate is above that of all airports.
    pub prob_above_fleet: Option<f64>,
    /// Probability that it is above 1.5 times that of all airports.
    pub prob_above_1_5x: Option<f64>,
    /// `hot spot`, `watch`, `not elevated`, `insufficient data`; null for a rule on trial.
    pub class: Option<String>,
    /// Rank among the eligible; 1 is the highest.
    pub rank: Option<i64>,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}

/// Rule × month × group: on how much could the rule be judged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CoverageRow {
    /// Rule id.
    pub rule: String,
    /// `YYYY-MM`.
    pub month: String,
    /// `fleet`, `aircraft_type`, `airport`, `runway`.
    pub group_kind: String,
    /// Name of the group.
    pub group: String,
    /// Line approaches in the cell.
    pub approaches: Option<i64>,
    /// Those on which the rule could have fired.
    pub evaluable: Option<i64>,
    /// `evaluable` / `approaches`.
    pub share: Option<f64>,
    /// The most frequent reasons why not, with counts.
    pub top_reasons: Option<String>,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}

fn withheld(hidden: Option<&'static str>) -> Option<String> {
    hidden.map(str::to_owned)
}

fn limits_hash(cells: &Cells) -> String {
    let mut hasher = blake3::Hasher::new();
    for hash in &cells.limits {
        hasher.update(hash.as_bytes());
        hasher.update(b"\n");
    }
    hasher.finalize().to_hex()[..16].to_owned()
}

impl RateRow {
    #[allow(clippy::too_many_arguments)] // the parts of one row
    pub(super) fn new(
        cells: &Cells,
        (rule, status): (&str, &str),
        group: &Group,
        tally: &Tally,
        level: usize,
        shown: &Shown,
        phi: Option<f64>,
        unseen: bool,
    ) -> Self {
        Self {
            rule: rule.to_owned(),
            rule_version: cells.version,
            rule_status: status.to_owned(),
            at_least_level: LEVELS[level].to_owned(),
            group_kind: group.kind().to_owned(),
            group: group.name(),
            approaches: (shown.hidden.is_none() && !unseen).then_some(tally.approaches),
            evaluable: shown.evaluable,
            approaches_with_event: shown.approaches_with_event,
            events: shown.events,
            events_edge: shown.events_edge,
            rate_per_1000: shown.rate.map(|rate| rate.per_1000),
            ci_low: shown.rate.map(|rate| rate.low),
            ci_high: shown.rate.map(|rate| rate.high),
            phi,
            limits_hash: limits_hash(cells),
            suppressed: withheld(shown.hidden),
        }
    }
}

impl TrendRow {
    pub(super) fn new(
        cells: &Cells,
        (rule, status): (&str, &str),
        (group, month): (&Group, &str),
        _tally: &Tally,
        level: usize,
        shown: &Shown,
        phi: Option<f64>,
    ) -> Self {
        Self {
            rule: rule.to_owned(),
            rule_version: cells.version,
            rule_status: status.to_owned(),
            at_least_level: LEVELS[level].to_owned(),
            month: month.to_owned(),
            group_kind: group.kind().to_owned(),
            group: group.name(),
            evaluable: shown.evaluable,
            approaches_with_event: shown.approaches_with_event,
            events: shown.events,
            events_edge: shown.events_edge,
            rate_per_1000: shown.rate.map(|rate| rate.per_1000),
            ci_low: shown.rate.map(|rate| rate.low),
            ci_high: shown.rate.map(|rate| rate.high),
            phi,
            expected: None,
            standardised_ratio: None,
            baseline_rate: None,
            ratio: None,
            ratio_low: None,
            ratio_high: None,
            p: None,
            q: None,
            signal: None,
            why_no_signal: None,
            detectable_rise_pct: None,
            limits_hash: limits_hash(cells),
            suppressed: withheld(shown.hidden),
        }
    }
}

impl CoverageRow {
    pub(super) fn new(
        rule: &str,
        (group, month): (&Group, &str),
        tally: &Tally,
        hidden: Option<&'static str>,
        options: &SummaryOptions,
    ) -> Self {
        #[allow(clippy::cast_precision_loss)] // counts of approaches
        let share = tally.evaluable as f64 / tally.approaches as f64;
        Self {
            rule: rule.to_owned(),
            month: month.to_owned(),
            group_kind: group.kind().to_owned(),
            group: group.name(),
            approaches: hidden.is_none().then_some(tally.approaches),
            evaluable: hidden.is_none().then_some(tally.evaluable),
            share: hidden.is_none().then_some(share),
            top_reasons: hidden
                .is_none()
                .then(|| tally.top_reasons(options.min_flights)),
            suppressed: withheld(hidden),
        }
    }
}
