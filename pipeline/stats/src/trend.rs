//! Whether a series may be called a trend: enough data, a slope that survives correction, ranks that agree.

use crate::numerics::student_quantile_upper;
use crate::slope::{Season, Slope, slope};
use crate::{Period, benjamini_hochberg, mann_kendall};

/// Thresholds of the call; judgement, not a standard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrendRules {
    /// Largest adjusted p of a call.
    pub q: f64,
    /// Largest p of the rank test, which has to point the same way.
    pub p_mann_kendall: f64,
    /// Smallest slope that is called, per cent a period.
    pub least_pct: f64,
    /// Fewest periods with approaches.
    pub least_periods: usize,
    /// Fewest approaches with an event in all.
    pub least_events: f64,
    /// Fewest periods with an event.
    pub least_nonzero: usize,
}

impl Default for TrendRules {
    fn default() -> Self {
        Self {
            q: 0.05,
            p_mann_kendall: 0.10,
            least_pct: 1.0,
            least_periods: 12,
            least_events: 20.0,
            least_nonzero: 6,
        }
    }
}

/// What is said of a series.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Call {
    /// The rate rises.
    Rising,
    /// The rate falls.
    Falling,
    /// No trend is shown.
    NotShown(WhyNoTrend),
}

/// Why no trend is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WhyNoTrend {
    /// Too few periods with approaches.
    TooFewMonths,
    /// Too few approaches with an event.
    TooFewEvents,
    /// Too few periods with an event.
    TooFewMonthsWithEvents,
    /// The slope may well be none.
    NotSignificant,
    /// Alone it would be shown, among so many it is not.
    NotSignificantAfterCorrection,
    /// The ranks do not go the same way.
    CrossCheckDisagrees,
    /// It is shown, and too small to matter.
    TooSmall,
    /// No line can be fitted.
    Undefined,
}

/// Slope and cross-check of one series.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrendTest {
    /// The line; `None` where none can be fitted.
    pub slope: Option<Slope>,
    /// p of the rank test on the rates.
    pub mann_kendall_p: Option<f64>,
    /// Which way the ranks go: above zero where they rise.
    pub mann_kendall_s: i64,
}

/// Tests one series.
///
/// # Errors
/// It holds too little to say anything.
pub fn trend_test(
    series: &[Period],
    season: Season,
    rules: &TrendRules,
    confidence: f64,
) -> Result<TrendTest, WhyNoTrend> {
    let held: Vec<&Period> = series
        .iter()
        .filter(|p| p.counted.evaluable > 0.0)
        .collect();
    if held.len() < rules.least_periods {
        return Err(WhyNoTrend::TooFewMonths);
    }
    let events: f64 = held.iter().map(|p| p.counted.with_event).sum();
    if events < rules.least_events {
        return Err(WhyNoTrend::TooFewEvents);
    }
    if held.iter().filter(|p| p.counted.with_event > 0.0).count() < rules.least_nonzero {
        return Err(WhyNoTrend::TooFewMonthsWithEvents);
    }
    let rates: Vec<f64> = held
        .iter()
        .map(|p| p.counted.with_event / p.counted.evaluable)
        .collect();
    let ranks = mann_kendall(&rates);
    Ok(TrendTest {
        slope: slope(series, season, confidence),
        mann_kendall_p: ranks.map(|ranks| ranks.p),
        mann_kendall_s: ranks.map_or(0, |ranks| ranks.s),
    })
}

/// Calls the series of one family of tests; each with its adjusted p, in the order given. Series with too
/// little data are in no family: that depends on counts, not on which way they go.
#[must_use]
pub fn call_trends(
    tests: &[Result<TrendTest, WhyNoTrend>],
    rules: &TrendRules,
) -> Vec<(Option<f64>, Call)> {
    let slope = |test: &Result<TrendTest, WhyNoTrend>| test.as_ref().ok().and_then(|t| t.slope);
    let p: Vec<Option<f64>> = tests
        .iter()
        .map(|t| slope(t).map(|slope| slope.p))
        .collect();
    let adjusted = benjamini_hochberg(&p);
    tests
        .iter()
        .zip(adjusted)
        .map(|(test, q)| (q, call(test, q, rules)))
        .collect()
}

/// The smallest rise a period, in per cent, that the slope would have been significant for with the
/// probability `power`, alone in a family of so many tests: (t_{1−α/2} + t_power) standard errors, α = q/family.
///
/// The rank test and the smallest slope that is called are not in it. `None` where no line was fitted.
#[must_use]
pub fn detectable_slope_pct(
    test: &TrendTest,
    family: usize,
    power: f64,
    rules: &TrendRules,
) -> Option<f64> {
    let slope = test.slope?;
    let freedom = slope.degrees_of_freedom as f64;
    let alpha = rules.q / family.max(1) as f64;
    let errors = student_quantile_upper(alpha / 2.0, freedom)?
        + student_quantile_upper(1.0 - power, freedom)?;
    let pct = 100.0 * (errors * slope.log_se).exp_m1();
    pct.is_finite().then_some(pct)
}

fn call(test: &Result<TrendTest, WhyNoTrend>, q: Option<f64>, rules: &TrendRules) -> Call {
    let test = match test {
        Ok(test) => test,
        Err(why) => return Call::NotShown(*why),
    };
    let (Some(slope), Some(q), Some(p_ranks)) = (test.slope, q, test.mann_kendall_p) else {
        return Call::NotShown(WhyNoTrend::Undefined);
    };
    if slope.p > rules.q {
        return Call::NotShown(WhyNoTrend::NotSignificant);
    }
    if q > rules.q {
        return Call::NotShown(WhyNoTrend::NotSignificantAfterCorrection);
    }
    let rises = slope.pct_per_period > 0.0;
    if p_ranks >= rules.p_mann_kendall || (test.mann_kendall_s > 0) != rises {
        return Call::NotShown(WhyNoTrend::CrossCheckDisagrees);
    }
    match slope.pct_per_period {
        pct if pct.abs() < rules.least_pct => Call::NotShown(WhyNoTrend::TooSmall),
        _ if rises => Call::Rising,
        _ => Call::Falling,
    }
}
