//! Stretches of equal values, and whether a hole lies between two samples.

use crate::flight::Channel;
use crate::timebase::GAP_INTERVALS;

use super::limits::LEVEL_ENTRY_FT;
use super::settable::{ALTITUDE, Key, Limits};

/// Cuts indices into runs of equal neighbours.
pub(super) fn equal_runs(
    indices: &[usize],
    same: impl Fn(usize, usize) -> bool,
) -> impl Iterator<Item = &[usize]> {
    indices.chunk_by(move |&a, &b| same(a, b))
}

/// The known samples of a channel, and the spacing of all that were recorded.
pub(super) struct Steps<'a> {
    time_s: &'a [f64],
    longest_s: f64,
    /// Indices of the known samples.
    pub(super) known: Vec<usize>,
}

impl<'a> Steps<'a> {
    pub(super) fn of(channel: &'a Channel) -> Self {
        let mut known = Vec::with_capacity(channel.value.len());
        known.extend((0..channel.value.len()).filter(|&i| !channel.value[i].is_nan()));
        Self {
            time_s: &channel.time_s,
            longest_s: GAP_INTERVALS * channel.interval_s + 1e-6,
            known,
        }
    }

    /// Whether the recorder spoke all the way between two samples. A sample that was taken out by
    /// another check is no hole: the recorder did speak there.
    pub(super) fn joined(&self, from: usize, to: usize) -> bool {
        self.time_s[from..=to]
            .windows(2)
            .all(|pair| pair[1] - pair[0] <= self.longest_s)
    }
}

/// One stretch of equal values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Run {
    pub(super) value: f64,
    pub(super) from_s: f64,
    pub(super) to_s: f64,
}

impl Run {
    pub(super) fn held_s(&self) -> f64 {
        self.to_s - self.from_s
    }
}

/// A run of equal values with its samples.
pub(super) type Held<'a> = (Run, &'a [usize]);

/// Runs of equal values with their samples, one after the other. Noise makes as many runs as samples.
pub(super) fn each_run<'a>(
    channel: &'a Channel,
    known: &'a [usize],
) -> impl Iterator<Item = Held<'a>> {
    let value = &channel.value;
    equal_runs(known, |a, b| value[a] == value[b]).filter_map(|samples| {
        let (first, last) = (*samples.first()?, *samples.last()?);
        let run = Run {
            value: value[first],
            from_s: channel.time_s[first],
            to_s: channel.time_s[last],
        };
        Some((run, samples))
    })
}

/// All runs, where one is looked at beside another.
pub(super) fn runs_of<'a>(channel: &'a Channel, known: &'a [usize]) -> Vec<Held<'a>> {
    let mut all = Vec::with_capacity(known.len());
    all.extend(each_run(channel, known));
    all
}

/// The samples of a stuck run that are not real. The first is, and all others repeat it, unless it
/// came out of a hole or by a leap: then it is none either.
pub(super) fn repeats<'a>(
    name: &str,
    channel: &Channel,
    limits: &Limits,
    steps: &Steps,
    samples: &'a [usize],
) -> &'a [usize] {
    let leap = match limits.of(name, Key::Leap) {
        Some(leap) => leap,
        None if name == ALTITUDE => LEVEL_ENTRY_FT,
        None => return &samples[1..],
    };
    let first = samples[0];
    let at = steps.known.partition_point(|&i| i < first);
    let real = at.checked_sub(1).is_some_and(|at| {
        let before = steps.known[at];
        let step = limits.away(name)(channel.value[before], channel.value[first]);
        step.abs() <= leap && steps.joined(before, first)
    });
    if real { &samples[1..] } else { samples }
}
