//! Single samples, or short bursts, that leave and come back faster than physics allows.

use crate::flight::Channel;
use crate::series::{resolution, turn_deg};
use crate::timebase::GAP_INTERVALS;

use super::limits::{SPIKE_DEPARTURE, SPIKE_SAMPLES};

/// Nulls the spikes of a channel and returns how many samples they were.
pub(super) fn remove(name: &str, channel: &mut Channel) -> i64 {
    let Some(&(_, departure)) = SPIKE_DEPARTURE.iter().find(|(n, _)| *n == name) else {
        return 0;
    };
    if channel.holds {
        return 0;
    }
    let circular = matches!(name, "heading_true_deg" | "track_true_deg");
    // A coarse recorder moves in whole steps: two of them are no departure.
    let limit = departure.max(2.0 * resolution(&channel.value));
    let known: Vec<usize> = (0..channel.value.len())
        .filter(|&i| !channel.value[i].is_nan())
        .collect();
    let longest_s = GAP_INTERVALS * channel.interval_s + 1e-6;
    let away = |a: usize, b: usize| {
        let (a, b) = (channel.value[a], channel.value[b]);
        if circular { turn_deg(a, b) } else { b - a }
    };
    let mut spikes = Vec::new();
    let mut at = 1;
    while at + 1 < known.len() {
        let before = known[at - 1];
        let burst = (1..=SPIKE_SAMPLES).find(|&n| {
            let Some(&after) = known.get(at + n) else {
                return false;
            };
            let joined = known[at - 1..=at + n]
                .windows(2)
                .all(|w| channel.time_s[w[1]] - channel.time_s[w[0]] <= longest_s);
            let sign = away(before, known[at]).signum();
            joined
                && away(before, after).abs() < limit
                && known[at..at + n]
                    .iter()
                    .all(|&i| sign * away(before, i) > limit && sign * away(after, i) > limit)
        });
        match burst {
            Some(n) => {
                spikes.extend_from_slice(&known[at..at + n]);
                at += n + 1;
            }
            None => at += 1,
        }
    }
    for &i in &spikes {
        channel.value[i] = f64::NAN;
    }
    spikes.len() as i64
}
