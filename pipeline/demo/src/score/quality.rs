//! What the review's `quality` table says of damaged flights, and what it says of others.
//!
//! A note is worth something only where it stands out: many channels have holes on every flight.
//! So each figure is held against what 95 % of the undamaged flights of that type have, parameter
//! by parameter, and only what lies beyond is a note.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::path::Path;

use serde::Deserialize;

use super::ScoreError;
use super::flown::Flown;
use super::names::Names;
use super::table;

/// Share of the undamaged flights that a figure must lie beyond.
const ORDINARY_SHARE: f64 = 0.95;

/// Share of the parameters on which a damage of the whole record must show: slow channels bridge
/// short holes, and states that are held have none.
const MANY: f64 = 0.25;

#[derive(Deserialize)]
struct Row {
    flight_id: String,
    parameter: String,
    coverage: f64,
    spikes: i64,
    stuck_s: f64,
    gaps: i64,
    out_of_range: i64,
    stale: i64,
    action: String,
}

/// The figures of a row, as whole numbers of which more is worse.
const FIGURES: [&str; 7] = [
    "coverage",
    "spikes",
    "stuck_s",
    "gaps",
    "out_of_range",
    "stale",
    "action",
];

impl Row {
    fn figures(&self) -> [i64; FIGURES.len()] {
        [
            // Missing thousandths, and tenths of a second.
            (1_000.0 * (1.0 - self.coverage)).round() as i64,
            self.spikes,
            (10.0 * self.stuck_s).round() as i64,
            self.gaps,
            self.out_of_range,
            self.stale,
            i64::from(!matches!(self.action.as_str(), "" | "none")),
        ]
    }
}

/// How often each value occurs.
type Counts = BTreeMap<i64, u64>;

/// The table, as far as it bears on damage.
#[derive(Debug, Default)]
pub(super) struct Quality {
    /// Flights with any row.
    pub(super) loaded: HashSet<u32>,
    parameters: Names,
    /// Figures of undamaged flights, by type and parameter.
    ordinary: BTreeMap<(u32, u32), [Counts; FIGURES.len()]>,
    /// Figures of damaged flights, by parameter.
    damaged: HashMap<u32, BTreeMap<u32, [i64; FIGURES.len()]>>,
}

impl Quality {
    /// Reads the table.
    pub(super) fn read(
        out: &Path,
        flown: &mut Flown,
        is_damaged: &dyn Fn(u32) -> bool,
    ) -> Result<Self, ScoreError> {
        let mut quality = Self::default();
        let path = out.join("restricted/tables/quality.parquet");
        table::of_review(&path, |row: Row| {
            let flight = flown.flights.add(&row.flight_id);
            quality.loaded.insert(flight);
            let parameter = quality.parameters.add(&row.parameter);
            let figures = row.figures();
            if is_damaged(flight) {
                let rows = quality.damaged.entry(flight).or_default();
                rows.insert(parameter, figures);
            } else if let Some(kind) = flown.type_of.get(&flight) {
                let counts = quality.ordinary.entry((*kind, parameter)).or_default();
                for (counts, figure) in counts.iter_mut().zip(figures) {
                    *counts.entry(figure).or_default() += 1;
                }
            }
            Ok(())
        })?;
        Ok(quality)
    }

    /// The figures of one parameter that stand out on a damaged flight.
    pub(super) fn notes(&self, flown: &Flown, flight: u32, parameter: &str) -> Vec<&'static str> {
        let rows = self.damaged.get(&flight);
        let row = self
            .parameters
            .find(parameter)
            .and_then(|parameter| Some((parameter, rows?.get(&parameter)?)));
        row.map_or_else(Vec::new, |(parameter, figures)| {
            self.outstanding(flown, flight, parameter, figures)
        })
    }

    /// The figures that stand out on at least [`MANY`] of the flight's parameters.
    pub(super) fn notes_on_many(&self, flown: &Flown, flight: u32) -> Vec<&'static str> {
        let Some(rows) = self.damaged.get(&flight) else {
            return Vec::new();
        };
        // The row of the time is no parameter's: it speaks of rows that were dropped.
        let time = self.parameters.find("time_s");
        let rows = rows
            .iter()
            .filter(|(parameter, _)| Some(**parameter) != time);
        let mut times: BTreeMap<&'static str, usize> = BTreeMap::new();
        let all = rows.clone().count();
        for (parameter, figures) in rows {
            for figure in self.outstanding(flown, flight, *parameter, figures) {
                *times.entry(figure).or_default() += 1;
            }
        }
        times.retain(|_, times| *times as f64 >= MANY * all as f64);
        times.into_keys().collect()
    }

    fn outstanding(
        &self,
        flown: &Flown,
        flight: u32,
        parameter: u32,
        figures: &[i64; FIGURES.len()],
    ) -> Vec<&'static str> {
        let kind = flown.type_of.get(&flight).copied();
        let ordinary = kind.and_then(|kind| self.ordinary.get(&(kind, parameter)));
        let names = FIGURES.into_iter().zip(figures).enumerate();
        let mut found: Vec<&'static str> = names
            .filter(|(index, (_, figure))| {
                **figure > ordinary.map_or(0, |counts| limit(&counts[*index]))
            })
            .map(|(_, (name, _))| name)
            .collect();
        // The words repeat what the counts say.
        if found.len() > 1 {
            found.retain(|name| *name != "action");
        }
        found
    }
}

/// What at least [`ORDINARY_SHARE`] of the flights do not exceed, and never less than nothing.
fn limit(counts: &Counts) -> i64 {
    let all: u64 = counts.values().sum();
    let mut seen = 0;
    for (value, times) in counts {
        seen += times;
        if seen as f64 >= ORDINARY_SHARE * all as f64 {
            return (*value).max(0);
        }
    }
    0
}
