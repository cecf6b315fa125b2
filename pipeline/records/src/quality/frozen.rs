//! A receiver that repeats its last message: a channel that stands still and then leaps by what it
//! missed, and positions that stand while the aircraft does not. The first of the repeated samples
//! is real and stays.

use crate::airfield::rough_distance_nm;
use crate::flight::RawFlight;
use crate::series::{Series, resolution};

use super::Tallies;
use super::limits::{
    HELD_GROUND_FT, HELD_REST_S, HELD_STEPS, MOVING_FT, MOVING_KT, SPEED_SHARE, SPEED_SLACK_KT,
    SPEED_STUCK_S,
};
use super::runs::{Steps, each_run, equal_runs, repeats};
use super::settable::{ALTITUDE, Key, Limits};
use super::spikes::null;

/// Altitude that stands for seconds and then falls or rises by what it missed.
pub(super) fn held_altitude(flight: &mut RawFlight, limits: &Limits, tallies: &mut Tallies) {
    let name = ALTITUDE;
    let limit = |key| limits.of(name, key);
    let (Some(hold_s), Some(leap)) = (limit(Key::HeldS), limit(Key::HeldRatePerS)) else {
        return;
    };
    let (samples, _) = held(flight, name, limits, (hold_s, leap, 2.0));
    if let Some(channel) = flight.channels.get_mut(name) {
        tallies.entry(name.to_owned()).or_default().stale += null(channel, &samples);
    }
}

/// Other channels that do the same.
pub(super) fn held_others(flight: &mut RawFlight, limits: &Limits, tallies: &mut Tallies) {
    for (name, hold_s, leap) in limits.held() {
        let (samples, seconds) = held(flight, name, limits, (hold_s, leap, HELD_STEPS));
        if let Some(channel) = flight.channels.get_mut(name) {
            let tally = tallies.entry(name.to_owned()).or_default();
            tally.stuck += null(channel, &samples);
            tally.stuck_s += seconds;
        }
    }
}

/// Repeated samples of a channel that stood for `hold_s` and then leapt by more than `leap` a
/// second, and more than `coarse` of its steps; and how long they stood.
fn held(
    flight: &RawFlight,
    name: &str,
    limits: &Limits,
    (hold_s, leap, coarse): (f64, f64, f64),
) -> (Vec<usize>, f64) {
    let (mut repeated, mut seconds) = (Vec::new(), 0.0);
    let Some(channel) = flight.channels.get(name).filter(|c| !c.holds) else {
        return (repeated, seconds);
    };
    let away = limits.away(name);
    let leap = leap.max(coarse * resolution(&channel.value));
    let steps = Steps::of(channel);
    let highest = channel.value.iter().copied().fold(f64::NAN, f64::max);
    // Needles and radio altimeters rest somewhere until they have something to say.
    let rests = matches!(
        name,
        "radio_altitude_ft"
            | "glide_path_dev_dots"
            | "localizer_dev_dots"
            | "vertical_path_dev_dots"
    );
    let mut seen = 0;
    for (run, samples) in each_run(channel, &steps.known) {
        seen += samples.len();
        if run.held_s() < hold_s {
            continue;
        }
        let (Some(&last), Some(&next)) = (samples.last(), steps.known.get(seen)) else {
            continue;
        };
        let step_s = channel.time_s[next] - channel.time_s[last];
        let end =
            name == "radio_altitude_ft" && (run.value >= highest || run.value <= HELD_GROUND_FT);
        let resting = rests && (end || run.held_s() > HELD_REST_S);
        // Only a step without a hole tells: after a hole any change is possible.
        if !resting
            && step_s <= 1.5 * channel.interval_s
            && away(channel.value[last], channel.value[next]).abs() > leap * step_s.max(1.0)
        {
            repeated.extend_from_slice(repeats(name, channel, limits, &steps, samples));
            seconds += run.held_s();
        }
    }
    (repeated, seconds)
}

/// Ground speed that repeats while the positions tell another speed.
pub(super) fn ground_speed(flight: &mut RawFlight, tallies: &mut Tallies) {
    let places = alive(flight, places(flight));
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
    let mut repeated = Vec::new();
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
            repeated.extend_from_slice(&run[1..]);
            tally.stuck_s += to_s - from_s;
        }
    }
    tally.stuck += null(channel, &repeated);
}

/// Without the positions that stand while airspeed says that the aircraft flew on: these say nothing
/// on its speed. Where no airspeed is recorded, a receiver that repeats both cannot be told apart.
fn alive(flight: &RawFlight, places: Vec<Place>) -> Vec<Place> {
    let cas = Series::of(flight.channels.get("cas_kt"));
    let all: Vec<usize> = (0..places.len()).collect();
    let mut kept = Vec::with_capacity(places.len());
    for run in equal_runs(&all, |a, b| places[a].1 == places[b].1) {
        let (Some(&first), Some(&last)) = (run.first(), run.last()) else {
            continue;
        };
        let (from_s, to_s) = (places[first].0, places[last].0);
        let flew_on = cas.between(from_s, to_s).any(|s| s.1 >= 2.0 * MOVING_KT);
        let alive = if flew_on { 1 } else { run.len() };
        kept.extend(run.iter().take(alive).map(|&i| places[i]));
    }
    kept
}

/// Highest less lowest value between two moments; minus infinity where none is known.
fn range(series: &Series, from_s: f64, to_s: f64) -> f64 {
    let values = || series.between(from_s, to_s).map(|s| s.1);
    values().fold(f64::NEG_INFINITY, f64::max) - values().fold(f64::INFINITY, f64::min)
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
        let flew_on = range(&altitude, from_s, to_s) >= MOVING_FT;
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
