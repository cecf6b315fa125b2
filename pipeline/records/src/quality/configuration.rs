//! Flap lever against surfaces, gear against its lever.
//!
//! A lever that hides a selection, or shows one that was none, cannot be told from its own numbers:
//! states repeat by nature. But surfaces move only where a lever sends them, and they take their
//! time. Surfaces that stay behind the lever prove nothing: load relief and jams do that.

use crate::fleet::AircraftType;
use crate::flight::{Channel, RawFlight};
use crate::series::Series;

use super::Tallies;
use super::limits::{
    BEYOND_DEG, DETENT_DEG, GEAR_FLIP_S, GEAR_LATE_S, GEAR_TRANSIT_S, LEVER_FLIP_S, LEVER_LEAD_S,
    RETRACT_DEG, RETRACT_LAG_S, SURFACE_LATE_S, SURFACE_OFF_DEG, SURFACE_STEP,
};
use super::runs::{Held, Run, Steps, runs_of};
use super::spikes::null;

/// Nulls lever positions that the surfaces contradict.
pub(super) fn lever(
    flight: &mut RawFlight,
    aircraft: Option<&AircraftType>,
    tallies: &mut Tallies,
) {
    let name = "flap_lever";
    let surface = Series::of(flight.channels.get("flap_angle_deg"));
    let Some(channel) = flight.channels.get_mut(name).filter(|c| !c.holds) else {
        return;
    };
    let detent = |lever: f64| -> Option<f64> {
        let index = (lever >= 0.0 && lever.fract() == 0.0).then_some(lever as usize)?;
        Some(aircraft?.levers.get(index)?.flap_deg)
    };
    let flips = flips(channel, &surface, detent);
    let mut nulled = null(channel, &flips);
    let behind = behind(channel, &surface, detent);
    nulled += null(channel, &behind);
    let tally = tallies.entry(name.to_owned()).or_default();
    tally.stuck += nulled;
    tally.stuck_s += nulled as f64 * channel.interval_s;
}

/// Positions taken and left again for a moment, outside of those before and after, while the
/// surfaces take no notice.
fn flips(channel: &Channel, surface: &Series, detent: impl Fn(f64) -> Option<f64>) -> Vec<usize> {
    let steps = Steps::of(channel);
    let mut found = Vec::new();
    for three in runs_of(channel, &steps.known).windows(3) {
        let [(before, _), (run, samples), (after, _)] = three else {
            continue;
        };
        let (low, high) = (before.value.min(after.value), before.value.max(after.value));
        let outside = run.value < low || run.value > high;
        if !outside || after.from_s - before.to_s > LEVER_FLIP_S {
            continue;
        }
        let angles: Vec<f64> = surface
            .between(run.from_s, after.from_s + LEVER_LEAD_S)
            .map(|s| s.1)
            .collect();
        let ignored = match (detent(low), detent(high), angles.is_empty()) {
            (Some(least), Some(most), false) => angles
                .iter()
                .all(|deg| (least - DETENT_DEG..=most + DETENT_DEG).contains(deg)),
            // Nothing to compare with: two positions away and back is no way to use a lever.
            _ => (run.value - low).abs().min((run.value - high).abs()) >= 2.0,
        };
        if ignored {
            found.extend_from_slice(samples);
        }
    }
    found
}

/// Positions that the surfaces have gone beyond: the lever was moved on and the recorder did not
/// say so. They are unknown from when the surfaces left, and a moment before, to the next change.
fn behind(channel: &Channel, surface: &Series, detent: impl Fn(f64) -> Option<f64>) -> Vec<usize> {
    let steps = Steps::of(channel);
    let runs = runs_of(channel, &steps.known);
    let mut found = Vec::new();
    for (i, (run, samples)) in runs.iter().enumerate() {
        let Some(detent) = detent(run.value) else {
            continue;
        };
        let lowered = i > 0 && runs[i - 1].0.value > run.value;
        let contradicts = |t: f64| {
            let now = surface.linear(t)?;
            let earlier = surface.linear(t - RETRACT_LAG_S)?;
            let retracting = earlier - now >= RETRACT_DEG;
            let excused = lowered && t - run.from_s <= 2.0 * RETRACT_LAG_S;
            Some(now > detent + BEYOND_DEG && !retracting && !excused)
        };
        let at = |t: f64| contradicts(t) == Some(true);
        let seen = samples.iter().filter(|&&k| at(channel.time_s[k]));
        let Some(&first) = seen.clone().next().filter(|_| seen.count() >= 2) else {
            continue;
        };
        let left_s = surface
            .between(run.from_s, channel.time_s[first])
            .filter(|s| s.1 <= detent + DETENT_DEG)
            .last()
            .map_or(run.from_s, |s| s.0);
        found.extend(
            samples
                .iter()
                .copied()
                .filter(|&k| channel.time_s[k] > left_s - LEVER_LEAD_S),
        );
    }
    found
}

