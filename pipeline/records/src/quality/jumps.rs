//! Blocks of samples that no flight path can join to the others.
//!
//! Samples are cut into blocks wherever the step is too fast. The chain of blocks that fits
//! together and holds the most samples is the flight; the rest repeats an earlier level or place.

use crate::airfield::rough_distance_nm;
use crate::flight::RawFlight;
use crate::series::median;

use super::Tallies;
use super::limits::{GROUND_LEVEL_FT, HOLD_S, SPIKE_SAMPLES};
use super::runs::equal_runs;
use super::settable::{ALTITUDE, Key, Limits, POSITION};

/// A block looks back over at most this many others: a channel in more pieces is noise anyway.
const CHAIN_DEPTH: usize = 256;

/// Samples on the ground belong to one stay while no more than this lies between them.
const STAY_S: f64 = 300.0;

/// Removes altitude blocks that do not fit.
pub(super) fn altitude(flight: &mut RawFlight, limits: &Limits, tallies: &mut Tallies) {
    let name = ALTITUDE;
    let limit = |key| limits.of(name, key);
    let (Some(rate_ft_s), Some(slack_ft), Some(channel)) = (
        limit(Key::RatePerS),
        limit(Key::Slack),
        flight.channels.get_mut(name),
    ) else {
        return;
    };
    let known: Vec<usize> = (0..channel.value.len())
        .filter(|&i| !channel.value[i].is_nan())
        .collect();
    let (time, value) = (&channel.time_s, &channel.value);
    let same = |a: usize, b: usize| value[a] == value[b];
    let cut = rests(time, &known, same);
    let blocks = misfits(&known, &cut, same, |a, b| {
        (value[b] - value[a]).abs() <= slack_ft + rate_ft_s * (time[b] - time[a]).max(0.0)
    });
    let tally = tallies.entry(name.to_owned()).or_default();
    for block in blocks {
        if block.len() <= SPIKE_SAMPLES {
            tally.spikes += block.len() as i64;
        } else {
            tally.stale += block.len() as i64;
        }
        for i in block {
            channel.value[i] = f64::NAN;
        }
    }
    tally.stale += ground_levels(flight);
}

/// With the wheels on the ground altitude stays near the level of contact, however long the hole.
fn ground_levels(flight: &mut RawFlight) -> i64 {
    let Some(ground) = flight.channels.get("on_ground") else {
        return 0;
    };
    let ground = crate::series::Series::known(ground);
    let Some(channel) = flight.channels.get_mut("pressure_altitude_ft") else {
        return 0;
    };
    let mut stays: Vec<Vec<usize>> = Vec::new();
    let mut last_s = f64::NEG_INFINITY;
    for i in 0..channel.value.len() {
        let t = channel.time_s[i];
        if ground.held(t) != Some(1.0) {
            continue;
        }
        if t - last_s > STAY_S || stays.is_empty() {
            stays.push(Vec::new());
        }
        last_s = t;
        if !channel.value[i].is_nan()
            && let Some(stay) = stays.last_mut()
        {
            stay.push(i);
        }
    }
    let mut stale = 0;
    for stay in stays {
        let Some(&first) = stay.first() else { continue };
        let before = (0..first).rev().find(|&i| !channel.value[i].is_nan());
        let level = match before {
            Some(i) if channel.time_s[first] - channel.time_s[i] <= STAY_S => channel.value[i],
            _ => median(stay.iter().map(|&i| channel.value[i]).collect()),
        };
        for i in stay {
            if (channel.value[i] - level).abs() > GROUND_LEVEL_FT {
                channel.value[i] = f64::NAN;
                stale += 1;
            }
        }
    }
    stale
}

/// Half a position is none: where one of the two is unknown, so is the other.
pub(super) fn halves(flight: &mut RawFlight, tallies: &mut Tallies) {
    let pair = ["latitude_deg", "longitude_deg"];
    let [Some(latitude), Some(longitude)] = pair.map(|name| flight.channels.get(name)) else {
        return;
    };
    if latitude.time_s != longitude.time_s {
        return;
    }
    let values = latitude.value.iter().zip(&longitude.value);
    let half: Vec<bool> = values.map(|(a, b)| a.is_nan() != b.is_nan()).collect();
    for name in pair {
        let Some(channel) = flight.channels.get_mut(name) else {
            continue;
        };
        let tally = tallies.entry(name.to_owned()).or_default();
        for (value, _) in channel
            .value
            .iter_mut()
            .zip(&half)
            .filter(|(_, half)| **half)
        {
            tally.stale += i64::from(!value.is_nan());
            *value = f64::NAN;
        }
    }
}

