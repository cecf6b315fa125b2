//! Cleans the channels of one flight before anything is measured.
//!
//! A sample that cannot be true becomes unknown and is counted; no value is ever invented, and the
//! acceleration peaks of a touchdown are left alone. Every channel gets one row that says what was found.
//!
//! Numbers here that name no source are judgement, no source: each says what it allows for;
//! together they were tried on the real flights in `tests/data/real/`.

mod configuration;
mod excursions;
mod frozen;
mod ground;
mod jumps;
mod limits;
mod lively;
mod needles;
mod runs;
mod settable;
mod speeds;
mod spikes;
mod stuck;
mod tally;
mod turns;
mod witness;

use std::collections::BTreeMap;

use crate::catalogue::{Catalogue, Kind};
use crate::fleet::AircraftType;
use crate::flight::{Channel, RawFlight};
use crate::rows::QualityRow;
use crate::timebase;

pub use settable::Limits;
pub(crate) use settable::{Key, POSITION};
use tally::Tally;

/// Counts per parameter.
type Tallies = BTreeMap<String, Tally>;

/// What was found in the channels of one flight so far.
#[derive(Debug)]
pub(crate) struct Findings<'a> {
    tallies: Tallies,
    limits: &'a Limits,
}

/// Nulls what cannot be true.
///
/// The order matters: channels in a wrong unit go first, as nothing they say is true; then what is
/// short and wild, so that what is slow and wrong is judged by neighbours that are true.
pub(crate) fn clean<'a>(
    flight: &mut RawFlight,
    catalogue: &Catalogue,
    aircraft: Option<&AircraftType>,
    limits: &'a Limits,
) -> Findings<'a> {
    let mut tallies: Tallies = flight
        .channels
        .keys()
        .map(|name| (name.clone(), Tally::default()))
        .collect();
    witness::refuse(flight, catalogue, &mut tallies);
    for (name, channel) in &mut flight.channels {
        let found = range(channel, name, catalogue);
        tallies.entry(name.clone()).or_default().out_of_range += found;
    }
    jumps::altitude(flight, limits, &mut tallies);
    jumps::halves(flight, &mut tallies);
    jumps::position(flight, limits, &mut tallies);
    spikes::remove(flight, limits, &mut tallies);
    for (name, channel) in &mut flight.channels {
        let found = excursions::remove(name, channel, limits);
        tallies.entry(name.clone()).or_default().spikes += found;
    }
    ground::radio(flight, &mut tallies);
    frozen::held_altitude(flight, limits, &mut tallies);
    frozen::held_others(flight, limits, &mut tallies);
    frozen::ground_speed(flight, &mut tallies);
    frozen::position(flight, &mut tallies);
    stuck::remove(flight, limits, &mut tallies);
    speeds::remove(flight, limits, &mut tallies);
    turns::roll(flight, limits, &mut tallies);
    lively::remove(flight, limits, &mut tallies);
    configuration::lever(flight, aircraft, &mut tallies);
    configuration::surfaces(flight, aircraft, &mut tallies);
    configuration::gear(flight, &mut tallies);
    Findings { tallies, limits }
}

impl Findings<'_> {
    /// The channels that were made unknown as a whole, in name order, and why.
    pub(crate) fn refused(&self) -> impl Iterator<Item = (&str, &str)> {
        let all = self.tallies.iter();
        all.filter_map(|(name, tally)| Some((name.as_str(), tally.refused.as_deref()?)))
    }

    /// Nulls a needle where it stands while the aircraft moves in its beam; `place` tells where in
    /// it the aircraft is, in dots. For when the runway is known.
    pub(crate) fn needle(
        &mut self,
        flight: &mut RawFlight,
        name: &str,
        place: &dyn Fn(f64) -> Option<f64>,
    ) {
        let Some(channel) = flight.channels.get_mut(name) else {
            return;
        };
        let (samples, seconds) = needles::stuck(name, channel, self.limits, place);
        let tally = self.tallies.entry(name.to_owned()).or_default();
        tally.stuck += spikes::null(channel, &samples);
        tally.stuck_s += seconds;
    }

    /// One row per channel, in name order.
    pub(crate) fn report(&self, flight: &mut RawFlight) -> Vec<QualityRow> {
        report(flight, &self.tallies)
    }
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
        // Repeated samples are gone now: the spacing of what is left is the channel's own. Loading hands over known
        // samples only: where all still are known, their spacing is what it found.
        if channel.value.iter().any(|value| value.is_nan()) {
            let interval_s = timebase::interval_s(&channel.time_s, &channel.value);
            if interval_s > 0.0 {
                channel.interval_s = interval_s;
            }
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

/// Adds to the row of a parameter, or makes one, in name order.
pub(crate) fn note(rows: &mut Vec<QualityRow>, flight_id: &str, parameter: &str, action: String) {
    let at = rows.partition_point(|row| row.parameter.as_str() < parameter);
    let row = QualityRow {
        flight_id: flight_id.to_owned(),
        parameter: parameter.to_owned(),
        coverage: 1.0,
        action,
        ..QualityRow::default()
    };
    match rows
        .get_mut(at)
        .filter(|there| there.parameter == parameter)
    {
        Some(there) => tally::merge(there, row),
        None => rows.insert(at, row),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may fail where it stands")]
mod tests;
