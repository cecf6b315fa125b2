//! How approaches are flown, whatever the rules say: energy, flaps, gates, go-arounds, routings.

use super::{PeriodQuantiles, Suppression};
use serde::Serialize;

/// Everything about how approaches are flown; empty where nothing is known of it.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Flown {
    /// Energy excess by checkpoint: the whole fleet first, then the types.
    pub energy: Vec<EnergyGroup>,
    /// Whole fleet: checkpoint × energy class, how it ended.
    pub outcomes: Vec<OutcomeLine>,
    /// Whole fleet: how well each checkpoint tells the end, in the order in which they are flown.
    pub decisive: Vec<DecisiveLine>,
    /// Margin to the flap limit at selection, by type and lever.
    pub margins: Vec<MarginLine>,
    /// Gates with several criteria, from the highest; whole fleet.
    pub gates: Vec<GateCriteria>,
    /// Heights and distances at which things were done, whole fleet.
    pub moments: Vec<Moment>,
    /// What followed a verdict at the governing gate; whole fleet first, then airports.
    pub decisions: Vec<DecisionLine>,
    /// The rule whose gate governs; none where no gate stands there.
    pub governing_gate: Option<String>,
    /// Routing against the usual one, over all routes.
    pub shortcuts: Vec<ShortcutLine>,
    /// Type × mass × drag × excess: how close in it still worked.
    pub recoverability: Vec<RecoverabilityLine>,
}

/// A share with its interval, or why there is none.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct ShareCell {
    /// Approaches counted.
    pub approaches: Option<u64>,
    /// Those of which it holds.
    pub part: Option<u64>,
    /// Their share, 0 to 1.
    pub share: Option<f64>,
    /// Lower end of the 95 % interval.
    pub low: Option<f64>,
    /// Upper end of it.
    pub high: Option<f64>,
    /// Why nothing is shown.
    pub suppressed: Option<Suppression>,
}

/// Energy excess of one group, ft of energy height over the planned descent.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct EnergyGroup {
    /// The group in words.
    pub group: String,
    /// Its checkpoints, in the order in which they are flown.
    pub checkpoints: Vec<EnergyCheckpoint>,
}

/// Energy excess at one checkpoint.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct EnergyCheckpoint {
    /// `20nm` … `500ft`.
    pub checkpoint: String,
    /// All months covered.
    pub all: PeriodQuantiles,
    /// The latest month.
    pub latest: Option<PeriodQuantiles>,
}

/// One energy class at one checkpoint.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct OutcomeLine {
    /// `20nm` … `500ft`.
    pub checkpoint: String,
    /// `low`, `on_profile`, `clean`, `drag`, `gear` or `beyond`.
    pub class: String,
    /// Of the approaches in it: those unstable at the governing gate.
    pub unstable: ShareCell,
}

/// How well the class at one checkpoint tells the end.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct DecisiveLine {
    /// `20nm` … `1000ft`.
    pub checkpoint: String,
    /// Approaches compared.
    pub approaches: Option<u64>,
    /// Those unstable at the governing gate.
    pub unstable: Option<u64>,
    /// Probability that an unstable approach stood in a higher class than a stable one, 0.5 by chance.
    pub auc: Option<f64>,
    /// Lower end of its 95 % interval.
    pub low: Option<f64>,
    /// Upper end of it.
    pub high: Option<f64>,
    /// The earliest checkpoint that tells about as much as any.
    pub decisive: bool,
    /// Whether it tells the end well enough to be named for it.
    pub tells_clearly: bool,
    /// Why it cannot be the decisive one.
    pub why_not: Option<String>,
    /// Of the unstable: the share that had no excess there, 0 to 1.
    pub not_high_share: Option<f64>,
}

/// Margin to the limit of the flap about to be selected.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct MarginLine {
    /// Aircraft type.
    pub aircraft_type: String,
    /// New position of the lever.
    pub lever: String,
    /// Margin in kt, over all months; below zero the limit was exceeded.
    pub margin: PeriodQuantiles,
}

/// One gate and what fails there.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct GateCriteria {
    /// Rule id.
    pub rule_id: String,
    /// Title of the rule.
    pub title: String,
    /// Its criteria in the order of the rule.
    pub criteria: Vec<CriterionLine>,
}

/// One criterion of a gate.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct CriterionLine {
    /// Its name.
    pub criterion: String,
    /// Failed, over all months.
    pub all: ShareCell,
    /// Failed, in the latest month.
    pub latest: ShareCell,
    /// Of those that failed: no other criterion did.
    pub alone: Option<u64>,
    /// Met at the gate and left again before 50 ft.
    pub left_later: Option<u64>,
}

/// A height or distance at which something was done.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Moment {
    /// What was done, in words.
    pub title: String,
    /// Column it comes from.
    pub measure: String,
    /// Unit.
    pub unit: String,
    /// Periods to compare.
    pub periods: Vec<PeriodQuantiles>,
}

/// What followed a verdict at the governing gate.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct DecisionLine {
    /// The group in words.
    pub group: String,
    /// Whether it is the whole fleet.
    pub is_fleet: bool,
    /// `stable`, `unstable` or `not known`.
    pub at_gate: String,
    /// Approaches with that verdict.
    pub approaches: Option<u64>,
    /// Those that landed.
    pub landed: Option<u64>,
    /// Neither landed nor went around.
    pub neither: Option<u64>,
    /// Of those that landed or went around: went around.
    pub went_around: ShareCell,
}

/// One routing over all routes.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct ShortcutLine {
    /// `shortened`, `usual`, `extended`.
    pub routing: String,
    /// Median of the miles taken away, NM.
    pub miles_taken_median_nm: Option<f64>,
    /// Median energy excess at 10 NM, ft.
    pub energy_excess_10nm_median_ft: Option<f64>,
    /// Share that held one speed over five miles or more, 0 to 1.
    pub held_speed_share: Option<f64>,
    /// Unstable at the governing gate.
    pub unstable: ShareCell,
}

/// How close in a drag still worked.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct RecoverabilityLine {
    /// Aircraft type.
    pub aircraft_type: String,
    /// Mass over the maximum landing mass, in words.
    pub mass: String,
    /// The drag taken, in words.
    pub drag: String,
    /// Energy excess then, in words.
    pub excess: String,
    /// Stable at the governing gate.
    pub stable: ShareCell,
    /// Where it was taken: 10 %, median and 90 %, NM.
    pub taken_nm: Option<[f64; 3]>,
    /// From here out nine tenths were stable, NM.
    pub frontier_nm: Option<f64>,
    /// `frontier`, `worked throughout`, `not reached`, `none seen`.
    pub limit: Option<String>,
}
