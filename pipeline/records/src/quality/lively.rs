//! Channels that never rest in flight, like an accelerometer.
//!
//! Nothing else says what they should read, but around a stuck stretch they show what they are: if
//! they change all the time there, they cannot stand still for many times as long.

use crate::flight::RawFlight;
use crate::series::Series;

use super::Tallies;
use super::limits::{LIVELY, LIVELY_AROUND_S, LIVELY_KNOWN, LIVELY_KT, LIVELY_S, LIVELY_TIMES};
use super::runs::{Run, Steps, runs_of};
use super::settable::Limits;
use super::stuck::stretch;

/// Nulls stretches that stand many times longer than any around them.
pub(super) fn remove(flight: &mut RawFlight, limits: &Limits, tallies: &mut Tallies) {
    let speeds = ["ground_speed_kt", "cas_kt"];
    let speeds = speeds.map(|name| Series::of(flight.channels.get(name)));
    for &name in LIVELY {
        let Some(channel) = flight.channels.get(name) else {
            continue;
        };
        let steps = Steps::of(channel);
        let runs: Vec<(Run, usize)> = runs_of(channel, &steps.known)
            .into_iter()
            .map(|(run, samples)| (run, samples.len()))
            .collect();
        stretch(flight, limits, tallies, name, LIVELY_S, |run| {
            let speed = speeds.iter().find_map(|s| s.held(run.from_s));
            speed.is_some_and(|kt| kt >= LIVELY_KT) && alone(run, &runs)
        });
    }
}

/// Whether no other stretch around is nearly as long, and enough is known there.
fn alone(run: &Run, runs: &[(Run, usize)]) -> bool {
    let from_s = run.from_s - LIVELY_AROUND_S;
    let to_s = run.to_s + LIVELY_AROUND_S;
    let first = runs.partition_point(|(r, _)| r.to_s < from_s);
    let around = runs[first..]
        .iter()
        .take_while(|(r, _)| r.from_s <= to_s)
        .filter(|(r, _)| r.from_s != run.from_s);
    let (mut known, mut longest_s) = (0, 0.0_f64);
    for (other, samples) in around {
        known += samples;
        longest_s = longest_s.max(other.held_s());
    }
    known >= LIVELY_KNOWN && LIVELY_TIMES * longest_s <= run.held_s()
}
