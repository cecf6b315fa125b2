//! The object, field by field, in the order in which it is written.

use std::collections::BTreeMap;

use serde::Serialize;

/// The headline figures of a review. Null is unknown or withheld; the `why` beside it says why.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Headline {
    /// Version of this object.
    pub schema: u32,
    /// Version of the program.
    pub program_version: String,
    /// Number of the run in its store.
    pub run: u64,
    /// Month under review, `YYYY-MM`; null where no approach has a month.
    pub month: Option<String>,
    /// Months covered, in order.
    pub months: Vec<String>,
    /// Flights that came in.
    pub flights: Flights,
    /// Line approaches of the whole fleet.
    pub approaches: Option<i64>,
    /// Why these are not told.
    pub why_no_approaches: Option<String>,
    /// One line a rule that is not on trial, in order of ids.
    pub rules: Vec<RuleHeadline>,
    /// Hot spots, then watches.
    pub places: Vec<PlaceHeadline>,
    /// The first topics of training, by rank.
    pub topics: Vec<TopicHeadline>,
    /// Approaches that were not stable at the governing gate.
    pub unstable: UnstableHeadline,
    /// The checkpoint that tells the end earliest.
    pub decisive_checkpoint: DecisiveHeadline,
    /// Rows of shared tables that are withheld, by table.
    pub suppressed_cells: BTreeMap<String, u64>,
    /// What every reader has to know.
    pub cautions: Vec<String>,
    /// Path of the report on this machine; only on stdout.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub report: Option<String>,
}

/// What came in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Flights {
    /// Flights that were used, and inputs that were refused.
    pub received: u64,
    /// Flights that reached the rules.
    pub used: u64,
    /// Inputs that were refused.
    pub quarantined: u64,
}

/// One rule in the month under review, whole fleet, events of any level.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct RuleHeadline {
    /// Rule id.
    pub rule: String,
    /// What it finds, in words.
    pub title: String,
    /// Family it belongs to.
    pub family: String,
    /// Approaches of the month on which it could have fired.
    pub evaluable: Option<i64>,
    /// Those with an event.
    pub approaches_with_event: Option<i64>,
    /// 1,000 × `approaches_with_event` / `evaluable`.
    pub rate_per_1000: Option<f64>,
    /// Lower limit of the rate.
    pub ci_low: Option<f64>,
    /// Upper limit of the rate.
    pub ci_high: Option<f64>,
    /// Why there is no rate.
    pub why_no_rate: Option<String>,
    /// Rate of the months it is compared with.
    pub baseline_rate: Option<f64>,
    /// Why there is none.
    pub why_no_baseline: Option<String>,
    /// Rate over `baseline_rate`.
    pub ratio: Option<f64>,
    /// Lower limit of the ratio.
    pub ratio_low: Option<f64>,
    /// Upper limit of the ratio.
    pub ratio_high: Option<f64>,
    /// Why there is no ratio.
    pub why_no_ratio: Option<String>,
    /// p adjusted for the tests of the month; null = took no part, see `why_no_signal`.
    pub q: Option<f64>,
    /// `higher`, `lower`; null = neither is shown.
    pub signal: Option<String>,
    /// Why there is no signal.
    pub why_no_signal: Option<String>,
    /// Rise that the month could have shown, %.
    pub detectable_rise_pct: Option<f64>,
    /// Why it is not known.
    pub why_no_detectable_rise: Option<String>,
    /// `evaluable` over the line approaches of the month in which the situation occurred, 0 to 1.
    pub coverage_share: Option<f64>,
    /// Why it is not known.
    pub why_no_coverage: Option<String>,
}

/// A place that is called, over the last twelve months.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlaceHeadline {
    /// Airport.
    pub airport: String,
    /// Runway end; null = the whole airport.
    pub runway: Option<String>,
    /// Rule id; null = the whole family.
    pub rule: Option<String>,
    /// Family of the rule.
    pub family: String,
    /// Title of the rule, or name of the family.
    pub title: String,
    /// `hot spot` or `watch`.
    pub class: Option<String>,
    /// Rank among the places of the rule.
    pub rank: Option<i64>,
    /// Approaches on which the rule could have fired.
    pub evaluable: Option<i64>,
    /// Those with an event.
    pub approaches_with_event: Option<i64>,
    /// 1,000 × `approaches_with_event` / `evaluable`.
    pub rate_per_1000: Option<f64>,
    /// Lower limit of the rate.
    pub ci_low: Option<f64>,
    /// Upper limit of the rate.
    pub ci_high: Option<f64>,
    /// Approaches with an event to expect at the rates of all places.
    pub expected: Option<f64>,
}

/// A topic of training, over the last twelve months, whole fleet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TopicHeadline {
    /// The topic.
    pub topic: String,
    /// 1 for the first.
    pub rank: Option<i64>,
    /// Approaches on which one of its rules could have fired.
    pub evaluable: Option<i64>,
    /// Those on which one did.
    pub approaches_with_event: Option<i64>,
    /// 1,000 × `approaches_with_event` / `evaluable`.
    pub rate_per_1000: Option<f64>,
    /// Lower limit of the rate.
    pub ci_low: Option<f64>,
    /// Upper limit of the rate.
    pub ci_high: Option<f64>,
    /// The latest month: `higher`, `lower`; null = neither is shown.
    pub change: Option<String>,
    /// Why there is no change.
    pub why_no_change: Option<String>,
    /// All of it in words that can be read out.
    pub sentence: Option<String>,
}

/// Stability at the governing gate.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UnstableHeadline {
    /// Height of the gate, ft.
    pub gate_ft: f64,
    /// Rule of the gate; null = none has a gate at this height.
    pub rule: Option<String>,
    /// The month under review.
    pub month: ShareHeadline,
    /// The months it is compared with.
    pub baseline: ShareHeadline,
}

/// A share of approaches.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct ShareHeadline {
    /// Approaches of which it is known.
    pub approaches: Option<i64>,
    /// Those that were not stable.
    pub unstable: Option<i64>,
    /// Their share, 0 to 1.
    pub share: Option<f64>,
    /// Lower end of Wilson's interval.
    pub ci_low: Option<f64>,
    /// Upper end of Wilson's interval.
    pub ci_high: Option<f64>,
    /// Why it is not known.
    pub why: Option<String>,
}

/// The checkpoint that tells the end earliest.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct DecisiveHeadline {
    /// `20nm` … `1000ft`.
    pub checkpoint: Option<String>,
    /// Area under the ROC curve there; 0.5 = no better than chance.
    pub auc: Option<f64>,
    /// Lower end of its interval.
    pub auc_low: Option<f64>,
    /// Upper end of its interval.
    pub auc_high: Option<f64>,
    /// Why none decides.
    pub why: Option<String>,
}
