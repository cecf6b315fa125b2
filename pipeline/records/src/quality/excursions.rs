//! Numbers that mean "no value" to a recorder and nothing to us: the same to the last digit for
//! seconds, entered and left by a leap, in a channel that then goes on where it was.
//!
//! A channel that was moving that way already did not leap: engines spool up to go-around thrust by a tenth
//! a second, hold it to the last digit, and spool down as fast.

use crate::flight::Channel;
use crate::series::resolution;

use super::limits::{EXCURSION_LONGEST_S, EXCURSION_S, RADIO_LEAP_SHARE, SLACK_S};
use super::runs::{Steps, runs_of};
use super::settable::{Key, Limits};
use super::spikes::null;

/// A step belongs to a movement if the one beside it goes the same way by this share of it; judgement: spools
/// gain speed evenly, and numbers that mean nothing are entered from rest.
const MOVING_SHARE: f64 = 0.5;

/// Nulls them and returns how many samples they were.
pub(super) fn remove(name: &str, channel: &mut Channel, limits: &Limits) -> i64 {
    let Some(leap) = limits.of(name, Key::Leap) else {
        return 0;
    };
    let rate_s = limits.of(name, Key::DriftPerS).unwrap_or(0.0);
    if channel.holds {
        return 0;
    }
    let away = limits.away(name);
    let leap = leap.max(2.0 * resolution(&channel.value));
    let steps = Steps::of(channel);
    let runs = runs_of(channel, &steps.known);
    let mut found = Vec::new();
    for (at, three) in runs.windows(3).enumerate() {
        let (run, samples) = &three[1];
        let (Some(&before), Some(&after)) = (three[0].1.last(), three[2].1.first()) else {
            continue;
        };
        let earlier = at.checked_sub(1).and_then(|at| runs[at].1.last());
        let later = runs.get(at + 3).and_then(|(_, samples)| samples.first());
        let held_s = run.held_s() + channel.interval_s + SLACK_S;
        if !(EXCURSION_S..=EXCURSION_LONGEST_S).contains(&held_s) || !steps.joined(before, after) {
            continue;
        }
        let (before, after) = (
            (channel.time_s[before], channel.value[before]),
            (channel.time_s[after], channel.value[after]),
        );
        let limit = if name == "radio_altitude_ft" {
            leap.max(RADIO_LEAP_SHARE * before.1.max(after.1))
        } else {
            leap
        };
        let (entry, exit) = (away(before.1, run.value), away(after.1, run.value));
        // One sample only on the way: one that stood before it leapt was not moving.
        let moving = |near: &[usize], far: Option<&usize>, step: f64| {
            let far = far.filter(|&&far| steps.joined(far.min(near[0]), far.max(near[0])));
            near.len() == 1
                && far.is_some_and(|&far| {
                    let moved = away(channel.value[far], channel.value[near[0]]);
                    moved.signum() == step.signum() && moved.abs() >= MOVING_SHARE * step.abs()
                })
        };
        let arrived = moving(three[0].1, earlier, entry) && moving(three[2].1, later, exit);
        let went_on = away(before.1, after.1).abs() <= limit + rate_s * (after.0 - before.0);
        if entry.signum() == exit.signum()
            && entry.abs().min(exit.abs()) > limit
            && went_on
            && !arrived
        {
            found.extend_from_slice(samples);
        }
    }
    null(channel, &found)
}
