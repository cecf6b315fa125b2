//! A written fleet, read from outside: the folder's files and nothing of the code that wrote them.
//!
//! Records are read through the folder's own parameter maps, so every recorder looks alike here.

pub(crate) mod air;
pub(crate) mod aircraft;
pub(crate) mod flown;
pub(crate) mod map;
pub(crate) mod record;
pub(crate) mod runways;
pub(crate) mod table;
pub(crate) mod truth;

use crate::fault::Fault;
use aircraft::AircraftType;
use flown::Flown;
use map::ParameterMap;
use record::Recording;
use runways::RunwayEnd;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use truth::Approach;

/// What a fleet folder says beside its records.
pub(crate) struct Fleet {
    folder: PathBuf,
    maps: Vec<ParameterMap>,
    pub(crate) types: BTreeMap<String, AircraftType>,
    pub(crate) runways: Vec<RunwayEnd>,
    pub(crate) approaches: BTreeMap<String, Vec<Approach>>,
    pub(crate) landing_mass_kg: BTreeMap<String, f64>,
    /// Flights whose record was damaged on purpose.
    pub(crate) damaged: BTreeSet<String>,
}

impl Fleet {
    /// Opens a fleet folder.
    pub(crate) fn open(folder: &Path) -> Result<Self, Fault> {
        let truth = folder.join("truth");
        Ok(Self {
            folder: folder.to_owned(),
            maps: map::read(&folder.join("fleet.toml"))?,
            types: aircraft::read(&folder.join("aircraft"))?,
            runways: runways::read(&folder.join("runways.csv"))?,
            approaches: truth::read(&truth)?,
            landing_mass_kg: truth::landing_masses(&folder.join("flights.parquet"))?,
            damaged: truth::damaged(&truth.join("damages.parquet"))?,
        })
    }

    /// Every record file, sorted.
    pub(crate) fn record_files(&self) -> Result<Vec<PathBuf>, Fault> {
        let mut found = Vec::new();
        let mut open = vec![self.folder.join("records")];
        while let Some(here) = open.pop() {
            let fault = |source| Fault::Read {
                path: here.clone(),
                source,
            };
            for entry in std::fs::read_dir(&here).map_err(fault)? {
                let path = entry.map_err(fault)?.path();
                if path.is_dir() {
                    open.push(path);
                } else if path.extension().is_some_and(|end| end == "parquet") {
                    found.push(path);
                }
            }
        }
        found.sort();
        Ok(found)
    }

    /// The approaches of one record file as they were flown, damaged records left out.
    pub(crate) fn flown(&self, path: &Path) -> Result<Vec<Flown<'_>>, Fault> {
        let name = path
            .file_stem()
            .map(|stem| stem.to_string_lossy().into_owned())
            .unwrap_or_default();
        // A damaged file of one flight may not be readable at all.
        if self.damaged.contains(&name) {
            return Ok(Vec::new());
        }
        let mut flown = Vec::new();
        for recording in record::read(path, &self.maps, &name)? {
            flown.extend(self.flown_of(&recording));
        }
        Ok(flown)
    }

    fn flown_of(&self, recording: &Recording) -> Vec<Flown<'_>> {
        let id = &recording.flight_id;
        if self.damaged.contains(id) {
            return Vec::new();
        }
        let none = Vec::new();
        let approaches = self.approaches.get(id).unwrap_or(&none).iter();
        approaches
            .filter_map(|approach| {
                let aircraft = self.types.get(&approach.aircraft_type)?;
                let end = self
                    .runways
                    .iter()
                    .find(|end| end.airport == approach.airport && end.name == approach.runway)?;
                let mass_kg = self.landing_mass_kg.get(id).copied();
                Flown::of_fleet(recording, approach, aircraft, end, mass_kg)
            })
            .collect()
    }
}
