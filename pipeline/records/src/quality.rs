//! Cleans the channels of one flight before anything is measured.
//!
//! A sample that cannot be true becomes unknown and is counted; no value is ever invented, and
//! acceleration peaks are left alone. Every channel gets one row that says what was found.
//!
//! Numbers here that name no source are judgement, no source: each says what it allows for;
//! together they were tried on the real flights in `tests/data/real/`.

mod frozen;
mod jumps;
mod limits;
mod spikes;
mod stuck;
mod tally;

use std::collections::BTreeMap;

use crate::catalogue::{Catalogue, Kind};
use crate::flight::{Channel, RawFlight};
use crate::rows::QualityRow;
use crate::timebase;

use tally::Tally;

/// Counts per parameter.
type Tallies = BTreeMap<String, Tally>;

/// Nulls what cannot be true and returns one row per channel, in name order.
pub(crate) fn clean(flight: &mut RawFlight, catalogue: &Catalogue) -> Vec<QualityRow> {
    let mut tallies: Tallies = flight
        .channels
        .keys()
        .map(|name| (name.clone(), Tally::default()))
        .collect();
    for (name, channel) in &mut flight.channels {
        let found = range(channel, name, catalogue);
        tallies.entry(name.clone()).or_default().out_of_range += found;
    }
    jumps::altitude(flight, &mut tallies);
    jumps::position(flight, &mut tallies);
    for (name, channel) in &mut flight.channels {
        let found = spikes::remove(name, channel);
        tallies.entry(name.clone()).or_default().spikes += found;
    }
    frozen::held_altitude(flight, &mut tallies);
    frozen::ground_speed(flight, &mut tallies);
    frozen::position(flight, &mut tallies);
    stuck::remove(flight, &mut tallies);
    report(flight, &tallies)
}

/// Values outside the plausible range become unknown; angles are brought into 0…360° instead.
fn range(channel: &mut Channel, name: &str, catalogue: &Catalogue) -> i64 {
    let Some(parameter) = catalogue.lookup(name) else {
        return 0;
    };
    let mut found = 0;
    for value in channel.value.iter_mut().filter(|v| !v.is_nan()) {
        // Some recorders count −180…180°: a convention, no fault.
        if parameter.kind == Kind::Circular && value.abs() <= 360.0 {
            *value = value.rem_euclid(360.0);
        }
        if !value.is_finite() || *value < parameter.low || *value > parameter.high {
            *value = f64::NAN;
            found += 1;
        }
    }
    found
}

fn report(flight: &mut RawFlight, tallies: &Tallies) -> Vec<QualityRow> {
    let bounds = flight.channels.values().filter_map(|c| {
        let first = c.time_s.first().copied()?;
        Some((first, c.time_s.last().copied()?))
    });
    let (start, end) = bounds.fold(
        (f64::INFINITY, f64::NEG_INFINITY),
        |(a, b), (first, last)| (a.min(first), b.max(last)),
    );
    let mut rows: BTreeMap<String, QualityRow> = BTreeMap::new();
    for (name, channel) in &mut flight.channels {
        // Repeated samples are gone now: the spacing of what is left is the channel's own.
        let interval_s = timebase::interval_s(&channel.time_s, &channel.value);
        if interval_s > 0.0 {
            channel.interval_s = interval_s;
        }
        let tally = tallies.get(name).cloned().unwrap_or_default();
        rows.insert(
            name.clone(),
            tally.row(&flight.header.flight_id, name, channel, (start, end)),
        );
    }
    // What loading noticed stands in the same row.
    for earlier in flight.quality.drain(..) {
        match rows.get_mut(&earlier.parameter) {
            Some(row) => tally::merge(row, earlier),
            None => {
                rows.insert(earlier.parameter.clone(), earlier);
            }
        }
    }
    rows.into_values().collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may fail where it stands")]
mod tests;
