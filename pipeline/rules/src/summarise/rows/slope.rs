//! `trend_slope`: whether the months of a group rise or fall.

use serde::{Deserialize, Serialize};

/// Rule or family × level × group.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct SlopeRow {
    /// Rule id; null = the whole family.
    pub rule: Option<String>,
    /// Family of the rule.
    pub family: String,
    /// `core`, or `trial`: measured and shown, never flagged.
    pub rule_status: String,
    /// The row counts approaches with an event of at least this level.
    pub at_least_level: String,
    /// `fleet`, `aircraft_type`, `airport`, `runway`.
    pub group_kind: String,
    /// Name of the group.
    pub group: String,
    /// Months used.
    pub months: Option<i64>,
    /// First of them.
    pub from_month: Option<String>,
    /// Last of them.
    pub to_month: Option<String>,
    /// Change of the rate, % a month.
    pub slope_pct_per_month: Option<f64>,
    /// Lower end of its interval.
    pub ci_low: Option<f64>,
    /// Upper end of its interval.
    pub ci_high: Option<f64>,
    /// The same with mix taken out.
    pub standardised_slope_pct: Option<f64>,
    /// p of the slope.
    pub p: Option<f64>,
    /// p adjusted for the number of slopes of this kind of group.
    pub q: Option<f64>,
    /// p of the rank test that has to agree.
    pub mk_p: Option<f64>,
    /// Dispersion of the months around the slope, before it is raised to 1.
    pub phi: Option<f64>,
    /// Dispersion from month to month, of standardised rates; 1 = Poisson.
    pub sigma_z: Option<f64>,
    /// Whether the season is taken out; null without a slope.
    pub season_controlled: Option<bool>,
    /// The rise a month that would have been significant with 80 % power, %.
    pub detectable_pct_per_month: Option<f64>,
    /// `rising`, `falling`; null = no trend shown.
    pub call: Option<String>,
    /// Why no trend is shown; null where one is.
    pub why_no_call: Option<String>,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}