/// Removes position blocks that do not fit; latitude and longitude go together.
pub(super) fn position(flight: &mut RawFlight, limits: &Limits, tallies: &mut Tallies) {
    let (Some(latitude), Some(longitude)) = (
        flight.channels.get("latitude_deg"),
        flight.channels.get("longitude_deg"),
    ) else {
        return;
    };
    let limit = |key| limits.of(POSITION, key);
    let (Some(speed_kt), Some(slack_nm)) = (limit(Key::SpeedKt), limit(Key::SlackNm)) else {
        return;
    };
    let rate_nm_s = speed_kt / 3600.0;
    if latitude.time_s != longitude.time_s {
        return; // recorded at different moments: no pairs to judge
    }
    let known: Vec<usize> = (0..latitude.value.len())
        .filter(|&i| !latitude.value[i].is_nan() && !longitude.value[i].is_nan())
        .collect();
    let place = |i: usize| (latitude.value[i], longitude.value[i]);
    let same = |a: usize, b: usize| place(a) == place(b);
    let cut = rests(&latitude.time_s, &known, same);
    let blocks = misfits(&known, &cut, same, |a, b| {
        rough_distance_nm(place(a), place(b))
            <= slack_nm + rate_nm_s * (latitude.time_s[b] - latitude.time_s[a]).max(0.0)
    });
    for name in ["latitude_deg", "longitude_deg"] {
        let Some(channel) = flight.channels.get_mut(name) else {
            continue;
        };
        let tally = tallies.entry(name.to_owned()).or_default();
        for block in &blocks {
            if block.len() <= SPIKE_SAMPLES {
                tally.spikes += block.len() as i64;
            } else {
                tally.stale += block.len() as i64;
            }
            for &i in block {
                channel.value[i] = f64::NAN;
            }
        }
    }
}

/// Marks where a stretch that repeats itself for seconds begins and where it is left: it may be a
/// block of its own, however small its first step was.
fn rests(time_s: &[f64], known: &[usize], same: impl Fn(usize, usize) -> bool) -> Vec<bool> {
    let mut cut = vec![false; time_s.len()];
    let mut after_rest = false;
    for run in equal_runs(known, same) {
        let rest = time_s[run[run.len() - 1]] - time_s[run[0]] >= HOLD_S;
        cut[run[0]] = rest || after_rest;
        after_rest = rest;
    }
    cut
}

/// The blocks that are not on the heaviest chain of blocks that `fits` joins. Blocks end where the
/// next sample does not fit, and before every sample that is marked in `cut`.
fn misfits(
    known: &[usize],
    cut: &[bool],
    same: impl Fn(usize, usize) -> bool,
    fits: impl Fn(usize, usize) -> bool,
) -> Vec<Vec<usize>> {
    let mut blocks: Vec<Vec<usize>> = Vec::new();
    for &i in known {
        match blocks.last_mut() {
            Some(block) if !cut[i] && block.last().is_some_and(|&last| fits(last, i)) => {
                block.push(i);
            }
            _ => blocks.push(vec![i]),
        }
    }
    if blocks.len() < 2 {
        return Vec::new();
    }
    let mut weight: Vec<usize> = Vec::with_capacity(blocks.len());
    let mut previous: Vec<Option<usize>> = Vec::with_capacity(blocks.len());
    for (b, block) in blocks.iter().enumerate() {
        let mut best = (0, None);
        for a in (b.saturating_sub(CHAIN_DEPTH)..b).rev() {
            let joins = match (blocks[a].last(), block.first()) {
                (Some(&end), Some(&start)) => fits(end, start),
                _ => false,
            };
            if joins && weight[a] > best.0 {
                best = (weight[a], Some(a));
            }
        }
        // What repeats one value says it once.
        let rest = block.len() > 1 && cut[block[0]] && same(block[0], block[block.len() - 1]);
        weight.push(best.0 + if rest { 1 } else { block.len() });
        previous.push(best.1);
    }
    let mut on_chain = vec![false; blocks.len()];
    let mut at = (0..blocks.len()).max_by_key(|&b| (weight[b], std::cmp::Reverse(b)));
    while let Some(b) = at {
        on_chain[b] = true;
        at = previous[b];
    }
    blocks
        .into_iter()
        .zip(on_chain)
        .filter(|(_, on)| !on)
        .map(|(block, _)| block)
        .collect()
}
