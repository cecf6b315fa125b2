//! The known samples of one channel, for questions at any moment.

use crate::flight::Channel;
use crate::timebase::GAP_INTERVALS;

/// Known samples only, in time order; never holds a NaN.
#[derive(Debug, Clone, Default)]
pub(crate) struct Series {
    pub(crate) time_s: Vec<f64>,
    pub(crate) value: Vec<f64>,
    pub(crate) interval_s: f64,
    pub(crate) holds: bool,
}

impl Series {
    pub(crate) fn known(channel: &Channel) -> Self {
        Self::kept(channel, |v| !v.is_nan())
    }

    /// The samples whose value `keep` takes; it must not take NaN.
    pub(crate) fn kept(channel: &Channel, keep: impl Fn(f64) -> bool) -> Self {
        let (times, values) = (&channel.time_s, &channel.value);
        // Most channels are whole, and copied as they are.
        let (time_s, value) = if values.iter().all(|&v| keep(v)) {
            (times.clone(), values.clone())
        } else {
            let pairs = times.iter().zip(values).filter(|(_, v)| keep(**v));
            pairs_of(pairs.map(|(t, v)| (*t, *v)), values.len())
        };
        Self {
            time_s,
            value,
            interval_s: channel.interval_s,
            holds: channel.holds,
        }
    }

    /// The known samples of an optional channel; empty where there is none.
    pub(crate) fn of(channel: Option<&Channel>) -> Self {
        channel.map(Self::known).unwrap_or_default()
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.time_s.is_empty()
    }

    pub(crate) fn len(&self) -> usize {
        self.time_s.len()
    }

    /// Index of the first sample at or after `t`.
    pub(crate) fn from(&self, t: f64) -> usize {
        self.time_s.partition_point(|&s| s < t)
    }

    /// Index after the last sample at or before `t`.
    pub(crate) fn upto(&self, t: f64) -> usize {
        self.time_s.partition_point(|&s| s <= t)
    }

    /// Samples inside `[from_s, to_s]`.
    pub(crate) fn between(&self, from_s: f64, to_s: f64) -> impl Iterator<Item = (f64, f64)> + '_ {
        let range = self.from(from_s)..self.upto(to_s).max(self.from(from_s));
        self.time_s[range.clone()]
            .iter()
            .copied()
            .zip(self.value[range].iter().copied())
    }

    /// The last value at or before `t`, unless it is older than a gap.
    pub(crate) fn held(&self, t: f64) -> Option<f64> {
        let i = self.upto(t).checked_sub(1)?;
        (self.holds || t - self.time_s[i] <= self.gap_s()).then(|| self.value[i])
    }

    /// The value at `t` on the line between its neighbours, never across a gap.
    pub(crate) fn linear(&self, t: f64) -> Option<f64> {
        let after = self.from(t);
        if after < self.len() && self.time_s[after] == t {
            return Some(self.value[after]);
        }
        let before = after.checked_sub(1)?;
        if self.holds {
            return Some(self.value[before]);
        }
        let (ta, tb) = (self.time_s[before], *self.time_s.get(after)?);
        if tb - ta > self.gap_s() {
            return None;
        }
        let share = (t - ta) / (tb - ta);
        Some(self.value[before] + share * (self.value[after] - self.value[before]))
    }

    /// The longest spacing that is no gap; a clock written in binary fractions may miss by a hair.
    pub(crate) fn gap_s(&self) -> f64 {
        GAP_INTERVALS * self.interval_s + 1e-6
    }
}

/// Pairs as two lists, with room for `most`.
pub(crate) fn pairs_of(
    pairs: impl Iterator<Item = (f64, f64)>,
    most: usize,
) -> (Vec<f64>, Vec<f64>) {
    let (mut first, mut second) = (Vec::with_capacity(most), Vec::with_capacity(most));
    for (a, b) in pairs {
        first.push(a);
        second.push(b);
    }
    (first, second)
}

/// Middle value; the mean of the two middle ones for an even count, NaN for none.
pub(crate) fn median(mut values: Vec<f64>) -> f64 {
    if values.is_empty() {
        return f64::NAN;
    }
    values.sort_unstable_by(f64::total_cmp);
    let n = values.len();
    (values[(n - 1) / 2] + values[n / 2]) / 2.0
}

/// Smallest step between neighbouring known samples that is not zero: the recorder's resolution.
/// Zero where the channel never changes.
pub(crate) fn resolution(value: &[f64]) -> f64 {
    let mut smallest = f64::INFINITY;
    let mut last = f64::NAN;
    for &v in value.iter().filter(|v| !v.is_nan()) {
        let step = (v - last).abs();
        if step > 1e-9 {
            smallest = smallest.min(step);
        }
        last = v;
    }
    if smallest.is_finite() { smallest } else { 0.0 }
}

/// Signed difference of two angles, −180…180°.
pub(crate) fn turn_deg(from: f64, to: f64) -> f64 {
    (to - from + 540.0).rem_euclid(360.0) - 180.0
}
