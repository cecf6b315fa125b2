//! A fleet folder: configuration, flight list, type limits and runways.
//!
//! [`open`] reads it all and checks it all; nothing here reads a flight record.

mod aircraft;
mod cells;
mod config;
mod dates;
mod detectors;
mod extend;
mod flags;
mod flights;
mod flown;
mod forms;
mod identifying;
mod interventions;
mod map;
mod parts;
mod privacy;
mod row_notes;
mod runways;
mod table;
mod verdicts;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::catalogue::{Catalogue, did_you_mean, nearest};
use crate::error::RecordsError;
use crate::flight::FlightHeader;
pub use crate::quality::Limits;

pub use aircraft::{
    AircraftType, Allowance, ApproachLimits, GearLimits, LeverPosition, LossRates, SpeedTable,
    TargetSpeeds,
};
pub use config::{LossSource, Review};
pub use flags::Flags;
pub use flown::FlownRow;
pub use identifying::{Identifying, Identity, by_name};
pub use interventions::InterventionRow;
pub use map::{Entry, ParameterMap};
pub(crate) use parts::Place;
pub use parts::{Part, Parts};
pub use privacy::{Privacy, Rekey};
pub use runways::{RunwayEnd, Runways};
pub use verdicts::VerdictRow;

/// Everything a fleet folder says, checked.
#[derive(Debug, Clone)]
pub struct Fleet {
    /// The folder.
    pub root: PathBuf,
    /// Name to print; the folder's own where none is given.
    pub title: String,
    /// Folder of the flight records.
    pub records: PathBuf,
    /// Files of the folder that are read as tables of the fleet, and so never as records.
    pub tables: Vec<PathBuf>,
    /// Base rate of the sample store: 1, 2 or 4.
    pub rate_hz: u32,
    /// What tells the parts of one recording apart.
    pub parts: Parts,
    /// Parameter maps in file order; empty where columns have catalogue names already.
    pub maps: Vec<ParameterMap>,
    /// The flight list by flight id; empty where there is none.
    pub flights: BTreeMap<String, FlightHeader>,
    /// Flights flown by aircraft and month, recorded or not; empty where it is not told.
    pub flown: Vec<FlownRow>,
    /// What the operator changed; empty where it is not told.
    pub interventions: Vec<InterventionRow>,
    /// What people who looked at events say of them; empty where it is not told.
    pub verdicts: Vec<VerdictRow>,
    /// Type limits by key.
    pub aircraft: BTreeMap<String, AircraftType>,
    /// Runway ends.
    pub runways: Runways,
    /// Folder of the operator's own rules, where there is one.
    pub rules: Option<PathBuf>,
    /// Replaces ids that identify.
    pub privacy: Arc<Privacy>,
    /// Group cells of fewer flights than this are not shown.
    pub min_flights: u32,
    /// Defaults of the review.
    pub review: Review,
    /// Parameters and columns, the operator's included.
    pub catalogue: Catalogue,
    /// Limits of the detectors that look for values which cannot be true.
    pub limits: Limits,
    /// What was assumed or left out, for the user to read.
    pub notes: Vec<String>,
}

impl Default for Fleet {
    /// A fleet that knows nothing: no folder, no list, no limits, no runways.
    fn default() -> Self {
        let key_file = PathBuf::from("privacy.key");
        Self {
            root: PathBuf::new(),
            title: String::new(),
            records: PathBuf::new(),
            tables: Vec::new(),
            rate_hz: 1,
            parts: Parts::default(),
            maps: Vec::new(),
            flights: BTreeMap::new(),
            flown: Vec::new(),
            interventions: Vec::new(),
            verdicts: Vec::new(),
            aircraft: BTreeMap::new(),
            runways: Runways::default(),
            rules: None,
            privacy: Arc::new(Privacy::new(Rekey::Auto, Identifying::Drop, key_file)),
            min_flights: config::MIN_FLIGHTS,
            review: Review::default(),
            catalogue: Catalogue::default(),
            limits: Limits::default(),
            notes: Vec::new(),
        }
    }
}

