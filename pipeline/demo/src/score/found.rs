//! The approaches that the review found, each with the flown one that it is.
//!
//! They are matched by time, not by number: where a review misses the first of two approaches, its
//! first is the second one flown, and must not be judged as the other.

use std::collections::{HashMap, HashSet};
use std::path::Path;

use serde::Deserialize;

use super::ScoreError;
use super::flown::{Approach, Flown, called};
use super::table;

#[derive(Deserialize)]
struct Row {
    flight_id: String,
    approach_no: i32,
    airport: Option<String>,
    runway: Option<String>,
    outcome: String,
    start_s: f64,
    end_s: f64,
    height_source: String,
    missing_columns: String,
}

/// An approach of the review.
#[derive(Clone, Debug)]
pub(super) struct Seen {
    pub(super) approach: Approach,
    /// Its place among the flown ones.
    pub(super) flown: Option<u32>,
    pub(super) height_source: u32,
    pub(super) missing_columns: u32,
}

/// What was found.
#[derive(Debug, Default)]
pub(super) struct Found {
    pub(super) approaches: Vec<Seen>,
    /// For each flown approach, where it is in `approaches`.
    pub(super) of_flown: Vec<Option<u32>>,
    /// Flights from this number on are unknown to the fleet.
    pub(super) unknown_from: u32,
    places: HashMap<(u32, i32), u32>,
}

impl Found {
    /// Reads the approaches of the review and matches them.
    pub(super) fn read(out: &Path, flown: &mut Flown) -> Result<Self, ScoreError> {
        let path = out.join("restricted/tables/approaches.parquet");
        let mut all = Self {
            unknown_from: flown.flights.len() as u32,
            ..Self::default()
        };
        table::of_review(&path, |row: Row| {
            let flight = flown.flights.add(&row.flight_id);
            let place = all.approaches.len() as u32;
            let before = all.places.insert((flight, row.approach_no), place);
            if before.is_some() {
                return Err(ScoreError::Twice {
                    path: path.clone(),
                    of: called(&row.flight_id, row.approach_no),
                });
            }
            let unknown = "unknown";
            let words = &mut flown.words;
            all.approaches.push(Seen {
                approach: Approach {
                    flight,
                    number: row.approach_no,
                    airport: words.add(row.airport.as_deref().unwrap_or(unknown)),
                    runway: words.add(row.runway.as_deref().unwrap_or(unknown)),
                    outcome: words.add(&row.outcome),
                    start_s: row.start_s,
                    end_s: row.end_s,
                },
                flown: None,
                height_source: words.add(&row.height_source),
                missing_columns: words.add(&row.missing_columns),
            });
            Ok(())
        })?;
        if !all.approaches.is_empty() && all.unknown_flights() == all.flights() {
            return Err(ScoreError::Unrelated {
                review: path,
                truth: flown.path.clone(),
            });
        }
        all.matched(flown);
        Ok(all)
    }

    /// Pairs the approaches of each flight, those that overlap longest first.
    fn matched(&mut self, flown: &Flown) {
        self.of_flown = vec![None; flown.approaches.len()];
        let mut seen_of: HashMap<u32, Vec<u32>> = HashMap::new();
        for (place, seen) in self.approaches.iter().enumerate() {
            seen_of
                .entry(seen.approach.flight)
                .or_default()
                .push(place as u32);
        }
        let mut start = 0;
        let mut by_flight: Vec<u32> = (0..flown.approaches.len() as u32).collect();
        by_flight.sort_by_key(|place| flown.approaches[*place as usize].flight);
        while start < by_flight.len() {
            let flight = flown.approaches[by_flight[start] as usize].flight;
            let own = |place: &&u32| flown.approaches[**place as usize].flight == flight;
            let end = start + by_flight[start..].iter().take_while(own).count();
            let seen = seen_of.get(&flight).map_or(&[][..], Vec::as_slice);
            for (known, found) in pairs(flown, &self.approaches, &by_flight[start..end], seen) {
                self.of_flown[known as usize] = Some(found);
                self.approaches[found as usize].flown = Some(known);
            }
            start = end;
        }
    }

    /// Whether neither truth nor flight list has the flight: nothing can be said of it.
    pub(super) fn is_unknown(&self, flight: u32) -> bool {
        flight >= self.unknown_from
    }

    fn flights(&self) -> usize {
        let flights: HashSet<u32> = self.approaches.iter().map(|s| s.approach.flight).collect();
        flights.len()
    }

    /// Flights with approaches that neither truth nor flight list has.
    pub(super) fn unknown_flights(&self) -> usize {
        let flights = self.approaches.iter().map(|seen| seen.approach.flight);
        let unknown: HashSet<u32> = flights.filter(|flight| self.is_unknown(*flight)).collect();
        unknown.len()
    }

    /// The approach that the review numbers so.
    pub(super) fn of(&self, flight: u32, number: i32) -> Option<&Seen> {
        let place = self.places.get(&(flight, number))?;
        self.approaches.get(*place as usize)
    }
}

/// Each flown and each found approach of one flight at most once.
fn pairs(flown: &Flown, found: &[Seen], known: &[u32], seen: &[u32]) -> Vec<(u32, u32)> {
    let mut overlaps: Vec<(f64, u32, u32)> = Vec::new();
    for &a in known {
        for &b in seen {
            let (one, other) = (flown.approaches[a as usize], found[b as usize].approach);
            let overlap_s = one.end_s.min(other.end_s) - one.start_s.max(other.start_s);
            if overlap_s > 0.0 {
                overlaps.push((overlap_s, a, b));
            }
        }
    }
    overlaps.sort_by(|x, y| y.0.total_cmp(&x.0).then((x.1, x.2).cmp(&(y.1, y.2))));
    let mut pairs: Vec<(u32, u32)> = Vec::new();
    for (_, a, b) in overlaps {
        if pairs.iter().all(|pair| pair.0 != a && pair.1 != b) {
            pairs.push((a, b));
        }
    }
    pairs
}
