//! Columns read sample by sample, where what is not known is neither yes nor no.

use crate::derive::{Columns, Segment};

/// Habits are looked for from here, where checkpoints begin, …
const FAR_NM: f64 = 20.0;
/// … to here: inside it the landing is flown.
const NEAR_NM: f64 = 3.0;
/// A measure is unknown where more than this share of its window is: judgement.
const UNKNOWN_SHARE: f64 = 0.1;
/// Speedbrake up to here counts as stowed: a handle rests a little off zero. Judgement.
pub(super) const STOWED: f64 = 0.1;

/// The columns of one approach up to its touchdown or go-around.
pub(super) struct View<'a> {
    columns: &'a Columns,
    distance: Column<'a>,
    speedbrake: Column<'a>,
    lever: Column<'a>,
    gear_down: Column<'a>,
    gear_lever: Column<'a>,
}

/// One column; unknown throughout where it is not there.
#[derive(Clone, Copy)]
pub(super) struct Column<'a>(Option<&'a [f64]>);

impl Column<'_> {
    pub(super) fn at(self, k: usize) -> Option<f64> {
        self.0?.get(k).copied().filter(|v| !v.is_nan())
    }

    pub(super) fn over(self, k: usize, limit: f64) -> Option<bool> {
        Some(self.at(k)? > limit)
    }
}

impl<'a> View<'a> {
    pub(super) fn new(columns: &'a Columns) -> Self {
        let column = |name: &str| Column(columns.values(name));
        Self {
            distance: column("distance_to_threshold_nm"),
            speedbrake: column("speedbrake"),
            lever: column("flap_lever"),
            gear_down: column("gear_down"),
            gear_lever: column("gear_lever"),
            columns,
        }
    }

    pub(super) fn column(&self, name: &str) -> Column<'a> {
        Column(self.columns.values(name))
    }

    pub(super) fn step_s(&self) -> f64 {
        self.columns.grid.step_s
    }

    /// Samples that last this long, at least one.
    pub(super) fn samples_in(&self, seconds: f64) -> usize {
        (seconds / self.step_s()).ceil().max(1.0) as usize
    }

    /// The samples of the approach segment, in order.
    pub(super) fn approach(&self) -> impl Iterator<Item = usize> + '_ {
        let segment = &self.columns.segment;
        (0..self.columns.grid.n).filter(|&k| segment[k] == Segment::Approach)
    }

    pub(super) fn distance_nm(&self, k: usize) -> Option<f64> {
        self.distance.at(k)
    }

    /// Between 20 and 3 NM of track distance.
    pub(super) fn in_window(&self, k: usize) -> Option<bool> {
        Some((NEAR_NM..=FAR_NM).contains(&self.distance_nm(k)?))
    }

    pub(super) fn speedbrake_out(&self, k: usize) -> Option<bool> {
        self.speedbrake.over(k, STOWED)
    }

    pub(super) fn flap_lever(&self, k: usize) -> Option<f64> {
        self.lever.at(k)
    }

    /// Down and locked; as selected where that is not recorded.
    pub(super) fn gear_down(&self, k: usize) -> Option<bool> {
        self.gear_down
            .over(k, 0.5)
            .or_else(|| self.gear_lever.over(k, 0.5))
    }

    /// The verdict on every sample of the approach that lies in the window, in order; unknown ones
    /// among them. None where too many are unknown, or some are while no other is a yes, or where there
    /// is no sample to judge.
    pub(super) fn judged(
        &self,
        member: impl Fn(usize) -> Option<bool>,
        verdict: impl Fn(usize) -> Option<bool>,
    ) -> Option<Vec<(usize, Option<bool>)>> {
        let judged: Vec<(usize, Option<bool>)> = self
            .approach()
            .filter_map(|k| match member(k) {
                Some(false) => None,
                Some(true) => Some((k, verdict(k))),
                None => Some((k, verdict(k).filter(|yes| !yes))),
            })
            .collect();
        let count = |wanted| judged.iter().filter(|j| j.1 == wanted).count();
        let (unknown, yes) = (count(None), count(Some(true)));
        let few = unknown as f64 <= UNKNOWN_SHARE * judged.len() as f64;
        // None of something is only what is known to be none.
        let known = !judged.is_empty() && few && (yes > 0 || unknown == 0);
        known.then_some(judged)
    }

    /// Seconds for which the verdict is yes.
    pub(super) fn seconds(&self, judged: &[(usize, Option<bool>)]) -> f64 {
        judged.iter().filter(|j| j.1 == Some(true)).count() as f64 * self.step_s()
    }
}

/// Yes where all are, no where one is not, else unknown.
pub(super) fn all<const N: usize>(conditions: [Option<bool>; N]) -> Option<bool> {
    if conditions.contains(&Some(false)) {
        return Some(false);
    }
    (!conditions.contains(&None)).then_some(true)
}

pub(super) fn not(condition: Option<bool>) -> Option<bool> {
    condition.map(|yes| !yes)
}

/// Stretches of neighbouring samples whose verdict is yes.
pub(super) fn stretches(judged: &[(usize, Option<bool>)]) -> Vec<std::ops::RangeInclusive<usize>> {
    let mut found: Vec<std::ops::RangeInclusive<usize>> = Vec::new();
    for &(k, _) in judged.iter().filter(|j| j.1 == Some(true)) {
        match found.last_mut() {
            Some(last) if *last.end() + 1 == k => *last = *last.start()..=k,
            _ => found.push(k..=k),
        }
    }
    found
}