/// Nulls surfaces that stand long after their lever was moved, and then are there in one step.
///
/// Surfaces that are late prove nothing, as load relief holds them back, but they still take their
/// time: the other steps of the flight show how much they move from one sample to the next.
pub(super) fn surfaces(
    flight: &mut RawFlight,
    aircraft: Option<&AircraftType>,
    tallies: &mut Tallies,
) {
    let name = "flap_angle_deg";
    let lever = Series::of(flight.channels.get("flap_lever"));
    let Some((aircraft, channel)) = aircraft.zip(flight.channels.get_mut(name)) else {
        return;
    };
    if channel.holds {
        return;
    }
    let steps = Steps::of(channel);
    let runs = runs_of(channel, &steps.known);
    let late = |run: &Run| -> Option<f64> {
        let position = lever.held(run.to_s)?;
        let detent = aircraft.levers.get(position as usize)?.flap_deg;
        let there = lever.value[..lever.upto(run.to_s)].iter().rev();
        let since = there.take_while(|v| **v == position).count();
        let moved_s = *lever.time_s.get(lever.upto(run.to_s).checked_sub(since)?)?;
        let waited_s = run.to_s - moved_s.max(run.from_s);
        let off = (detent - run.value).abs() >= SURFACE_OFF_DEG;
        (off && waited_s >= SURFACE_LATE_S).then_some(moved_s)
    };
    let step = |pair: &[Held]| {
        let step_s = pair[1].0.from_s - pair[0].0.to_s;
        (pair[1].0.value - pair[0].0.value).abs() / step_s.max(1e-3)
    };
    let usual = runs
        .windows(2)
        .filter(|pair| late(&pair[0].0).is_none())
        .map(step)
        .fold(0.0, f64::max);
    let mut found = Vec::new();
    for pair in runs.windows(2) {
        let (run, samples) = &pair[0];
        let Some(moved_s) = late(run).filter(|_| usual > 0.0 && step(pair) > SURFACE_STEP * usual)
        else {
            continue;
        };
        let stale = samples.iter().filter(|&&k| channel.time_s[k] > moved_s);
        found.extend(stale.copied());
    }
    let nulled = null(channel, &found);
    let tally = tallies.entry(name.to_owned()).or_default();
    tally.stuck += nulled;
    tally.stuck_s += nulled as f64 * channel.interval_s;
}

/// Nulls gear positions that no gear can take.
pub(super) fn gear(flight: &mut RawFlight, tallies: &mut Tallies) {
    let name = "gear_down";
    let lever = Series::of(flight.channels.get("gear_lever"));
    let Some(channel) = flight.channels.get_mut(name).filter(|c| !c.holds) else {
        return;
    };
    let steps = Steps::of(channel);
    let runs = runs_of(channel, &steps.known);
    let mut found = Vec::new();
    for three in runs.windows(3) {
        let [(before, _), (run, samples), (after, _)] = three else {
            continue;
        };
        let away_s = after.from_s - before.to_s;
        if before.value == after.value && flipped(run, away_s, &lever) {
            found.extend_from_slice(samples);
        }
    }
    found.extend(late(channel, &runs, &lever));
    found.extend(early(channel, &runs, &lever));
    let nulled = null(channel, &found);
    let tally = tallies.entry(name.to_owned()).or_default();
    tally.stuck += nulled;
    tally.stuck_s += nulled as f64 * channel.interval_s;
}

/// A change there and back that is faster than any gear, or that its lever knows nothing of.
fn flipped(run: &Run, away_s: f64, lever: &Series) -> bool {
    let mut handle = lever
        .between(run.from_s - GEAR_TRANSIT_S, run.to_s)
        .peekable();
    let ignored = handle.peek().is_some() && handle.all(|s| s.1 != run.value);
    away_s <= GEAR_FLIP_S || (ignored && away_s <= LEVER_FLIP_S)
}

/// Gear that is said to be down before its lever was moved.
fn early(channel: &Channel, runs: &[Held], lever: &Series) -> Vec<usize> {
    let mut found = Vec::new();
    for pair in runs.windows(2) {
        let [(up, _), (down, samples)] = pair else {
            continue;
        };
        let retracting = lever
            .between(up.from_s - GEAR_TRANSIT_S, down.from_s)
            .any(|s| s.1 != 0.0);
        if up.value != 0.0 || down.value != 1.0 || retracting || lever.held(down.from_s).is_none() {
            continue;
        }
        let moved_s = lever
            .between(down.from_s, down.to_s)
            .find(|s| s.1 != 0.0)
            .map_or(f64::NEG_INFINITY, |s| s.0);
        found.extend(
            samples
                .iter()
                .copied()
                .filter(|&k| channel.time_s[k] <= moved_s),
        );
    }
    found
}

/// Gear that is locked down much later than any gear needs once its lever was moved.
fn late(channel: &Channel, runs: &[Held], lever: &Series) -> Vec<usize> {
    let mut found = Vec::new();
    for pair in runs.windows(2) {
        let [(up, samples), (down, _)] = pair else {
            continue;
        };
        if up.value != 0.0 || down.value != 1.0 {
            continue;
        }
        let moved = lever
            .between(up.from_s, down.from_s)
            .filter(|s| s.1 == 0.0)
            .last()
            .map(|s| s.0);
        let Some(moved_s) = moved.filter(|s| lever.held(down.from_s) == Some(1.0) && *s > 0.0)
        else {
            continue;
        };
        if down.from_s - moved_s > GEAR_LATE_S {
            found.extend(
                samples
                    .iter()
                    .copied()
                    .filter(|&k| channel.time_s[k] > moved_s + GEAR_TRANSIT_S),
            );
        }
    }
    found
}
