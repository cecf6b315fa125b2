//! Counts in, intervals, tests and ranks out: pure functions, no input or output.
//!
//! The counts are *approaches with at least one event of a rule* out of *approaches on
//! which that rule could be evaluated*. Repeats within one approach are not independent, so
//! raw event counts are never tested. Approaches still cluster (by day, weather, tail): the
//! dispersion φ says how much, and every method takes it and works on the *effective* counts
//! x/φ and n/φ. Rates do not change; intervals widen.
//!
//! What is undefined is `None`. No function returns NaN or an infinity, and none panics on
//! odd numbers: they are answered with `None`.

pub mod adjust;
pub mod chart;
pub mod compare;
pub mod discrimination;
pub mod dispersion;
pub mod funnel;
pub mod laney;
pub mod mann_kendall;
pub mod monotone;
pub mod numerics;
pub mod quantile;
pub mod rate;
pub mod share;
pub mod shrink;
pub mod signal;
pub mod slope;
pub mod standardise;
pub mod tail;
pub mod trend;

pub use adjust::benjamini_hochberg;
pub use chart::{ChartPoint, Side, chart};
pub use compare::{Comparison, compare, one_sided_p};
pub use discrimination::{Discrimination, Known, discrimination};
pub use dispersion::{Cluster, SeriesDispersion, choose_phi, phi_from_series, phi_within};
pub use funnel::funnel_limits;
pub use laney::{Laney, laney};
pub use mann_kendall::{MannKendall, mann_kendall, sen_slope};
pub use monotone::rising_share;
pub use quantile::{median_interval, quantile};
pub use rate::{Interval, Rate, rate_per_1000};
pub use share::{Share, clopper_pearson, wilson};
pub use shrink::{Class, HotSpot, Place, Thresholds, hot_spots};
pub use signal::{
    MonthTest, MonthVerdict, Signal, SignalRules, WhyNoSignal, detectable_rise_pct, judge_months,
    power_of_rise,
};
pub use slope::{Line, Season, Slope, fit_line, slope};
pub use standardise::{Effects, Stratum, fit_effects};
pub use tail::{lower_tail, upper_tail};
pub use trend::{
    Call, TrendRules, TrendTest, WhyNoTrend, call_trends, detectable_slope_pct, trend_test,
};

/// Approaches with at least one event, out of the approaches that could be evaluated.
///
/// Both are plain numbers rather than integers so that standardised or effective counts fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Counted {
    /// Approaches with at least one event of the rule.
    pub with_event: f64,
    /// Approaches on which the rule could be evaluated.
    pub evaluable: f64,
}

impl Counted {
    /// Pairs approaches with an event with evaluable ones.
    #[must_use]
    pub fn new(with_event: f64, evaluable: f64) -> Self {
        Self {
            with_event,
            evaluable,
        }
    }

    /// Both numbers are finite and not negative.
    pub(crate) fn is_sound(&self) -> bool {
        is_count(self.with_event) && is_count(self.evaluable)
    }
}

/// One month, or another period of equal length, of a series.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Period {
    /// Number of the period in the calendar: one more for each, so that gaps stay gaps.
    pub index: i32,
    /// What was counted in it.
    pub counted: Counted,
}

/// A count or an exposure: finite and not negative.
pub(crate) fn is_count(value: f64) -> bool {
    value.is_finite() && value >= 0.0
}

/// Error probability left on each side of a two-sided interval; `None` unless 0 < level < 1.
pub(crate) fn tail_of(confidence: f64) -> Option<f64> {
    (confidence > 0.0 && confidence < 1.0).then(|| (1.0 - confidence) / 2.0)
}

/// The φ that enters a formula: never below 1, and 1 where it was not estimated.
///
/// `None` for a φ that is not a finite number.
pub(crate) fn usable_phi(phi: Option<f64>) -> Option<f64> {
    match phi {
        None => Some(1.0),
        Some(value) if value.is_finite() => Some(value.max(1.0)),
        Some(_) => None,
    }
}
