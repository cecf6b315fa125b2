//! What the review said: its measurements, gate criteria and events, put into the grid.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use serde::Deserialize;

use super::ScoreError;
use super::flown::{Flown, called};
use super::found::Found;
use super::grid::{Cell, Grid, Judged};
use super::table;

#[derive(Deserialize)]
struct Measurement {
    flight_id: String,
    approach_no: i32,
    rule: String,
    status: String,
    worst: Option<f64>,
}

#[derive(Deserialize)]
struct Criterion {
    flight_id: String,
    approach_no: i32,
    rule: String,
    criterion: String,
    value: Option<f64>,
    passed: Option<bool>,
}

#[derive(Deserialize)]
struct Event {
    flight_id: String,
    approach_no: i32,
    rule: String,
    worst_unit: String,
    edge: Option<bool>,
    partial: bool,
}

/// What the review said beyond the grid.
#[derive(Debug, Default)]
pub(super) struct Beyond {
    /// Events on approaches that were not flown: flight, and number of the rule.
    pub(super) not_flown: Vec<(u32, u32)>,
    /// Rules that the truth does not speak of.
    pub(super) unknown_rules: BTreeSet<String>,
}

/// Reads all three tables.
pub(super) fn read(
    out: &Path,
    flown: &Flown,
    found: &Found,
    grid: &mut Grid,
) -> Result<Beyond, ScoreError> {
    let tables = out.join("restricted/tables");
    let mut reader = Reader {
        flown,
        found,
        approaches: tables.join("approaches.parquet"),
        grid,
        beyond: Beyond::default(),
    };
    reader.measurements(&tables.join("measurements.parquet"))?;
    reader.criteria(&tables.join("gates.parquet"))?;
    reader.events(&tables.join("events.parquet"))?;
    Ok(reader.beyond)
}

struct Reader<'a> {
    flown: &'a Flown,
    found: &'a Found,
    approaches: PathBuf,
    grid: &'a mut Grid,
    beyond: Beyond,
}

/// One verdict as a table of the review states it.
struct Verdict<'a> {
    path: &'a Path,
    flight_id: &'a str,
    number: i32,
    rule: &'a str,
    judged: Judged,
    /// An event that counts without a row in the table of events.
    counts: bool,
    stated: Option<f64>,
}

impl Reader<'_> {
    fn measurements(&mut self, path: &Path) -> Result<(), ScoreError> {
        table::of_review(path, |row: Measurement| {
            let judged = match row.status.as_str() {
                "event" => Judged::Event,
                "clear" => Judged::Clear,
                "not_evaluable" | "partial" => Judged::NotEvaluable,
                _ => {
                    return Err(ScoreError::Word {
                        path: path.to_owned(),
                        column: "status",
                        word: row.status,
                        expected: "event, clear, not_evaluable or partial",
                    });
                }
            };
            self.put(Verdict {
                path,
                flight_id: &row.flight_id,
                number: row.approach_no,
                rule: &row.rule,
                judged,
                counts: false,
                stated: row.worst,
            })
        })
    }

    fn criteria(&mut self, path: &Path) -> Result<(), ScoreError> {
        table::of_review(path, |row: Criterion| {
            let judged = match row.passed {
                None => Judged::NotEvaluable,
                Some(true) => Judged::Clear,
                Some(false) => Judged::Event,
            };
            self.put(Verdict {
                path,
                flight_id: &row.flight_id,
                number: row.approach_no,
                rule: &format!("{}.{}", row.rule, row.criterion),
                judged,
                counts: judged == Judged::Event,
                stated: row.value,
            })
        })
    }

    fn put(&mut self, verdict: Verdict<'_>) -> Result<(), ScoreError> {
        let place = self.place(verdict.path, verdict.flight_id, verdict.number)?;
        let Some(number) = self.grid.names.find(verdict.rule) else {
            // The one criterion of a rule that the truth knows as a whole is nothing more to know.
            let whole = verdict.rule.split('.').next();
            if whole.and_then(|rule| self.grid.names.find(rule)).is_none() {
                self.beyond.unknown_rules.insert(verdict.rule.to_owned());
            }
            return Ok(());
        };
        let column = &mut self.grid.columns[number as usize];
        column.reviewed = true;
        match place {
            Place::Flown(place) => {
                let cell = &mut column.cells[place as usize];
                if cell.judged != Judged::Absent {
                    return Err(ScoreError::Twice {
                        path: verdict.path.to_owned(),
                        of: format!(
                            "{} and {}",
                            called(verdict.flight_id, verdict.number),
                            verdict.rule
                        ),
                    });
                }
                cell.judged = verdict.judged;
                cell.counts |= verdict.counts;
                cell.stated = verdict.stated.map_or(f32::NAN, |value| value as f32);
            }
            Place::NotFlown(flight) if verdict.judged == Judged::Event => {
                self.beyond.not_flown.push((flight, number));
            }
            Place::NotFlown(_) | Place::Unknown => {}
        }
        Ok(())
    }

    fn events(&mut self, path: &Path) -> Result<(), ScoreError> {
        table::of_review(path, |row: Event| {
            let place = self.place(path, &row.flight_id, row.approach_no)?;
            let Some(column) = self.grid.column(&row.rule) else {
                return Ok(());
            };
            if column.unit.is_none() && !matches!(row.worst_unit.as_str(), "" | "criteria") {
                column.unit = Some(row.worst_unit);
            }
            if let Place::Flown(place) = place {
                let cell: &mut Cell = &mut column.cells[place as usize];
                cell.counts |= !row.partial && row.edge != Some(true);
            }
            Ok(())
        })
    }

    fn place(&self, path: &Path, flight_id: &str, number: i32) -> Result<Place, ScoreError> {
        let flight = self.flown.flights.find(flight_id);
        let seen = flight.and_then(|flight| self.found.of(flight, number));
        match seen.map(|seen| (seen.approach.flight, seen.flown)) {
            Some((_, Some(place))) => Ok(Place::Flown(place)),
            Some((flight, None)) if self.found.is_unknown(flight) => Ok(Place::Unknown),
            Some((flight, None)) => Ok(Place::NotFlown(flight)),
            None => Err(ScoreError::Stray {
                path: path.to_owned(),
                of: called(flight_id, number),
                other: self.approaches.clone(),
            }),
        }
    }
}

/// Where an approach of the review belongs.
enum Place {
    Flown(u32),
    /// The flight.
    NotFlown(u32),
    /// Of a flight that the fleet does not have.
    Unknown,
}
