//! Rules: their totals, what they are for, and their months.

use super::{Precision, RateCell};
use serde::Serialize;

/// One rule over all months covered.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct RuleLine {
    /// The rule's id, also its file name.
    pub id: String,
    /// What it finds, in words.
    pub title: String,
    /// Family it belongs to.
    pub family: String,
    /// Why it matters.
    pub why: String,
    /// Where it comes from.
    pub source: String,
    /// Version of its meaning.
    pub version: u32,
    /// On trial: its rates are shown, apart from the others, and nothing of it is flagged.
    pub trial: bool,
    /// Where its limits come from.
    pub limits_status: LimitsStatus,
    /// Its limits in force.
    pub limits: Vec<LimitLine>,
    /// Approaches in scope, evaluable or not.
    pub approaches: u64,
    /// Evaluable ÷ in scope, 0 to 1; none where nothing is in scope.
    pub coverage_share: Option<f64>,
    /// Events of any level.
    pub cell: RateCell,
    /// Events of at least the level named, rising.
    pub by_level: Vec<LevelLine>,
    /// Why approaches were not evaluable, most frequent first.
    pub not_evaluable: Vec<ReasonLine>,
    /// What people made of its events; none where nobody has looked at one.
    pub precision: Option<Precision>,
}

/// Whose limits a rule uses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub enum LimitsStatus {
    /// Invented for the demo: not for use.
    #[default]
    Invented,
    /// Entered by the operator from its own manual and procedures.
    Operator,
    /// The rule has no limit of its own.
    NoLimits,
}

/// One limit of a rule.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct LimitLine {
    /// Its name; carries the unit.
    pub name: String,
    /// Its value.
    pub value: f64,
}

/// Severity of an event.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub enum Level {
    /// Least severe.
    Low,
    /// Between the two.
    Medium,
    /// Most severe.
    High,
}

/// A rule's events from one level up.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LevelLine {
    /// Events of at least this level are counted.
    pub at_least: Level,
    /// Approaches with such an event; same denominator as the rule.
    pub cell: RateCell,
}

/// One reason why a rule could not be evaluated.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct ReasonLine {
    /// In words, such as "`flap_lever` not recorded".
    pub reason: String,
    /// Approaches it applies to; none where not to be shown.
    pub approaches: Option<u64>,
}

/// One rule by month.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct RuleTrend {
    /// The rule's id.
    pub rule_id: String,
    /// Its title.
    pub title: String,
    /// Whether it is a family of rules rather than a rule; `rule_id` is its name then.
    pub is_family: bool,
    /// One point a month; a month without any approach may be left out.
    pub points: Vec<MonthPoint>,
    /// What the trend test says, as one sentence; shown as given.
    pub statement: Option<String>,
    /// The trend over all months, where one is called.
    pub slope: Option<SlopeCall>,
    /// A trend that is not called, although its own interval leaves no change out: one of many looked at.
    pub near: Option<SlopeCall>,
    /// The latest month against those before it.
    pub latest: Option<MonthTest>,
    /// Changes made on purpose, to mark on the picture.
    pub interventions: Vec<Intervention>,
}

/// A rate that goes one way over the months.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct SlopeCall {
    /// Which way, in words.
    pub call: String,
    /// Change of the rate, % a month.
    pub pct_per_month: f64,
    /// Lower end of its 95 % interval.
    pub low: f64,
    /// Upper end of it.
    pub high: f64,
}

/// One month of one rule.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct MonthPoint {
    /// `YYYY-MM`.
    pub month: String,
    /// Its figures.
    pub cell: RateCell,
    /// On which side of its chart the month lies, in words; advisory.
    pub beyond_chart: Option<String>,
}

/// Result of the test of one month against the baseline before it.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct MonthTest {
    /// Month tested, `YYYY-MM`.
    pub month: String,
    /// Months in the baseline.
    pub baseline_months: u32,
    /// What the test says.
    pub signal: Signal,
    /// Rate of the baseline, per 1,000.
    pub baseline_rate_per_1000: Option<f64>,
    /// Rate of the month ÷ rate of the baseline.
    pub ratio: Option<f64>,
    /// Lower end of its 95 % interval; alone where the baseline has no event.
    pub ratio_low: Option<f64>,
    /// Upper end of its 95 % interval.
    pub ratio_high: Option<f64>,
    /// Approaches with an event over those expected for the month's mix at the baseline's rate.
    pub standardised_ratio: Option<f64>,
    /// Share of false flags to expect if everything at least as striking were flagged (Benjamini and Hochberg).
    pub q_value: Option<f64>,
    /// Why there is no signal or no test, in words.
    pub why_no_signal: Option<String>,
    /// Whether the season is taken out: the same months of earlier years stand in the baseline.
    pub season_controlled: Option<bool>,
    /// Rise this month could have shown with 80 % power, %.
    pub detectable_rise_pct: Option<f64>,
}

/// Outcome of a month's test.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub enum Signal {
    /// Higher than before, and worth a look.
    Higher,
    /// Lower than before.
    Lower,
    /// Tested, nothing shown.
    NoSignal,
    /// Not tested.
    #[default]
    NotTested,
}

/// Something that was changed, from `interventions.csv`.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Intervention {
    /// First month it applied, `YYYY-MM`.
    pub month: String,
    /// What was changed.
    pub text: String,
}