impl Fleet {
    /// Hash of everything but the records and the flight list that decides what an approach looks
    /// like: maps, types, runways, catalogue, rate. Comments and titles do not count.
    pub fn config_hash(&self) -> String {
        let decides = format!("{}\n{:?}\n{:?}", self.load_hash(), self.maps, self.aircraft);
        blake3::hash(decides.as_bytes()).to_hex()[..32].to_owned()
    }

    /// Hash of what decides how every file is prepared: [`Fleet::config_hash`] without what touches its own
    /// files and flights only: maps ([`Fleet::map_marks`]) and aircraft types ([`Fleet::bases`]).
    pub fn load_hash(&self) -> String {
        let decides = format!(
            "{:?}\n{:?}\n{:?}\n{:?}\n{:?}\n{:?}\n{}",
            self.privacy.identifying(),
            self.parts,
            self.runways,
            self.catalogue,
            self.privacy.rekey(),
            self.limits,
            self.rate_hz
        );
        blake3::hash(decides.as_bytes()).to_hex()[..32].to_owned()
    }

    /// The maps, in the order in which they are tried, by what tells whether a file would be read otherwise.
    pub fn map_marks(&self) -> Vec<MapMark> {
        let short = |text: String| blake3::hash(text.as_bytes()).to_hex()[..16].to_owned();
        self.maps
            .iter()
            .map(|map| {
                let needs: BTreeSet<&str> = map.required().collect();
                MapMark {
                    map: short(format!("{map:?}")),
                    needs: short(format!("{needs:?}")),
                }
            })
            .collect()
    }

    /// For what the fleet says of one flight alone.
    pub fn bases(&self) -> Bases<'_> {
        let types = self.aircraft.iter();
        Bases {
            fleet: self,
            types: types
                .map(|(name, aircraft)| (name.as_str(), format!("\n{:?}", Some(aircraft))))
                .collect(),
            unknown: format!("\n{:?}", None::<&AircraftType>),
        }
    }

    /// The type limits that belong to a flight.
    pub fn aircraft_of(&self, header: &FlightHeader) -> Option<&AircraftType> {
        self.aircraft.get(header.aircraft_type.as_deref()?)
    }
}

/// What the fleet says of single flights, as hashes. The aircraft types are spelled once, not for every flight.
#[derive(Debug)]
pub struct Bases<'a> {
    fleet: &'a Fleet,
    types: BTreeMap<&'a str, String>,
    unknown: String,
}

impl Bases<'_> {
    /// Hash of a flight's row of the flight list and its aircraft type.
    pub fn of(&self, flight_id: &str) -> String {
        let header = self.fleet.flights.get(flight_id);
        let name = header.and_then(|header| header.aircraft_type.as_deref());
        let aircraft = name.and_then(|name| self.types.get(name));
        let mut hasher = blake3::Hasher::new();
        hasher.update(format!("{header:?}").as_bytes());
        hasher.update(aircraft.unwrap_or(&self.unknown).as_bytes());
        hasher.finalize().to_hex()[..16].to_owned()
    }
}

/// A parameter map as a store remembers it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MapMark {
    /// Hash of all it says.
    pub map: String,
    /// Hash of the columns without which it fits no file: with the order of the maps, they decide which map a
    /// file gets.
    pub needs: String,
}

