//! Where an approach begins.

use crate::series::{Series, resolution};

use super::low_points::LowPoint;
use super::signals::Signals;

/// Approaches are flown below this.
const START_AAL_FT: f64 = 10_000.0;
/// The end of a climb is reached within this of its top.
const TOP_FT: f64 = 30.0;

/// Last descent through 10,000 ft above the airfield; where the flight since the last take-off or
/// missed approach stayed below, the end of its climb, or the start of the record.
///
/// `zero_ft` is the pressure altitude of the airfield.
pub(crate) fn start_s(altitude: &Series, low: &LowPoint, zero_ft: f64) -> f64 {
    let level = zero_ft + START_AAL_FT;
    let (first, end) = (altitude.from(low.since_s), altitude.upto(low.low_s));
    let above = (first..end).rev().find(|&i| altitude.value[i] > level);
    if let Some(i) = above
        && i + 1 < end
    {
        let (a, b) = (altitude.value[i], altitude.value[i + 1]);
        let (ta, tb) = (altitude.time_s[i], altitude.time_s[i + 1]);
        return ta + (tb - ta) * (a - level) / (a - b);
    }
    let top = altitude.value[first..end]
        .iter()
        .copied()
        .fold(f64::NEG_INFINITY, f64::max);
    (first..end)
        .find(|&i| altitude.value[i] >= top - TOP_FT)
        .map_or(low.since_s, |i| altitude.time_s[i])
}

/// A landing that was not seen ends where altitude first reached its lowest level.
pub(crate) fn level_s(signals: &Signals, low: &LowPoint) -> f64 {
    let step_ft = resolution(&signals.altitude.value);
    signals
        .altitude
        .between(low.near_s, low.low_s)
        .find(|s| s.1 <= low.low_ft + step_ft)
        .map_or(low.low_s, |s| s.0)
}
