//! Puts channels of any rate on one uniform grid without inventing or losing anything.
//!
//! Continuous values are interpolated, never across a gap longer than 2.5 of the channel's own
//! intervals; states hold for at most as long; peaks between grid points survive in their step.

use std::borrow::Cow;

use crate::catalogue::Kind;
use crate::flight::Channel;

/// A gap is a spacing of more than this many of the channel's own intervals.
pub const GAP_INTERVALS: f64 = 2.5;

/// Recorder clocks written as binary fractions miss whole seconds by less than this.
const CLOCK_TOLERANCE_S: f64 = 1e-6;

/// Uniform times: `start_s`, `start_s + step_s`, …; sample `k` covers `[time(k), time(k + 1))`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    /// Time of the first sample.
    pub start_s: f64,
    /// Spacing.
    pub step_s: f64,
    /// Number of samples.
    pub n: usize,
}

impl Grid {
    /// The grid of whole steps of record time inside `[from_s, to_s]`.
    pub fn covering(from_s: f64, to_s: f64, rate_hz: u32) -> Self {
        let step_s = 1.0 / f64::from(rate_hz.max(1));
        let first = (from_s / step_s - CLOCK_TOLERANCE_S).ceil();
        let last = (to_s / step_s + CLOCK_TOLERANCE_S).floor();
        let n = if last >= first {
            (last - first) as usize + 1
        } else {
            0
        };
        Self {
            start_s: first * step_s,
            step_s,
            n,
        }
    }

    /// Time of sample `k`.
    pub fn time(&self, k: usize) -> f64 {
        self.start_s + k as f64 * self.step_s
    }
}

/// The known native samples around one grid time: the last at or before it, the first after it.
struct Bracket {
    before: Option<(f64, f64)>,
    after: Option<(f64, f64)>,
}

impl Bracket {
    /// Whether both are there and no gap lies between them.
    fn joined(&self, limit_s: f64) -> Option<((f64, f64), (f64, f64))> {
        match (self.before, self.after) {
            (Some(a), Some(b)) if b.0 - a.0 <= limit_s => Some((a, b)),
            _ => None,
        }
    }
}

/// Value of the channel at every grid time; NaN where unknown.
pub fn sample(channel: &Channel, kind: Kind, grid: &Grid) -> Vec<f64> {
    let limit_s = gap_limit_s(channel);
    walk(channel, grid, |t, bracket| match bracket.before {
        None => f64::NAN,
        Some((_, value)) if channel.holds => value,
        Some((at, value)) if t - at <= CLOCK_TOLERANCE_S => value,
        Some((at, value)) => match kind {
            Kind::Slow | Kind::Discrete => {
                if t - at <= limit_s {
                    value
                } else {
                    f64::NAN
                }
            }
            Kind::Continuous | Kind::Circular | Kind::Longitude => {
                bracket.joined(limit_s).map_or(f64::NAN, |(a, b)| {
                    between(kind, a.1, b.1, (t - a.0) / (b.0 - a.0))
                })
            }
        },
    })
}

/// Lowest and highest value in every step `[t, t + step)`: the native samples in it and the value
/// at `t` itself, so that a peak between grid points is never lost. For continuous channels.
pub fn peaks(channel: &Channel, grid: &Grid) -> (Vec<f64>, Vec<f64>) {
    let mut low = sample(channel, Kind::Continuous, grid);
    let mut high = low.clone();
    // A step to either side leaves the decision to the position.
    let first = channel
        .time_s
        .partition_point(|&t| t < grid.start_s - grid.step_s);
    let end = channel
        .time_s
        .partition_point(|&t| t <= grid.time(grid.n) + grid.step_s);
    let times = &channel.time_s[first..end.max(first)];
    for (&t, &value) in times.iter().zip(&channel.value[first..]) {
        let position = (t - grid.start_s + CLOCK_TOLERANCE_S) / grid.step_s;
        if value.is_nan() || position < 0.0 || position >= grid.n as f64 {
            continue;
        }
        let k = position as usize;
        // f64::min and f64::max ignore NaN: a step known only by its native samples counts.
        low[k] = low[k].min(value);
        high[k] = high[k].max(value);
    }
    (low, high)
}

