//! Values that repeat to the last bit while a related parameter shows that they cannot.
//!
//! Repeating alone proves nothing: autothrust holds airspeed, cruise holds ground speed.

use crate::flight::RawFlight;
use crate::series::Series;

use super::Tallies;
use super::frozen::equal_runs;
use super::limits::{LEVEL_STUCK_FPM, LEVEL_STUCK_S, SINK_STUCK_FPM, SINK_STUCK_S, STUCK};

/// Nulls stuck stretches after their first sample.
pub(super) fn remove(flight: &mut RawFlight, tallies: &mut Tallies) {
    for &(name, longest_s, related, motion) in STUCK {
        let related = Series::of(flight.channels.get(related));
        stretch(
            flight,
            tallies,
            name,
            longest_s,
            |value, highest, from_s, to_s| {
                // Radio altimeters rest at the top of their scale: that is no fault.
                let resting = name == "radio_altitude_ft" && value > 0.95 * highest;
                !resting && span(&related, from_s, to_s) >= motion
            },
        );
    }
    let sink = Series::of(flight.channels.get("vertical_speed_fpm"));
    let name = "pressure_altitude_ft";
    stretch(
        flight,
        tallies,
        name,
        LEVEL_STUCK_S,
        |_, _, from_s, to_s| {
            let fpm: Vec<f64> = sink.between(from_s, to_s).map(|s| s.1).collect();
            // One that repeats itself is the stuck one of the two.
            let alive = span(&sink, from_s, to_s) > 0.0;
            alive && (fpm.iter().sum::<f64>() / fpm.len() as f64).abs() >= LEVEL_STUCK_FPM
        },
    );
    let altitude = Series::of(flight.channels.get("pressure_altitude_ft"));
    let name = "vertical_speed_fpm";
    stretch(
        flight,
        tallies,
        name,
        SINK_STUCK_S,
        |value, _, from_s, to_s| {
            let known = altitude.between(from_s, to_s).count();
            let due_ft = value.abs() * (to_s - from_s) / 60.0;
            value.abs() >= SINK_STUCK_FPM
                && known > 2
                && span(&altitude, from_s, to_s) < 0.25 * due_ft
        },
    );
}

/// Nulls every constant stretch of at least `longest_s` that `stuck(value, highest, from, to)`.
fn stretch(
    flight: &mut RawFlight,
    tallies: &mut Tallies,
    name: &str,
    longest_s: f64,
    stuck: impl Fn(f64, f64, f64, f64) -> bool,
) {
    let Some(channel) = flight.channels.get_mut(name) else {
        return;
    };
    if channel.holds {
        return;
    }
    let known: Vec<usize> = (0..channel.value.len())
        .filter(|&i| !channel.value[i].is_nan())
        .collect();
    let highest = known
        .iter()
        .map(|&i| channel.value[i])
        .fold(f64::NEG_INFINITY, f64::max);
    let tally = tallies.entry(name.to_owned()).or_default();
    for run in equal_runs(&known, |a, b| channel.value[a] == channel.value[b]) {
        let (Some(&first), Some(&last)) = (run.first(), run.last()) else {
            continue;
        };
        let (from_s, to_s) = (channel.time_s[first], channel.time_s[last]);
        if to_s - from_s >= longest_s && stuck(channel.value[first], highest, from_s, to_s) {
            for &i in &run[1..] {
                channel.value[i] = f64::NAN;
            }
            tally.stuck += run.len() as i64 - 1;
            tally.stuck_s += to_s - from_s;
        }
    }
}

/// Highest less lowest known value of a stretch; zero where nothing is known.
fn span(series: &Series, from_s: f64, to_s: f64) -> f64 {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for (_, v) in series.between(from_s, to_s) {
        low = low.min(v);
        high = high.max(v);
    }
    if high >= low { high - low } else { 0.0 }
}
