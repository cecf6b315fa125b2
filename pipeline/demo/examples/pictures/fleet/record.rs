//! Records: each parameter as a series of its own, for recorders write at many intervals.

use super::map::{self, ParameterMap};
use super::table::Table;
use crate::fault::Fault;
use std::collections::BTreeMap;
use std::path::Path;

/// Samples of one parameter, in order of time.
#[derive(Clone, Debug, Default)]
pub(crate) struct Series {
    pub(crate) time_s: Vec<f64>,
    pub(crate) value: Vec<f64>,
}

impl Series {
    /// Linear between samples at most `gap_s` apart; nothing beyond the ends.
    pub(crate) fn between(&self, time_s: f64, gap_s: f64) -> Option<f64> {
        let after = self.time_s.partition_point(|time| *time < time_s);
        if self.time_s.get(after) == Some(&time_s) {
            return self.value.get(after).copied();
        }
        let before = after.checked_sub(1)?;
        let (start, end) = (self.time_s[before], *self.time_s.get(after)?);
        let part = (time_s - start) / (end - start);
        (end - start <= gap_s)
            .then(|| self.value[before] + part * (self.value[after] - self.value[before]))
    }

    /// As [`Series::between`], the shorter way round for degrees that jump by a whole turn.
    pub(crate) fn around(&self, time_s: f64, gap_s: f64) -> Option<f64> {
        let after = self.time_s.partition_point(|time| *time < time_s);
        let (next, before) = (*self.time_s.get(after)?, after.saturating_sub(1));
        let start = self.time_s[before];
        let part = if next > start {
            (time_s - start) / (next - start)
        } else {
            0.0
        };
        let (from, to) = (self.value[before], self.value[after]);
        let turn = (to - from + 540.0).rem_euclid(360.0) - 180.0;
        (next - start <= gap_s && part >= 0.0).then_some(from + part * turn)
    }

    /// The last value, held for at most `gap_s`.
    pub(crate) fn held(&self, time_s: f64, gap_s: f64) -> Option<f64> {
        let after = self.time_s.partition_point(|time| *time <= time_s);
        let before = after.checked_sub(1)?;
        (time_s - self.time_s[before] <= gap_s).then(|| self.value[before])
    }
}

/// One flight's record.
#[derive(Clone, Debug, Default)]
pub(crate) struct Recording {
    pub(crate) flight_id: String,
    pub(crate) channels: BTreeMap<String, Series>,
}

impl Recording {
    /// A parameter's samples; empty where it was not recorded.
    pub(crate) fn series(&self, name: &str) -> &Series {
        static NONE: Series = Series {
            time_s: Vec::new(),
            value: Vec::new(),
        };
        self.channels.get(name).unwrap_or(&NONE)
    }
}

/// Every flight of a file; `name` is the id of a file that holds one flight and no id.
pub(crate) fn read(
    path: &Path,
    maps: &[ParameterMap],
    name: &str,
) -> Result<Vec<Recording>, Fault> {
    let table = Table::read(path)?;
    let map = map::fitting(maps, &table).ok_or_else(|| {
        Fault::text(
            path,
            "no [[map]] of fleet.toml names columns that this file has all of",
        )
    })?;
    let ids = match map.get("flight_id") {
        Some(source) if table.has(&source.column) => table.texts(&source.column)?,
        _ => vec![name.to_owned(); table.rows()],
    };
    let clock = map
        .get("time_s")
        .ok_or_else(|| Fault::text(path, "its [[map]] has no time_s"))?;
    let times: Vec<Option<f64>> = table
        .numbers(&clock.column)?
        .into_iter()
        .map(|raw| clock.value("time_s", raw?))
        .collect();
    let mut flights: BTreeMap<&str, Recording> = BTreeMap::new();
    for (parameter, source) in map {
        if matches!(parameter.as_str(), "flight_id" | "time_s") || !table.has(&source.column) {
            continue;
        }
        let values = table.numbers(&source.column)?;
        for ((id, time_s), raw) in ids.iter().zip(&times).zip(values) {
            let value = raw.and_then(|raw| source.value(parameter, raw));
            let (Some(time_s), Some(value)) = (*time_s, value) else {
                continue;
            };
            let flight = flights.entry(id).or_default();
            if !flight.channels.contains_key(parameter) {
                flight.channels.insert(parameter.clone(), Series::default());
            }
            if let Some(series) = flight.channels.get_mut(parameter) {
                series.time_s.push(time_s);
                series.value.push(value);
            }
        }
    }
    Ok(flights
        .into_iter()
        .map(|(id, mut recording)| {
            recording.flight_id = id.to_owned();
            recording
        })
        .collect())
}
