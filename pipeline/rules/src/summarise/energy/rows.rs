//! Rows of the energy tables. Null is unknown or suppressed; `suppressed` tells which are the latter.

use serde::{Deserialize, Serialize};

/// Group × checkpoint × energy class.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OutcomeRow {
    /// `fleet`, `aircraft_type`, `airport` or `month`.
    pub group_kind: String,
    /// Name of the group.
    pub group: String,
    /// `all`, or for the whole fleet also `shortened`, `usual`, `extended`: the track against the usual one.
    pub routing: String,
    /// `20nm` … `500ft`.
    pub checkpoint: String,
    /// `low`, `on_profile`, `clean`, `drag`, `gear` or `beyond`.
    pub energy_class: String,
    /// Line approaches in that class there whose verdict at the governing gate is known.
    pub approaches: Option<i64>,
    /// Those unstable at the gate.
    pub unstable: Option<i64>,
    /// Their share, 0 to 1.
    pub unstable_share: Option<f64>,
    /// Lower end of Wilson's interval.
    pub ci_low: Option<f64>,
    /// Upper end of Wilson's interval.
    pub ci_high: Option<f64>,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}

/// Group × checkpoint: how well the class there tells the end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DecisiveRow {
    /// `fleet`, `aircraft_type` or `airport`.
    pub group_kind: String,
    /// Name of the group.
    pub group: String,
    /// `20nm` … `1000ft`.
    pub checkpoint: String,
    /// Approaches compared.
    pub approaches: Option<i64>,
    /// Those unstable at the governing gate.
    pub unstable: Option<i64>,
    /// Area under the ROC curve, cross-validated; 0.5 = no better than chance.
    pub auc: Option<f64>,
    /// Lower end of its interval.
    pub auc_low: Option<f64>,
    /// Upper end of its interval.
    pub auc_high: Option<f64>,
    /// The earliest checkpoint within 0.05 of the best.
    pub decisive: bool,
    /// Why this checkpoint cannot be; null where it could.
    pub why_not: Option<String>,
    /// Of the unstable, the share that had no excess there.
    pub unstable_not_high_share: Option<f64>,
    /// Of the unstable, the share that idle thrust alone would still have brought back.
    pub unstable_clean_share: Option<f64>,
    /// Of the unstable, the share that took flap or speedbrake.
    pub unstable_drag_share: Option<f64>,
    /// Of the unstable, the share that only the gear would still have brought back.
    pub unstable_gear_share: Option<f64>,
    /// Of the unstable, the share that nothing in the table would have.
    pub unstable_beyond_share: Option<f64>,
}

/// Type × configuration: loss of energy height per air mile at idle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LossRateRow {
    /// Key of the type file.
    pub aircraft_type: String,
    /// `clean`, `flap`, `speedbrake` or `gear`.
    pub configuration: String,
    /// By the type's table.
    pub table_ft_per_nm: Option<f64>,
    /// Approaches it rests on.
    pub approaches: Option<i64>,
    /// Air miles it rests on.
    pub air_nm: Option<f64>,
    /// Median over approaches.
    pub median_ft_per_nm: Option<f64>,
    /// Lower end of the exact interval of the median.
    pub median_low: Option<f64>,
    /// Upper end of the exact interval of the median.
    pub median_high: Option<f64>,
    /// 90th percentile over approaches.
    pub p90_ft_per_nm: Option<f64>,
    /// Idle thrust as the fleet shows it.
    pub idle_thrust_pct: Option<f64>,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}

/// Route × routing: what a direct routing does. Without a route: all of them.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct ShortcutRow {
    /// Airport; null = all routes.
    pub airport: Option<String>,
    /// Runway end.
    pub runway: Option<String>,
    /// Where the arrival entered the circle of 20 NM, as one of eight directions.
    pub from_direction: Option<String>,
    /// `shortened` (by 1.5 NM at least), `usual` or `extended`.
    pub routing: String,
    /// Median track distance from the circle, over all approaches of the route.
    pub usual_track_nm: Option<f64>,
    /// Line approaches routed so.
    pub approaches: Option<i64>,
    /// Median of the miles flown less than usual; negative = more.
    pub miles_taken_median_nm: Option<f64>,
    /// Share that held one speed over 5 NM or more.
    pub held_speed_share: Option<f64>,
    /// Median energy excess at 10 NM.
    pub energy_excess_10nm_median_ft: Option<f64>,
    /// Unstable at the governing gate.
    pub unstable: Option<i64>,
    /// Their share, 0 to 1.
    pub unstable_share: Option<f64>,
    /// Lower end of Wilson's interval.
    pub ci_low: Option<f64>,
    /// Upper end of Wilson's interval.
    pub ci_high: Option<f64>,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}

/// Type × mass × drag × excess: how close in a drag choice still led to a stable gate.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct RecoverabilityRow {
    /// Key of the type file.
    pub aircraft_type: String,
    /// Mass over maximum landing mass, from this …
    pub mass_ratio_from: f64,
    /// … to below this; null = no bound.
    pub mass_ratio_to: Option<f64>,
    /// `flap`, `speedbrake` or `gear`, the first time it was taken.
    pub drag: String,
    /// Energy excess at that moment, from this …
    pub energy_excess_from_ft: f64,
    /// … to below this; null = no bound.
    pub energy_excess_to_ft: Option<f64>,
    /// Line approaches that took it so.
    pub approaches: Option<i64>,
    /// Those stable at the governing gate.
    pub stable: Option<i64>,
    /// Their share, 0 to 1.
    pub stable_share: Option<f64>,
    /// Lower end of Wilson's interval.
    pub ci_low: Option<f64>,
    /// Upper end of Wilson's interval.
    pub ci_high: Option<f64>,
    /// Track distance at which it was taken, 10 %.
    pub taken_p10_nm: Option<f64>,
    /// Median.
    pub taken_median_nm: Option<f64>,
    /// 90 %.
    pub taken_p90_nm: Option<f64>,
    /// From this distance out 90 % were stable, by a fit that can only rise; to half a mile.
    pub frontier_nm: Option<f64>,
    /// `frontier`, `worked throughout`, `not reached`, or `none seen`: inside and outside do not differ by more
    /// than their intervals.
    pub limit: Option<String>,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}
