//! Single samples, or short bursts, that leave and come back faster than physics allows.

use crate::flight::{Channel, RawFlight};
use crate::series::{Series, resolution};

use super::Tallies;
use super::limits::{
    JOLT_AIR_FT, JOLT_CALM_G, JOLT_CALM_S, JOLT_CLEAR_S, JOLT_G, RADIO_LOW_FT, SPIKE_SAMPLES,
};
use super::runs::Steps;
use super::settable::{Key, Limits};

/// How far a value is from another, see [`Limits::away`].
type Away = fn(f64, f64) -> f64;

/// Nulls the spikes of every channel that has a limit.
pub(super) fn remove(flight: &mut RawFlight, limits: &Limits, tallies: &mut Tallies) {
    for (name, channel) in &mut flight.channels {
        let Some(limit) = limits.of(name, Key::Spike) else {
            continue;
        };
        let away = limits.away(name);
        let radio = name == "radio_altitude_ft";
        let least = if radio {
            RADIO_LOW_FT.min(limit)
        } else {
            limit
        };
        // A state that holds has no spikes.
        if channel.holds {
            continue;
        }
        let shape = Shape::of(channel);
        // What stands on the ground below is no higher than the aircraft is.
        let found = bursts(away, channel, &shape, least, |before, after| {
            before.max(after).clamp(least, limit)
        });
        let tally = tallies.entry(name.clone()).or_default();
        let shape = if found.is_empty() {
            shape
        } else {
            tally.spikes += null(channel, &found);
            Shape::of(channel)
        };
        let found = edges(away, channel, &shape, limit);
        tally.spikes += null(channel, &found);
    }
    jolts(flight, tallies);
}

/// What both checks ask of a channel.
struct Shape<'a> {
    /// Two steps of the recorder: a coarse one moves in whole steps, and two of them are no departure.
    coarse: f64,
    steps: Steps<'a>,
}

impl<'a> Shape<'a> {
    fn of(channel: &'a Channel) -> Self {
        Self {
            coarse: 2.0 * resolution(&channel.value),
            steps: Steps::of(channel),
        }
    }
}

/// Samples of bursts that leave both neighbours by more than `departure(before, after)`, to
/// whichever side, while these agree: noise swings both ways. No departure is less than `least`.
fn bursts(
    away: Away,
    channel: &Channel,
    Shape { coarse, steps }: &Shape<'_>,
    least: f64,
    departure: impl Fn(f64, f64) -> f64,
) -> Vec<usize> {
    let mut found = Vec::new();
    let coarse = *coarse;
    let value = &channel.value;
    let mut at = 1;
    while at + 1 < steps.known.len() {
        let before = steps.known[at - 1];
        // Nearly all samples: no burst begins with a small step.
        let begins = away(value[before], value[steps.known[at]]).abs() > least.max(coarse);
        if !begins {
            at += 1;
            continue;
        }
        let burst = (1..=SPIKE_SAMPLES).find(|&n| {
            let Some(&after) = steps.known.get(at + n) else {
                return false;
            };
            // What other checks have taken out lies between: it counts as part of the burst.
            if after - before > SPIKE_SAMPLES + 1 || !steps.joined(before, after) {
                return false;
            }
            let limit = departure(value[before], value[after]).max(coarse);
            away(value[before], value[after]).abs() < limit
                && steps.known[at..at + n].iter().all(|&i| {
                    away(value[before], value[i]).abs() > limit
                        && away(value[after], value[i]).abs() > limit
                })
        });
        match burst {
            Some(n) => {
                found.extend_from_slice(&steps.known[at..at + n]);
                at += n + 1;
            }
            None => at += 1,
        }
    }
    found
}

/// Short bursts at the begin or the end of a stretch without holes, away from all that follows or
/// goes before by more than `limit`: there is only one side to compare with.
fn edges(
    away: Away,
    channel: &Channel,
    Shape { coarse, steps }: &Shape<'_>,
    limit: f64,
) -> Vec<usize> {
    let value = &channel.value;
    let limit = limit.max(*coarse);
    let mut found = Vec::new();
    let mut from = 0;
    for to in 1..=steps.known.len() {
        if to < steps.known.len() && steps.joined(steps.known[to - 1], steps.known[to]) {
            continue;
        }
        let stretch = &steps.known[from..to];
        from = to;
        // Enough must be left that agrees with itself.
        if stretch.len() < 6 * SPIKE_SAMPLES {
            continue;
        }
        let burst = |edge: &mut dyn Iterator<Item = usize>| -> Vec<usize> {
            let order: Vec<usize> = edge.take(3 * SPIKE_SAMPLES).collect();
            let close = |a: usize, b: usize| away(value[a], value[b]).abs() <= limit;
            let calm = |n: usize| order[n..].windows(2).all(|w| close(w[0], w[1]));
            let apart = |n: &usize| !close(order[*n - 1], order[*n]) && calm(*n);
            let length = (1..=SPIKE_SAMPLES).find(apart).unwrap_or(0);
            order[..length].to_vec()
        };
        found.extend(burst(&mut stretch.iter().copied()));
        found.extend(burst(&mut stretch.iter().rev().copied()));
    }
    found
}

/// Jolts aloft that no air gives: only where the ground is known to be far, and the air to be calm.
/// The peaks of a touchdown are never looked at.
fn jolts(flight: &mut RawFlight, tallies: &mut Tallies) {
    let name = "normal_accel_g";
    let Some(channel) = flight.channels.get(name).filter(|c| !c.holds) else {
        return;
    };
    let ground = Series::of(flight.channels.get("on_ground"));
    let radio = Series::of(flight.channels.get("radio_altitude_ft"));
    let aloft = |t: f64| {
        let (from_s, to_s) = (t - JOLT_CLEAR_S, t + JOLT_CLEAR_S);
        let switch = ground.between(from_s, to_s);
        let (known, contact) = switch.fold((0, false), |(n, c), s| (n + 1, c || s.1 != 0.0));
        if known > 0 {
            return !contact;
        }
        let lowest = radio.between(from_s, to_s).map(|s| s.1).reduce(f64::min);
        lowest.is_some_and(|ft| ft >= JOLT_AIR_FT)
    };
    let found = bursts(
        |a, b| b - a,
        channel,
        &Shape::of(channel),
        JOLT_G,
        |_, _| JOLT_G,
    );
    let found: Vec<usize> = found
        .iter()
        .copied()
        .filter(|&i| {
            let t = channel.time_s[i];
            let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
            let first = channel.time_s.partition_point(|&s| s < t - JOLT_CALM_S);
            for near in first..channel.value.len() {
                if channel.time_s[near] > t + JOLT_CALM_S {
                    break;
                }
                if !channel.value[near].is_nan() && !found.contains(&near) {
                    low = low.min(channel.value[near]);
                    high = high.max(channel.value[near]);
                }
            }
            high - low <= JOLT_CALM_G && aloft(t)
        })
        .collect();
    let Some(channel) = flight.channels.get_mut(name) else {
        return;
    };
    tallies.entry(name.to_owned()).or_default().spikes += null(channel, &found);
}

/// Makes samples unknown and returns how many they were.
pub(super) fn null(channel: &mut Channel, samples: &[usize]) -> i64 {
    for &i in samples {
        channel.value[i] = f64::NAN;
    }
    samples.len() as i64
}
