//! The chart of a series against limits from a frozen baseline: exact tails instead of "three sigma", which
//! is wrong for small counts. One rule more: nine periods in a row on one side.

use crate::compare::one_sided_p;
use crate::numerics::first_whole;
use crate::{Counted, Period, lower_tail, upper_tail};

/// Probability beyond a limit on one side: that of three standard deviations of a normal variable.
pub const BEYOND: f64 = 0.00135;
/// Periods in a row on one side that are told.
pub const RUN: usize = 9;
/// Smaller expected counts are not symmetric enough for runs to mean anything.
const EXPECTED_FOR_RUNS: f64 = 5.0;
/// With fewer events in the baseline its own error counts.
const FEW_IN_BASELINE: f64 = 50.0;

/// On which side of what was expected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// More.
    Above,
    /// Fewer.
    Below,
}

/// One period of the chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChartPoint {
    /// Count expected at the baseline's rate.
    pub expected: f64,
    /// Largest count that is outside below; `None` where even none is not.
    pub low: Option<f64>,
    /// Smallest count that is outside above.
    pub high: f64,
    /// On which side the count is outside, if it is.
    pub outside: Option<Side>,
    /// Set where at least nine periods in a row, this one the last, lie on one side.
    pub run: Option<Side>,
}

/// The chart of `series`, in its order, against a baseline that contains none of it.
///
/// Limits are exact: Poisson for φ = 1, else negative binomial; with fewer than 50 events in the baseline
/// the two-rate test that counts its error too. A period without approaches is `None` and, as a gap in the
/// index does, ends runs. All `None` where the baseline has no event or numbers are unusable.
#[must_use]
pub fn chart(baseline: Counted, series: &[Period], phi: Option<f64>) -> Vec<Option<ChartPoint>> {
    let rate = baseline.with_event / baseline.evaluable;
    let sound = baseline.is_sound() && rate.is_finite() && rate > 0.0;
    let mut points: Vec<Option<ChartPoint>> = series
        .iter()
        .map(|period| {
            let usable = sound && period.counted.is_sound() && period.counted.evaluable > 0.0;
            usable.then(|| point(baseline, rate, period.counted, phi))?
        })
        .collect();
    runs(series, &mut points);
    points
}

fn point(baseline: Counted, rate: f64, counted: Counted, phi: Option<f64>) -> Option<ChartPoint> {
    let expected = rate * counted.evaluable;
    let tails = |count: f64| {
        if baseline.with_event < FEW_IN_BASELINE {
            one_sided_p(Counted::new(count, counted.evaluable), baseline, 1.0, phi)
        } else {
            Some((
                upper_tail(count, expected, phi)?,
                lower_tail(count, expected, phi)?,
            ))
        }
    };
    let is_high = |count: f64| tails(count).is_some_and(|(upper, _)| upper <= BEYOND);
    let is_low = |count: f64| tails(count).is_some_and(|(_, lower)| lower <= BEYOND);
    let high = first_whole(expected.ceil(), is_high)?;
    let low = last_low(expected, is_low);
    let outside = if counted.with_event >= high {
        Some(Side::Above)
    } else if low.is_some_and(|low| counted.with_event <= low) {
        Some(Side::Below)
    } else {
        None
    };
    Some(ChartPoint {
        expected,
        low,
        high,
        outside,
        run: None,
    })
}

/// The largest whole count below `expected` for which `holds`, which it does for all before it.
fn last_low(expected: f64, holds: impl Fn(f64) -> bool) -> Option<f64> {
    if !holds(0.0) {
        return None;
    }
    let (mut low, mut high) = (0.0, expected.ceil());
    while high - low > 1.0 {
        let middle = f64::midpoint(low, high).floor();
        if holds(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(low)
}

fn runs(series: &[Period], points: &mut [Option<ChartPoint>]) {
    let held: Vec<f64> = points
        .iter()
        .flatten()
        .map(|point| point.expected)
        .collect();
    let mean = held.iter().sum::<f64>() / held.len() as f64;
    if held.is_empty() || mean < EXPECTED_FOR_RUNS {
        return;
    }
    let mut run: Option<(Side, usize)> = None;
    for (place, (period, point)) in series.iter().zip(points.iter_mut()).enumerate() {
        let follows = place > 0 && period.index == series[place - 1].index + 1;
        let side = point.as_ref().and_then(|point| {
            match period.counted.with_event.partial_cmp(&point.expected)? {
                std::cmp::Ordering::Greater => Some(Side::Above),
                std::cmp::Ordering::Less => Some(Side::Below),
                std::cmp::Ordering::Equal => None,
            }
        });
        run = match (side, run) {
            (Some(side), Some((before, length))) if side == before && follows => {
                Some((side, length + 1))
            }
            (Some(side), _) => Some((side, 1)),
            (None, _) => None,
        };
        if let (Some(point), Some((side, length))) = (point.as_mut(), run)
            && length >= RUN
        {
            point.run = Some(side);
        }
    }
}
