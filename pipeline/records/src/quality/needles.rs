//! Needles that stand while the aircraft moves across their beam.
//!
//! On a quiet beam a needle stands for half a minute, so standing proves nothing; but once the runway
//! is known, position and altitude say where in the beam the aircraft is. Only how far it moves is
//! used: where beams point exactly, and where antennas sit, nobody tells us.

use crate::flight::Channel;

use super::limits::{NEEDLE_DOTS, NEEDLE_S, NEEDLE_SCALE_DOTS};
use super::runs::{Steps, each_run, repeats};
use super::settable::Limits;

/// Samples of runs during which the aircraft moved in the beam, and how long these were; `place`
/// tells where in the beam it is, in dots.
pub(super) fn stuck(
    name: &str,
    channel: &Channel,
    limits: &Limits,
    place: &dyn Fn(f64) -> Option<f64>,
) -> (Vec<usize>, f64) {
    let (mut found, mut seconds) = (Vec::new(), 0.0);
    if channel.holds {
        return (found, seconds);
    }
    let steps = Steps::of(channel);
    for (run, samples) in each_run(channel, &steps.known) {
        if run.held_s() < NEEDLE_S {
            continue;
        }
        let dots: Vec<f64> = samples
            .iter()
            .filter_map(|&i| place(channel.time_s[i]))
            // Farther out a needle rests at the end of its scale.
            .filter(|dots| dots.abs() <= NEEDLE_SCALE_DOTS)
            .collect();
        // Means of three: positions and altitudes come in steps.
        let means = dots.windows(3).map(|three| three.iter().sum::<f64>() / 3.0);
        let (low, high) = means.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), dots| {
            (low.min(dots), high.max(dots))
        });
        if high - low >= NEEDLE_DOTS {
            found.extend_from_slice(repeats(name, channel, limits, &steps, samples));
            seconds += run.held_s();
        }
    }
    (found, seconds)
}