/// 1 where the native samples around a grid time differ, so that the state in between is not
/// known; 0 where they agree, where a native sample falls on the grid time or where the channel
/// records every change at its moment; NaN where the channel is unknown.
pub fn uncertain(channel: &Channel, grid: &Grid) -> Vec<f64> {
    let limit_s = gap_limit_s(channel);
    walk(channel, grid, |t, bracket| match bracket.before {
        None => f64::NAN,
        Some(_) if channel.holds => 0.0,
        Some((at, _)) if t - at <= CLOCK_TOLERANCE_S => 0.0,
        Some((at, _)) if t - at > limit_s => f64::NAN,
        Some(_) => match bracket.joined(limit_s) {
            Some((a, b)) if a.1 != b.1 => 1.0,
            _ => 0.0,
        },
    })
}

/// Median spacing of the known samples; 0 with fewer than two.
pub fn interval_s(time_s: &[f64], value: &[f64]) -> f64 {
    let known = known_times(time_s, value);
    let Some(spacings) = known.len().checked_sub(1).filter(|count| *count > 0) else {
        return 0.0;
    };
    let steps = || known.windows(2).map(|pair| pair[1] - pair[0]);
    let middle = spacings / 2;
    // Most recorders keep their spacing: then any of them is the median, and nothing needs sorting.
    let usual = known[middle + 1] - known[middle];
    let (mut less, mut alike) = (0, 0);
    for step in steps() {
        less += usize::from(step < usual);
        alike += usize::from(step == usual);
    }
    if (less..less + alike).contains(&middle) {
        return usual;
    }
    let mut spacing: Vec<f64> = steps().collect();
    *spacing.select_nth_unstable_by(middle, f64::total_cmp).1
}

/// Times of the known samples, s; those of a channel that is known throughout are not copied.
pub(crate) fn known_times<'a>(time_s: &'a [f64], value: &[f64]) -> Cow<'a, [f64]> {
    if !value.iter().any(|v| v.is_nan()) {
        return Cow::Borrowed(time_s);
    }
    let known = time_s.iter().zip(value).filter(|(_, v)| !v.is_nan());
    Cow::Owned(known.map(|(&t, _)| t).collect())
}

fn gap_limit_s(channel: &Channel) -> f64 {
    GAP_INTERVALS * channel.interval_s + CLOCK_TOLERANCE_S
}

fn walk(channel: &Channel, grid: &Grid, mut f: impl FnMut(f64, Bracket) -> f64) -> Vec<f64> {
    // A long flight before the grid is passed over, down to its last known sample.
    let begin = channel
        .time_s
        .partition_point(|&t| t <= grid.start_s + CLOCK_TOLERANCE_S);
    let known = |i: &usize| !channel.value[*i].is_nan();
    let at = |i: usize| (channel.time_s[i], channel.value[i]);
    let mut before = (0..begin).rev().find(known).map(at);
    let mut known = (begin..channel.value.len()).filter(known).map(at);
    let mut after = known.next();
    (0..grid.n)
        .map(|k| {
            let t = grid.time(k);
            while let Some(next) = after {
                if next.0 > t + CLOCK_TOLERANCE_S {
                    break;
                }
                before = Some(next);
                after = known.next();
            }
            f(t, Bracket { before, after })
        })
        .collect()
}

fn between(kind: Kind, a: f64, b: f64, share: f64) -> f64 {
    let turn = |low: f64| {
        let arc = (b - a + 180.0).rem_euclid(360.0) - 180.0;
        let angle = (a + arc * share - low).rem_euclid(360.0) + low;
        // rem_euclid of a tiny negative number may round to the full turn.
        if angle >= low + 360.0 { low } else { angle }
    };
    match kind {
        Kind::Circular => turn(0.0),
        Kind::Longitude => turn(-180.0),
        _ => a + (b - a) * share,
    }
}

#[cfg(test)]
mod tests;
