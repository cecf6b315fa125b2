//! Rows of the tables of how approaches are flown. Null is unknown or withheld; `suppressed` tells which are
//! the latter.

use serde::{Deserialize, Serialize};

/// One quantity of one group over one period.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SpreadRow {
    /// What is measured; carries its unit. `worst` is the deciding measure of a rule, in the unit of that rule.
    pub measure: String,
    /// Rule id, where the measure is that of a rule.
    pub rule: Option<String>,
    /// Where on the approach: a checkpoint, or the flap lever's new position; null where the measure says it.
    pub at: Option<String>,
    /// `fleet`, `aircraft_type` or `airport`.
    pub group_kind: String,
    /// Name of the group.
    pub group: String,
    /// `all`, `before` the latest month, or `latest`.
    pub period: String,
    /// Line approaches of which it is known.
    pub approaches: Option<i64>,
    /// 5 % quantile; null too where fewer than three approaches lie below it.
    pub p5: Option<f64>,
    /// 25 % quantile.
    pub p25: Option<f64>,
    /// Median.
    pub median: Option<f64>,
    /// 75 % quantile.
    pub p75: Option<f64>,
    /// 95 % quantile; null too where fewer than three approaches lie above it.
    pub p95: Option<f64>,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}

/// One criterion of a gate, in one group and period.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CriterionRow {
    /// Rule id of the gate.
    pub rule: String,
    /// Height of the gate, where it is one.
    pub gate_ft: Option<f64>,
    /// Name of the criterion.
    pub criterion: String,
    /// `fleet`, `aircraft_type` or `airport`.
    pub group_kind: String,
    /// Name of the group.
    pub group: String,
    /// `all`, `before` the latest month, or `latest`.
    pub period: String,
    /// Line approaches to which the criterion applied and of which it is known whether they met it.
    pub approaches: Option<i64>,
    /// Those that did not.
    pub failed: Option<i64>,
    /// Share of them, 0 to 1.
    pub failed_share: Option<f64>,
    /// Lower end of Wilson's interval.
    pub ci_low: Option<f64>,
    /// Upper end of Wilson's interval.
    pub ci_high: Option<f64>,
    /// Of those that failed: the ones in which no other criterion of the gate did.
    pub failed_alone: Option<i64>,
    /// Approaches that met it at the gate and left it again before 50 ft.
    pub left_later: Option<i64>,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}

/// What followed a verdict at the governing gate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DecisionRow {
    /// `fleet`, `aircraft_type` or `airport`.
    pub group_kind: String,
    /// Name of the group.
    pub group: String,
    /// `stable`, `unstable`, or `not known`: not all known there, or given up above it.
    pub at_gate: String,
    /// Line approaches with that verdict.
    pub approaches: Option<i64>,
    /// Those that landed.
    pub landed: Option<i64>,
    /// Those that went around, the ones that touched the runway among them.
    pub went_around: Option<i64>,
    /// Those that did neither: touch-and-go, incomplete records.
    pub neither: Option<i64>,
    /// Share that went around, of those that landed or went around, 0 to 1.
    pub went_around_share: Option<f64>,
    /// Lower end of Wilson's interval.
    pub ci_low: Option<f64>,
    /// Upper end of Wilson's interval.
    pub ci_high: Option<f64>,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}
