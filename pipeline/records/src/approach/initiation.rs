//! The moment a go-around began.

use crate::series::Series;

use super::low_points::LowPoint;
use super::signals::Signals;

/// Initiation is looked for this long before the low point …
const BEFORE_S: f64 = 60.0;
/// … and after it: engines spool up while the aircraft still sinks through it.
const AFTER_S: f64 = 30.0;
/// Climb is positive once this much above the low point: more than a balloon in the flare.
const POSITIVE_CLIMB_FT: f64 = 50.0;
/// Go-around thrust is at least this much above what was carried before.
const RISE_PCT: f64 = 10.0;
/// The rise is sustained if half of it remains for this long.
const SUSTAINED_S: f64 = 5.0;
/// Engines creep up to their last few percent: the rise is followed back from here below its top.
const TOP_PCT: f64 = 6.0;
/// Engines that spool up for a climb gain at least this; corrections on the path gain less.
const SPOOL_PCT_S: f64 = 2.5;

/// When, and whether it is only the low point for want of anything better.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Initiation {
    pub(crate) time_s: f64,
    pub(crate) from_low_point: bool,
}

/// TOGA, else the sustained thrust rise that precedes positive climb, else the low point.
pub(crate) fn initiation(signals: &Signals, low: &LowPoint) -> Initiation {
    let climb_s = signals
        .altitude
        .between(low.low_s, f64::INFINITY)
        .find(|s| s.1 >= low.low_ft + POSITIVE_CLIMB_FT)
        .map_or(low.low_s + AFTER_S, |s| s.0);
    let window = (
        low.low_s - BEFORE_S,
        climb_s.max(low.low_s).min(low.low_s + AFTER_S),
    );
    let found = pressed(&signals.toga, window).or_else(|| thrust_rise(&signals.thrust, window));
    Initiation {
        time_s: found.unwrap_or(low.low_s),
        from_low_point: found.is_none(),
    }
}

/// The mode becomes active inside the window.
fn pressed(toga: &Series, (from_s, to_s): (f64, f64)) -> Option<f64> {
    let (first, end) = (toga.from(from_s), toga.upto(to_s));
    (first..end)
        .find(|&i| toga.value[i] == 1.0 && i.checked_sub(1).is_none_or(|b| toga.value[b] != 1.0))
        .map(|i| toga.time_s[i])
}

/// Where the last rise to the highest thrust of the window began.
fn thrust_rise(thrust: &Series, (from_s, to_s): (f64, f64)) -> Option<f64> {
    let (first, end) = (thrust.from(from_s), thrust.upto(to_s));
    let value = &thrust.value;
    let peak = (first..end).reduce(|a, b| if value[b] > value[a] { b } else { a })?;
    let top = (first..=peak).find(|&i| value[i] >= value[peak] - TOP_PCT)?;
    // Over two samples: one of them may stand still through the recorder's steps.
    let spooling = |i: usize| {
        [1, 2].iter().any(|&n| {
            i >= first + n
                && value[i] - value[i - n]
                    >= SPOOL_PCT_S * (thrust.time_s[i] - thrust.time_s[i - n])
        })
    };
    let foot = (first..=top).rev().find(|&i| !spooling(i))?;
    let rise_pct = value[peak] - value[foot];
    let sustained = thrust
        .between(thrust.time_s[top], thrust.time_s[top] + SUSTAINED_S)
        .all(|s| s.1 >= value[foot] + rise_pct / 2.0);
    let known_after_s = thrust.time_s.last()? - thrust.time_s[top];
    (rise_pct >= RISE_PCT && sustained && known_after_s >= SUSTAINED_S).then(|| thrust.time_s[foot])
}
