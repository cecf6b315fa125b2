//! Whether every flight of the flight list is accounted for: loaded, refused, or without a record.

use std::collections::HashSet;
use std::path::Path;

use serde::{Deserialize, Serialize};

use super::flown::Flown;
use super::quarantine::Refusals;
use super::table;
use super::{EXAMPLES, ScoreError};

#[derive(Deserialize)]
struct Row {
    flight_id: String,
    aircraft_type: String,
}

/// Flights of the flight list, each counted once.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct FlightScore {
    /// Flights in `flights.parquet`.
    pub listed: u64,
    /// Those that the review loaded: they have rows in `quality`.
    pub loaded: u64,
    /// Of the loaded ones: those of which a further record was refused.
    pub loaded_and_refused: u64,
    /// Those that were refused and not loaded.
    pub refused: u64,
    /// Those of which the review says nothing: no record came, or it was lost in silence.
    pub unaccounted: u64,
    /// Some of these.
    pub unaccounted_examples: Vec<String>,
    /// Flights loaded that the list does not have.
    pub loaded_unlisted: u64,
    /// Refused inputs that name no flight of the list.
    pub refused_unlisted: u64,
}

/// The flight list: types of its flights are added to `flown`, ids returned in its order.
pub(super) fn read(fleet: &Path, flown: &mut Flown) -> Result<Option<Vec<u32>>, ScoreError> {
    let path = fleet.join("flights.parquet");
    if !path.exists() {
        return Ok(None);
    }
    let mut listed = Vec::new();
    table::of_truth(&path, |row: Row| {
        let flight = flown.flights.add(&row.flight_id);
        let kind = flown.types.add(&row.aircraft_type);
        flown.type_of.insert(flight, kind);
        listed.push(flight);
        Ok(())
    })?;
    Ok(Some(listed))
}

/// Counts the flights of the list. `loaded` holds the flights with rows in `quality`.
pub(super) fn score(
    listed: &[u32],
    loaded: &HashSet<u32>,
    refusals: &Refusals,
    flown: &Flown,
) -> FlightScore {
    let mut score = FlightScore {
        listed: listed.len() as u64,
        refused_unlisted: refusals.without_flight,
        ..FlightScore::default()
    };
    let mut loaded_and_listed = 0;
    for flight in listed {
        let refused = refusals.of_flight.contains_key(flight);
        if loaded.contains(flight) {
            loaded_and_listed += 1;
            score.loaded_and_refused += u64::from(refused);
        } else if refused {
            score.refused += 1;
        } else {
            score.unaccounted += 1;
            if score.unaccounted_examples.len() < EXAMPLES {
                let id = flown.flights.word(*flight);
                score.unaccounted_examples.push(id.to_owned());
            }
        }
    }
    score.loaded = loaded_and_listed;
    score.loaded_unlisted = loaded.len() as u64 - loaded_and_listed;
    score
}