/// Reads a fleet folder, or a plain folder of records with catalogue names.
///
/// # Errors
/// When the folder or a file named in it cannot be read, or says something that cannot be meant;
/// the message names file, place, what was expected and what to do.
pub fn open(root: &Path) -> Result<Fleet, RecordsError> {
    if !root.is_dir() {
        let message = "not a folder; give the fleet folder, the one with fleet.toml and records/";
        return Err(RecordsError::file(root, message));
    }
    let mut notes = Vec::new();
    let toml = root.join("fleet.toml");
    let config = config::read(root, &toml, toml.exists())?;
    if !toml.exists() {
        notes.push("no fleet.toml: columns are taken by their catalogue names".to_owned());
    }
    // Named in fleet.toml, or at the usual place, or not at all.
    let find = |named: &Option<String>, usual: &[&str]| {
        let candidates = named.as_deref().into_iter().chain(usual.iter().copied());
        candidates
            .map(|name| root.join(name))
            .find(|path| path.exists())
    };
    let records = find(&config.records, &["records"]).unwrap_or_else(|| {
        notes.push(
            "no records folder: every Parquet and CSV file of this folder is taken".to_owned(),
        );
        root.to_owned()
    });
    let privacy = Privacy::new(
        config.rekey,
        config.identifying,
        root.join(&config.key_file),
    );
    let list = find(&config.flights, &["flights.parquet", "flights.csv"]);
    let runway_table = find(&config.runways, &["runways.csv"]);
    let tables = list.iter().chain(&runway_table).cloned().collect();
    let flights = match list {
        Some(path) => flights::read(&path, &privacy, &mut notes)?,
        None => {
            notes.push(
                "no flights.parquet or flights.csv: aircraft type, month and mass unknown".into(),
            );
            BTreeMap::new()
        }
    };
    let flown = match find(&None, &["flown.csv"]) {
        Some(path) => flown::read(&path, &privacy, &mut notes)?,
        None => Vec::new(),
    };
    let interventions = match find(&None, &["interventions.csv"]) {
        Some(path) => interventions::read(&path, &mut notes)?,
        None => Vec::new(),
    };
    let verdicts = match find(&None, &["verdicts.csv"]) {
        Some(path) => verdicts::read(&path, &mut notes)?,
        None => Vec::new(),
    };
    let runways = match runway_table {
        Some(path) => runways::read(&path, &mut notes)?,
        None => {
            notes.push(
                "no runways.csv: runways unknown, heights above the end of the record".into(),
            );
            Runways::default()
        }
    };
    let aircraft = match find(&config.aircraft, &["aircraft"]) {
        Some(folder) => type_files(&folder)?,
        None => {
            notes.push("no aircraft folder: limits and reference speeds unknown".to_owned());
            BTreeMap::new()
        }
    };
    unknown_types(&flights, &aircraft, &mut notes);
    // Without a records folder the fleet folder holds both, which is how it is meant.
    let apart = (records != root).then_some(records.as_path());
    privacy.check_key_file(apart, &mut notes);
    let name = root
        .file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned();
    Ok(Fleet {
        root: root.to_owned(),
        title: config.title.clone().unwrap_or(name),
        records,
        tables,
        rate_hz: config.rate_hz,
        parts: config.parts,
        maps: config.maps,
        flights,
        flown,
        interventions,
        verdicts,
        aircraft,
        runways,
        rules: find(&config.rules, &["rules"]),
        privacy: Arc::new(privacy),
        min_flights: config.min_flights,
        review: config.review,
        catalogue: config.catalogue,
        limits: config.limits,
        notes,
    })
}

/// The type files of a folder by key.
///
/// # Errors
/// When the folder or one of its files cannot be read, or a file says what cannot be meant.
pub fn type_files(folder: &Path) -> Result<BTreeMap<String, AircraftType>, RecordsError> {
    let entries = std::fs::read_dir(folder).map_err(|e| RecordsError::io("read", folder, e))?;
    let mut paths = entries
        .map(|entry| entry.map(|entry| entry.path()))
        .collect::<Result<Vec<_>, _>>()
        .map_err(|e| RecordsError::io("read", folder, e))?;
    paths.sort();
    paths
        .iter()
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .map(|path| aircraft::read(path).map(|a| (a.aircraft_type.clone(), a)))
        .collect()
}

/// Types the list names but no file describes: their rules will not be evaluable.
fn unknown_types(
    flights: &BTreeMap<String, FlightHeader>,
    aircraft: &BTreeMap<String, AircraftType>,
    notes: &mut Vec<String>,
) {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for key in flights
        .values()
        .filter_map(|header| header.aircraft_type.as_deref())
    {
        *counts.entry(key).or_default() += 1;
    }
    for (key, flights) in counts
        .into_iter()
        .filter(|(key, _)| !aircraft.contains_key(*key))
    {
        let near = did_you_mean(&nearest(key, aircraft.keys().map(String::as_str)));
        notes.push(format!(
            "aircraft/{key}.toml is missing ({flights} flights): limits unknown{near}"
        ));
    }
}

#[cfg(test)]
mod sister_tests;
#[cfg(test)]
mod tests;
