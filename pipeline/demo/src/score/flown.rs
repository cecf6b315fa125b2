//! The approaches that were flown, by the truth; every other table is joined to these.

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use serde::Deserialize;

use super::ScoreError;
use super::names::Names;
use super::table;

#[derive(Deserialize)]
struct Row {
    flight_id: String,
    approach_no: i32,
    airport: String,
    runway: String,
    aircraft_type: String,
    month: String,
    outcome: String,
    start_s: f64,
    end_s: f64,
}

/// One approach, flown or found.
#[derive(Clone, Copy, Debug)]
pub(super) struct Approach {
    pub(super) flight: u32,
    pub(super) number: i32,
    pub(super) airport: u32,
    pub(super) runway: u32,
    pub(super) outcome: u32,
    pub(super) start_s: f64,
    pub(super) end_s: f64,
}

/// What was flown.
#[derive(Debug, Default)]
pub(super) struct Flown {
    /// Flights of the truth first, then whatever else is named.
    pub(super) flights: Names,
    /// Airports, runways, outcomes.
    pub(super) words: Names,
    pub(super) types: Names,
    /// Type of each flight that has an approach.
    pub(super) type_of: HashMap<u32, u32>,
    pub(super) approaches: Vec<Approach>,
    /// Approaches of months that the review was not asked for.
    pub(super) later: usize,
    pub(super) path: PathBuf,
    /// Place in `approaches`; `None` = later than the review.
    places: HashMap<(u32, i32), Option<u32>>,
}

impl Flown {
    /// Reads the approaches of the fleet up to `month`.
    pub(super) fn read(fleet: &Path, month: Option<&str>) -> Result<Self, ScoreError> {
        let path = fleet.join("truth").join("approaches.parquet");
        let mut all = Self {
            path: path.clone(),
            ..Self::default()
        };
        table::of_truth(&path, |row: Row| {
            let flight = all.flights.add(&row.flight_id);
            let kind = all.types.add(&row.aircraft_type);
            all.type_of.insert(flight, kind);
            let is_later = month.is_some_and(|month| row.month.as_str() > month);
            let place = (!is_later).then_some(all.approaches.len() as u32);
            let before = all.places.insert((flight, row.approach_no), place);
            if before.is_some() {
                return Err(ScoreError::Twice {
                    path: path.clone(),
                    of: called(&row.flight_id, row.approach_no),
                });
            }
            if is_later {
                all.later += 1;
                return Ok(());
            }
            all.approaches.push(Approach {
                flight,
                number: row.approach_no,
                airport: all.words.add(&row.airport),
                runway: all.words.add(&row.runway),
                outcome: all.words.add(&row.outcome),
                start_s: row.start_s,
                end_s: row.end_s,
            });
            Ok(())
        })?;
        Ok(all)
    }

    /// The place of an approach that the truth numbers so; `None` = left out as later.
    pub(super) fn place(
        &self,
        flight_id: &str,
        number: i32,
        path: &Path,
    ) -> Result<Option<u32>, ScoreError> {
        let flight = self.flights.find(flight_id);
        flight
            .and_then(|flight| self.places.get(&(flight, number)).copied())
            .ok_or_else(|| ScoreError::Stray {
                path: path.to_owned(),
                of: called(flight_id, number),
                other: self.path.clone(),
            })
    }
}

/// How an approach is named in messages.
pub(super) fn called(flight_id: &str, number: i32) -> String {
    format!("approach {number} of flight {flight_id}")
}
