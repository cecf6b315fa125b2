//! Radio altitude while the wheels are on the ground: there it has nothing to measure.

use crate::flight::RawFlight;
use crate::series::Series;

use super::Tallies;
use super::limits::{ROLLING_FT, ROLLING_RADIO_FT, ROLLING_S};
use super::spikes::null;

/// Nulls radio altitudes that the switch and the pressure altitude both contradict.
pub(super) fn radio(flight: &mut RawFlight, tallies: &mut Tallies) {
    let name = "radio_altitude_ft";
    let ground = Series::of(flight.channels.get("on_ground"));
    let altitude = Series::of(flight.channels.get("pressure_altitude_ft"));
    let Some(channel) = flight.channels.get_mut(name) else {
        return;
    };
    let rolling = |t: f64| {
        let mut switch = ground.between(t - ROLLING_S, t + ROLLING_S);
        let confirmed = switch.next().is_some() && switch.all(|s| s.1 == 1.0);
        let level = altitude.between(t - ROLLING_S, t + ROLLING_S).map(|s| s.1);
        let (low, high) = level.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), ft| {
            (low.min(ft), high.max(ft))
        });
        ground.held(t) == Some(1.0) && confirmed && high - low <= ROLLING_FT
    };
    let found: Vec<usize> = (0..channel.value.len())
        .filter(|&i| channel.value[i] > ROLLING_RADIO_FT && rolling(channel.time_s[i]))
        .collect();
    tallies.entry(name.to_owned()).or_default().stale += null(channel, &found);
}
