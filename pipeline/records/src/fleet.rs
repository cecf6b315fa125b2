//! A fleet folder: configuration, flight list, type limits and runways.
//!
//! [`open`] reads it all and checks it all; nothing here reads a flight record.

mod aircraft;
mod runways;

use std::collections::BTreeMap;
use std::path::PathBuf;

use crate::catalogue::Catalogue;
use crate::flight::FlightHeader;

pub use aircraft::{
    AircraftType, ApproachLimits, GearLimits, LeverPosition, LossRates, SpeedTable, TargetSpeeds,
};
pub use runways::{RunwayEnd, Runways};

/// Everything a fleet folder says, checked.
#[derive(Debug, Clone)]
pub struct Fleet {
    /// The folder.
    pub root: PathBuf,
    /// Name to print; the folder's own where none is given.
    pub title: String,
    /// Folder of the flight records.
    pub records: PathBuf,
    /// Base rate of the sample store: 1, 2 or 4.
    pub rate_hz: u32,
    /// The flight list by flight id; empty where there is none.
    pub flights: BTreeMap<String, FlightHeader>,
    /// Type limits by key.
    pub aircraft: BTreeMap<String, AircraftType>,
    /// Runway ends.
    pub runways: Runways,
    /// Parameters and columns, the operator's included.
    pub catalogue: Catalogue,
    /// What was assumed or left out, for the user to read.
    pub notes: Vec<String>,
}

impl Fleet {
    /// The type limits that belong to a flight.
    pub fn aircraft_of(&self, header: &FlightHeader) -> Option<&AircraftType> {
        self.aircraft.get(header.aircraft_type.as_deref()?)
    }
}
