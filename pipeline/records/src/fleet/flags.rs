//! `[review.flags]`: what makes a change, a trend or a place worth a flag.
//!
//! All of it is judgement and no standard, which is why it can be changed and is printed in every report.

use serde::{Deserialize, Serialize};
use toml::Spanned;

use super::extend::Fault;
use crate::error::RecordsError;

/// Thresholds of the statistics. Shares and probabilities from 0 to 1.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Flags {
    /// Largest share of false ones among the flags of one kind of group.
    pub q: f64,
    /// A month differs if its rate is this many times that of the months before, or falls by as much.
    pub ratio: f64,
    /// Fewest approaches with an event in a month that is called higher.
    pub min_events: f64,
    /// A trend changes the rate by at least this much a month, %.
    pub trend_pct_per_month: f64,
    /// Smallest share of approaches in scope on which a rule could be judged.
    pub min_coverage: f64,
    /// Largest move of that share between the periods compared.
    pub max_coverage_move: f64,
    /// A hot spot has this many times the rate of the fleet …
    pub hot_spot_ratio: f64,
    /// … with at least this probability.
    pub hot_spot_probability: f64,
    /// A place to watch is above the fleet with at least this probability.
    pub watch_probability: f64,
    /// Fewest evaluable approaches of a place that is classed.
    pub min_approaches: f64,
    /// First month of the chart's baseline, `YYYY-MM`; empty for the first month there is.
    pub chart_from: String,
    /// Months of the chart's baseline, which stays as it is until this is changed.
    pub chart_months: u32,
}

impl Default for Flags {
    fn default() -> Self {
        Self {
            q: 0.05,
            ratio: 1.25,
            min_events: 5.0,
            trend_pct_per_month: 1.0,
            min_coverage: 0.80,
            max_coverage_move: 0.10,
            hot_spot_ratio: 1.5,
            hot_spot_probability: 0.80,
            watch_probability: 0.95,
            min_approaches: 100.0,
            chart_from: String::new(),
            chart_months: 12,
        }
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawFlags {
    q: Option<Spanned<f64>>,
    ratio: Option<Spanned<f64>>,
    min_events: Option<Spanned<f64>>,
    trend_pct_per_month: Option<Spanned<f64>>,
    min_coverage: Option<Spanned<f64>>,
    max_coverage_move: Option<Spanned<f64>>,
    hot_spot_ratio: Option<Spanned<f64>>,
    hot_spot_probability: Option<Spanned<f64>>,
    watch_probability: Option<Spanned<f64>>,
    min_approaches: Option<Spanned<f64>>,
    chart_from: Option<Spanned<String>>,
    chart_months: Option<Spanned<u32>>,
}

/// The thresholds in force.
///
/// # Errors
/// One is outside the range in which it means anything.
pub(super) fn check(raw: RawFlags, fault: &Fault<'_>) -> Result<Flags, RecordsError> {
    let usual = Flags::default();
    let number = |name: &str, given: Option<Spanned<f64>>, usual: f64, low: f64, high: f64| {
        let Some(given) = given else {
            return Ok(usual);
        };
        let value = *given.get_ref();
        if (low..=high).contains(&value) {
            return Ok(value);
        }
        let help = format!("expected a number from {low} to {high}; {usual} is usual");
        Err(fault(given.span(), format!("{name} is {value}"), &help))
    };
    let chart_from = match raw.chart_from {
        None => usual.chart_from,
        Some(given) => match super::cells::month(given.get_ref()) {
            Ok((month, false)) => month,
            _ => {
                let message = "chart_from is no month".to_owned();
                return Err(fault(given.span(), message, "expected YYYY-MM"));
            }
        },
    };
    let chart_months = match raw.chart_months {
        None => usual.chart_months,
        Some(given) if (12..=60).contains(given.get_ref()) => *given.get_ref(),
        Some(given) => {
            let message = format!("chart_months is {}", given.get_ref());
            return Err(fault(
                given.span(),
                message,
                "expected 12 to 60; fewer months say too little, 24 are better where there are as many",
            ));
        }
    };
    Ok(Flags {
        q: number("q", raw.q, usual.q, 0.001, 0.2)?,
        ratio: number("ratio", raw.ratio, usual.ratio, 1.0, 10.0)?,
        min_events: number("min_events", raw.min_events, usual.min_events, 1.0, 1000.0)?,
        trend_pct_per_month: number(
            "trend_pct_per_month",
            raw.trend_pct_per_month,
            usual.trend_pct_per_month,
            0.0,
            50.0,
        )?,
        min_coverage: number(
            "min_coverage",
            raw.min_coverage,
            usual.min_coverage,
            0.0,
            1.0,
        )?,
        max_coverage_move: number(
            "max_coverage_move",
            raw.max_coverage_move,
            usual.max_coverage_move,
            0.0,
            1.0,
        )?,
        hot_spot_ratio: number(
            "hot_spot_ratio",
            raw.hot_spot_ratio,
            usual.hot_spot_ratio,
            1.0,
            10.0,
        )?,
        hot_spot_probability: number(
            "hot_spot_probability",
            raw.hot_spot_probability,
            usual.hot_spot_probability,
            0.5,
            0.9999,
        )?,
        watch_probability: number(
            "watch_probability",
            raw.watch_probability,
            usual.watch_probability,
            0.5,
            0.9999,
        )?,
        min_approaches: number(
            "min_approaches",
            raw.min_approaches,
            usual.min_approaches,
            30.0,
            1e6,
        )?,
        chart_from,
        chart_months,
    })
}
