//! `hotspots`: which places stand out.

use serde::{Deserialize, Serialize};

/// Airport (× runway) × rule or family, over the months up to the one under review.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HotspotRow {
    /// Airport.
    pub airport: String,
    /// Runway end; null = the whole airport.
    pub runway: Option<String>,
    /// Rule id; null = the whole family.
    pub rule: Option<String>,
    /// Family of the rule.
    pub family: String,
    /// `core`, or `trial`: measured and shown, never flagged.
    pub rule_status: String,
    /// First month counted.
    pub from_month: Option<String>,
    /// Last month counted.
    pub to_month: Option<String>,
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
    /// Rate per 1,000 at all places named, over the same months; null = nothing evaluable.
    pub rate_of_all: Option<f64>,
    /// Events expected from the mix of types and months at all places; null = no event anywhere.
    pub expected: Option<f64>,
    /// Observed over expected.
    pub standardised_ratio: Option<f64>,
    /// Probability of as many or more where so many are expected; a place by itself, not corrected for how many
    /// are looked at.
    pub upper_tail_p: Option<f64>,
    /// Rate per 1,000 for the fleet's mix, shrunk towards that of all places.
    pub shrunk_rate: Option<f64>,
    /// Lower 5 % of the shrunk rate: what the rank goes by.
    pub shrunk_low_5pct: Option<f64>,
    /// Probability that the true rate is above that of all places.
    pub prob_above_fleet: Option<f64>,
    /// Probability that it is above the hot-spot ratio (1.5 unless set otherwise) times that.
    pub prob_above_1_5x: Option<f64>,
    /// `hot spot`, `watch`, `not elevated`, `insufficient data`; null for a rule on trial.
    pub class: Option<String>,
    /// Why it is not called; null where it is.
    pub why: Option<String>,
    /// Rank among the eligible; 1 is the highest.
    pub rank: Option<i64>,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}
