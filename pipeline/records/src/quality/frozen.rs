//! A receiver that repeats its last message: altitude, ground speed and position that stand still
//! while the aircraft does not. The first of the repeated samples is real and stays.

use crate::airfield::rough_distance_nm;
use crate::flight::RawFlight;
use crate::series::{Series, resolution};

use super::Tallies;
use super::limits::{
    HOLD_JUMP_FT, HOLD_S, MOVING_FT, MOVING_KT, SPEED_SHARE, SPEED_SLACK_KT, SPEED_STUCK_S,
};

/// Altitude that stands for seconds and then falls or rises by what it missed.
pub(super) fn held_altitude(flight: &mut RawFlight, tallies: &mut Tallies) {
    let name = "pressure_altitude_ft";
    let Some(channel) = flight.channels.get_mut(name) else {
        return;
    };
    if channel.holds {
        return;
    }
    let jump_ft = HOLD_JUMP_FT.max(2.0 * resolution(&channel.value));
    let known: Vec<usize> = (0..channel.value.len())
        .filter(|&i| !channel.value[i].is_nan())
        .collect();
    let runs = equal_runs(&known, |a, b| channel.value[a] == channel.value[b]);
    let mut stale = Vec::new();
    for pair in runs.windows(2) {
        let (Some(&first), Some(&last)) = (pair[0].first(), pair[0].last()) else {
            continue;
        };
        let Some(&next) = pair[1].first() else {
            continue;
        };
        let step_s = channel.time_s[next] - channel.time_s[last];
        let held_s = channel.time_s[last] - channel.time_s[first];
        let jump = (channel.value[next] - channel.value[last]).abs();
        // Only a step without a hole tells: after a hole any change is possible.
        if held_s >= HOLD_S
            && step_s <= 1.5 * channel.interval_s
            && jump > jump_ft * step_s.max(1.0)
        {
            stale.extend_from_slice(&pair[0][1..]);
        }
    }
    for &i in &stale {
        channel.value[i] = f64::NAN;
    }
    tallies.entry(name.to_owned()).or_default().stale += stale.len() as i64;
}

/// Ground speed that repeats while the positions tell another speed.
pub(super) fn ground_speed(flight: &mut RawFlight, tallies: &mut Tallies) {
    let places = places(flight);
    let name = "ground_speed_kt";
    let Some(channel) = flight.channels.get_mut(name) else {
        return;
    };
    if channel.holds || places.len() < 2 {
        return;
    }
    let known: Vec<usize> = (0..channel.value.len())
        .filter(|&i| !channel.value[i].is_nan())
        .collect();
    let tally = tallies.entry(name.to_owned()).or_default();
    for run in equal_runs(&known, |a, b| channel.value[a] == channel.value[b]) {
        let (Some(&first), Some(&last)) = (run.first(), run.last()) else {
            continue;
        };
        let (from_s, to_s) = (channel.time_s[first], channel.time_s[last]);
        let speed = channel.value[first];
        if to_s - from_s < SPEED_STUCK_S || speed < MOVING_KT {
            continue;
        }
        let Some(flown_kt) = speed_between(&places, from_s, to_s) else {
            continue;
        };
        if (flown_kt - speed).abs() > SPEED_SLACK_KT.max(SPEED_SHARE * speed) {
            for &i in &run[1..] {
                channel.value[i] = f64::NAN;
            }
            tally.stuck += run.len() as i64 - 1;
            tally.stuck_s += to_s - from_s;
        }
    }
}

/// Positions that repeat while ground speed or altitude say that the aircraft moved.
pub(super) fn position(flight: &mut RawFlight, tallies: &mut Tallies) {
    let places = places(flight);
    let speed = Series::of(flight.channels.get("ground_speed_kt"));
    let altitude = Series::of(flight.channels.get("pressure_altitude_ft"));
    let all: Vec<usize> = (0..places.len()).collect();
    let mut stale_s = Vec::new();
    for run in equal_runs(&all, |a, b| places[a].1 == places[b].1) {
        let (Some(&first), Some(&last)) = (run.first(), run.last()) else {
            continue;
        };
        let (from_s, to_s) = (places[first].0, places[last].0);
        let levels: Vec<f64> = altitude.between(from_s, to_s).map(|s| s.1).collect();
        let span = levels.iter().copied().fold(f64::NEG_INFINITY, f64::max)
            - levels.iter().copied().fold(f64::INFINITY, f64::min);
        let flew_on = span >= MOVING_FT;
        for &i in &run[1..] {
            let t = places[i].0;
            if flew_on || speed.held(t).is_some_and(|kt| kt >= MOVING_KT) {
                stale_s.push(t);
            }
        }
    }
    if stale_s.is_empty() {
        return;
    }
    for name in ["latitude_deg", "longitude_deg"] {
        let Some(channel) = flight.channels.get_mut(name) else {
            continue;
        };
        let mut stale = stale_s.iter().copied().peekable();
        let mut nulled = 0;
        for (&t, value) in channel.time_s.iter().zip(&mut channel.value) {
            while stale.peek().is_some_and(|&s| s < t) {
                stale.next();
            }
            if stale.peek() == Some(&t) && !value.is_nan() {
                *value = f64::NAN;
                nulled += 1;
            }
        }
        tallies.entry(name.to_owned()).or_default().stale += nulled;
    }
}

/// `(time, (latitude, longitude))` of every sample pair recorded at the same moment.
type Place = (f64, (f64, f64));

fn places(flight: &RawFlight) -> Vec<Place> {
    let (Some(latitude), Some(longitude)) = (
        flight.channels.get("latitude_deg"),
        flight.channels.get("longitude_deg"),
    ) else {
        return Vec::new();
    };
    if latitude.time_s != longitude.time_s {
        return Vec::new();
    }
    (0..latitude.value.len())
        .filter(|&i| !latitude.value[i].is_nan() && !longitude.value[i].is_nan())
        .map(|i| (latitude.time_s[i], (latitude.value[i], longitude.value[i])))
        .collect()
}

/// Speed over the path of the positions between two moments; none where they are not covered.
fn speed_between(places: &[Place], from_s: f64, to_s: f64) -> Option<f64> {
    let first = places.partition_point(|p| p.0 < from_s);
    let end = places.partition_point(|p| p.0 <= to_s);
    let covered = places.get(first..end)?;
    let (start_s, last_s) = (covered.first()?.0, covered.last()?.0);
    if last_s - start_s < 0.5 * (to_s - from_s) {
        return None;
    }
    let path_nm: f64 = covered
        .windows(2)
        .map(|w| rough_distance_nm(w[0].1, w[1].1))
        .sum();
    Some(path_nm / (last_s - start_s) * 3600.0)
}

/// Cuts indices into runs of equal neighbours.
pub(super) fn equal_runs(
    indices: &[usize],
    same: impl Fn(usize, usize) -> bool,
) -> Vec<Vec<usize>> {
    let mut runs: Vec<Vec<usize>> = Vec::new();
    for &i in indices {
        match runs.last_mut() {
            Some(run) if run.last().is_some_and(|&last| same(last, i)) => run.push(i),
            _ => runs.push(vec![i]),
        }
    }
    runs
}
