//! What the report is given: plain tables, already counted and suppressed.
//!
//! A figure that is unknown is `None`, never zero. Where a cell is suppressed the report shows the
//! reason and nothing else of that cell, even if figures were left in it.

mod against;
mod cells;
mod flown;
mod places;
mod rules;
mod topics;

pub use against::{
    Against, AgainstCause, AgainstKind, AgainstLine, AgainstMark, AgainstSide, SettingChange,
};
pub use cells::{CountLine, RateCell, Suppression};
pub use flown::{
    CriterionLine, DecisionLine, DecisiveLine, EnergyCheckpoint, EnergyGroup, Flown, GateCriteria,
    MarginLine, Moment, OutcomeLine, RecoverabilityLine, ShareCell, ShortcutLine,
};
pub use places::{
    AirportLine, EventSide, FunnelLimits, HotspotClass, PeriodQuantiles, RuleAirports,
    RuleDistribution,
};
pub use rules::{
    Intervention, Level, LevelLine, LimitLine, LimitsStatus, MonthPoint, MonthTest, ReasonLine,
    RuleLine, RuleTrend, Signal, SlopeCall,
};
pub use topics::{
    ChangeLine, Precision, RecoveryLine, Restated, RestatedLine, SecondLook, TopicLine,
};

use serde::Serialize;

/// Everything one report shows.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct ReportInput {
    /// Heading of the page, such as "Approach review".
    pub title: String,
    /// Which run this is.
    pub identity: RunIdentity,
    /// What came in and what became of it.
    pub analysed: Analysed,
    /// One line a rule, over all months covered, in the order to show them.
    pub rules: Vec<RuleLine>,
    /// Monthly series, one a rule; may leave rules out.
    pub trend: Vec<RuleTrend>,
    /// Airports compared, one list a rule; may leave rules out.
    pub hotspots: Vec<RuleAirports>,
    /// Spread of each rule's stored extreme; may be empty.
    pub distributions: Vec<RuleDistribution>,
    /// How approaches are flown.
    pub flown: Flown,
    /// Topics of training for the whole fleet, in the order to show them.
    pub topics: Vec<TopicLine>,
    /// Changes made on purpose, before and after.
    pub changes: Vec<ChangeLine>,
    /// What people have looked at, and what they have yet to.
    pub second_look: SecondLook,
    /// What late data changed.
    pub restated: Restated,
    /// What is new, gone or changed since a review that was given; none where none was.
    pub against: Option<Against>,
    /// Flights that came in of those flown, by month; empty where nobody told how many were flown.
    pub recovery: Vec<RecoveryLine>,
    /// State of the recorded data.
    pub quality: Quality,
    /// How many cells of each table are withheld, and why.
    pub withheld: Vec<WithheldLine>,
}

/// Cells of one table that are not shown.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct WithheldLine {
    /// Name of the table.
    pub table: String,
    /// Its rows.
    pub rows: u64,
    /// Rows whose figures are withheld because they rest on too few flights or tail-days.
    pub small: u64,
    /// Rows withheld because they would give one of those away.
    pub neighbours: u64,
}

/// Names the run well enough to repeat it.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct RunIdentity {
    /// Title of the fleet, from its `fleet.toml`.
    pub fleet_title: String,
    /// Version of the program.
    pub version: String,
    /// Month under review, `YYYY-MM`; none if no flight has a month.
    pub review_month: Option<String>,
    /// Months with at least one flight, `YYYY-MM`.
    pub months: Vec<String>,
    /// Hash over the rule files in force.
    pub rule_pack_hash: String,
    /// Hash over configuration and type files.
    pub config_hash: String,
    /// Number of the run in its store.
    pub run_number: u64,
    /// Fewest distinct flights a shown cell rests on.
    pub min_flights: u64,
    /// Thresholds in force ("rise worth a flag", "1.25"), printed as given.
    pub settings: Vec<Setting>,
}

/// One threshold or option of the run.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Setting {
    /// What it is, in words.
    pub name: String,
    /// Its value with its unit.
    pub value: String,
}

/// What came in, what was used, what was refused.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Analysed {
    /// Flights found in the fleet folder.
    pub flights_received: u64,
    /// Flights that reached the rules.
    pub flights_used: u64,
    /// Approaches found in the flights used: the denominator of every coverage share.
    pub approaches: u64,
    /// Flights refused, by reason.
    pub quarantined: Vec<QuarantineLine>,
    /// Approaches by how they ended (landed, go-around, …).
    pub by_outcome: Vec<CountLine>,
    /// Approaches by aircraft type.
    pub by_aircraft_type: Vec<CountLine>,
    /// Approaches by airport.
    pub by_airport: Vec<CountLine>,
    /// Approaches by month.
    pub by_month: Vec<CountLine>,
}

/// Flights refused for one reason.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct QuarantineLine {
    /// Why, in words.
    pub reason: String,
    /// Flights refused for it.
    pub flights: u64,
}

/// State of the recorded data behind the figures.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Quality {
    /// One line a parameter.
    pub parameters: Vec<ParameterQuality>,
    /// Approaches by where their height above the aerodrome came from.
    pub heights: Vec<CountLine>,
    /// What the run assumed or left out, one sentence each.
    pub notes: Vec<String>,
}

/// One parameter over all flights used.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct ParameterQuality {
    /// Catalogue name.
    pub parameter: String,
    /// Flights used that record it.
    pub flights_with: u64,
    /// Flights used.
    pub flights: u64,
    /// Median over those flights of the share of samples that are valid, 0 to 1.
    pub median_coverage: Option<f64>,
    /// Samples removed as spikes.
    pub spikes: u64,
    /// Time the value stood still against the evidence, s.
    pub stuck_s: f64,
    /// Gaps longer than the parameter's own rate explains.
    pub gaps: u64,
    /// Samples outside the physical range.
    pub out_of_range: u64,
    /// Samples too old to be held on.
    pub stale: u64,
}
