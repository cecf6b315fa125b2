//! `trend_monthly`: each month of each group, and whether it differs from those before.

use serde::{Deserialize, Serialize};

/// Rule or family × level × month × group.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct TrendRow {
    /// Rule id; null = the whole family.
    pub rule: Option<String>,
    /// Version of the rule; null for a family.
    pub rule_version: Option<u32>,
    /// Family of the rule.
    pub family: String,
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
    /// Dispersion used for interval and test; null = not estimated.
    pub phi: Option<f64>,
    /// Approaches with an event expected at the baseline's rate for this month's mix of types, runways and
    /// kinds of approach; null = nothing to compare with.
    pub expected: Option<f64>,
    /// Observed over expected; null = not computed.
    pub standardised_ratio: Option<f64>,
    /// Rate of the baseline per 1,000; null = nothing to compare with.
    pub baseline_rate: Option<f64>,
    /// Approaches of the baseline on which the rule could have fired; null = nothing to compare with.
    pub baseline_evaluable: Option<i64>,
    /// Those with an event of at least the level.
    pub baseline_approaches_with_event: Option<i64>,
    /// Months in the baseline.
    pub baseline_months: Option<i64>,
    /// Whether the baseline is of the same season; null without a baseline.
    pub season_controlled: Option<bool>,
    /// Rate over baseline rate; null = not computed, or no event in the baseline.
    pub ratio: Option<f64>,
    /// Lower end of the ratio's interval.
    pub ratio_low: Option<f64>,
    /// Upper end of the ratio's interval; null where there is none.
    pub ratio_high: Option<f64>,
    /// p of month against baseline; null = not tested.
    pub p: Option<f64>,
    /// p adjusted for the number of comparisons; null = took no part.
    pub q: Option<f64>,
    /// `higher`, `lower`; null = neither is shown.
    pub signal: Option<String>,
    /// Why there is no signal; null where there is one.
    pub why_no_signal: Option<String>,
    /// The rise this month could have shown with the stated power, %.
    pub detectable_rise_pct: Option<f64>,
    /// Lower limit of the chart per 1,000; null = none.
    pub chart_low: Option<f64>,
    /// Upper limit of the chart per 1,000; null = none.
    pub chart_high: Option<f64>,
    /// What the chart says: `above`, `below`, `run above`, `run below`; advisory. Null = nothing.
    pub chart: Option<String>,
    /// Hash of the limits that applied in the fleet.
    pub limits_hash: String,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}
