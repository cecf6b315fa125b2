//! Airports compared, and the spread of what was measured.

use super::{RateCell, Suppression};
use serde::Serialize;

/// One rule over all airports.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct RuleAirports {
    /// The rule's id.
    pub rule_id: String,
    /// Its title.
    pub title: String,
    /// Rate at all airports over the months they are compared over, per 1,000 evaluable approaches.
    pub rate_of_all_per_1000: Option<f64>,
    /// Whether it is a family of rules rather than a rule.
    pub is_family: bool,
    /// One line an airport, in any order.
    pub airports: Vec<AirportLine>,
    /// Limits of the funnel by expected approaches with an event, rising; empty where none is drawn.
    pub funnel: Vec<FunnelLimits>,
}

/// How far a place may lie from the fleet by chance, at one expected number of approaches with an event.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct FunnelLimits {
    /// Approaches with an event that are expected.
    pub expected: f64,
    /// Observed ÷ expected: 95 % of places like the rest lie above this …
    pub low_95: f64,
    /// … and below this.
    pub high_95: f64,
    /// The same for 99.8 %.
    pub low_998: f64,
    /// The same for 99.8 %.
    pub high_998: f64,
}

/// One rule at one airport.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct AirportLine {
    /// The airport's code.
    pub airport: String,
    /// Raw figures.
    pub cell: RateCell,
    /// Approaches with an event that the fleet's rates make one expect there.
    pub expected: Option<f64>,
    /// Observed ÷ expected from the fleet's rate for the same mix of types and runways.
    pub standardised_ratio: Option<f64>,
    /// Rate drawn towards the fleet's as far as the airport's numbers are small, per 1,000.
    pub shrunk_rate_per_1000: Option<f64>,
    /// 5 % quantile of the same, per 1,000; the ranking goes by it.
    pub shrunk_low_per_1000: Option<f64>,
    /// Probability that the airport's true rate is above the fleet's, 0 to 1.
    pub prob_above_fleet: Option<f64>,
    /// Probability that it is above the ratio from which a place is a hot spot, 0 to 1.
    pub prob_above_hot_ratio: Option<f64>,
    /// Probability of as many or more where so many are expected.
    pub upper_tail_p: Option<f64>,
    /// What that amounts to.
    pub class: HotspotClass,
    /// Place in the ranking, from 1; none where unranked.
    pub rank: Option<u32>,
}

/// What an airport's figures amount to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub enum HotspotClass {
    /// Probably well above the fleet.
    HotSpot,
    /// Almost certainly above the fleet, by how much is open.
    Watch,
    /// Enough approaches, nothing shown.
    NotElevated,
    /// Too few approaches to say.
    #[default]
    InsufficientData,
}

/// Spread of one rule's stored extreme, event or not.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct RuleDistribution {
    /// The rule's id.
    pub rule_id: String,
    /// Its title.
    pub title: String,
    /// What is measured, in words.
    pub measure: String,
    /// Unit of measure and limit.
    pub unit: String,
    /// Where an event begins, if one number says it.
    pub limit: Option<f64>,
    /// On which side of it events lie.
    pub event_side: EventSide,
    /// Periods to compare, such as the latest month and the twelve before it.
    pub periods: Vec<PeriodQuantiles>,
}

/// On which side of a limit events lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub enum EventSide {
    /// The larger, the worse.
    #[default]
    Above,
    /// The smaller, the worse, as with a margin.
    Below,
}

/// Quantiles of a measure over the approaches of one period.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct PeriodQuantiles {
    /// Which period, in words.
    pub label: String,
    /// Approaches measured.
    pub approaches: Option<u64>,
    /// 5 % of approaches lie below.
    pub p5: Option<f64>,
    /// 25 % lie below.
    pub p25: Option<f64>,
    /// The median.
    pub p50: Option<f64>,
    /// 75 % lie below.
    pub p75: Option<f64>,
    /// 95 % lie below.
    pub p95: Option<f64>,
    /// Set where the figures must not be shown.
    pub suppressed: Option<Suppression>,
}
