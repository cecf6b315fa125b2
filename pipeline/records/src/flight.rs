//! One flight as it came from the recorder, in catalogue names and units.

use std::collections::BTreeMap;
use std::path::PathBuf;

use crate::rows::QualityRow;

/// What the flight list says about a flight; everything but the id may be unknown.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FlightHeader {
    /// Opaque id, unique in the fleet.
    pub flight_id: String,
    /// Opaque id of the aircraft.
    pub tail_id: Option<String>,
    /// Key of a file in `aircraft/`.
    pub aircraft_type: Option<String>,
    /// `YYYY-MM`; dates are never finer.
    pub month: Option<String>,
    /// Planned airports, only ever compared with what was flown.
    pub departure: Option<String>,
    /// See `departure`.
    pub destination: Option<String>,
    /// `line`, `training` or `positioning`; line where the list says nothing.
    pub flight_purpose: Option<String>,
    /// Keyed hash of the day, for clustering.
    pub day_key: Option<String>,
    /// Pressure setting of the landing field.
    pub qnh_hpa: Option<f64>,
    /// Used where no mass is recorded.
    pub landing_mass_kg: Option<f64>,
}

/// One parameter at its own rate.
///
/// `time_s` never decreases, and both vectors have the same length; NaN is a missing value.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Channel {
    /// Seconds from the start of the record.
    pub time_s: Vec<f64>,
    /// Values in the catalogue's unit and sign; NaN where unknown.
    pub value: Vec<f64>,
    /// The channel's own sampling interval (median spacing of its non-missing samples).
    pub interval_s: f64,
    /// Recorded only when it changes, or once for the record: the last value holds without limit.
    pub holds: bool,
}

/// One flight, mapped but not yet cleaned.
#[derive(Debug, Clone, Default)]
pub struct RawFlight {
    /// File it came from, relative to the fleet folder.
    pub file: PathBuf,
    /// What the flight list says.
    pub header: FlightHeader,
    /// Catalogue name to channel.
    pub channels: BTreeMap<String, Channel>,
    /// What loading already noticed.
    pub quality: Vec<QualityRow>,
}
