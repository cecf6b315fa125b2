//! The one real recorder flight of the tests, brought into the same shape as an invented approach.
//!
//! It has no flap, gear, speedbrake, N1, position or reference speed: those stay unknown. Its fuel
//! flow stands for thrust, its distance is ground speed integrated back, its temperature is taken
//! as standard.

use crate::fault::Fault;
use crate::fleet::aircraft::AircraftType;
use crate::fleet::flown::{Flown, Frame, moments};
use crate::fleet::map::{self, Source};
use crate::fleet::record::{self, Recording};
use crate::fleet::runways::RunwayEnd;
use std::path::{Path, PathBuf};

/// Where the repository keeps it.
pub(crate) fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/data/real")
}

/// Height at which the threshold is taken to be crossed, ft.
const CROSSING_FT: f64 = 50.0;
/// Longest part before the end that is read, s: more than 40 NM.
const APPROACH_S: f64 = 900.0;

/// Reads the flight; `planned` is the type whose planned speeds it is held against.
pub(crate) fn read<'a>(folder: &Path, planned: &'a AircraftType) -> Result<Flown<'a>, Fault> {
    let path = folder.join("recorder.parquet");
    let mut maps = map::read(&folder.join("fleet.toml"))?;
    for map in &mut maps {
        map.insert("fuel_flow_kg_h".into(), Source::optional("fuelflow_kg_h"));
    }
    let recording = record::read(&path, &maps, "recorder")?
        .pop()
        .ok_or_else(|| Fault::text(&path, "no flight in it"))?;
    let altitude = recording.series("pressure_altitude_ft");
    let (Some(&end_s), Some(&level_ft)) = (altitude.time_s.last(), altitude.value.last()) else {
        return Err(Fault::text(&path, "no altitude in it"));
    };
    let crossing_s = crossing(&recording, level_ft + CROSSING_FT).unwrap_or(end_s);
    let end = RunwayEnd {
        airport: String::new(),
        name: String::new(),
        latitude_deg: 0.0,
        longitude_deg: 0.0,
        bearing_deg: 0.0,
        glide_path_deg: 3.0,
        crossing_height_ft: CROSSING_FT,
    };
    let frame = Frame {
        start_s: end_s - APPROACH_S,
        end_s,
        stop_s: end_s,
        anchor: (crossing_s, 0.0),
        level_ft,
        deviation_k: 0.0,
    };
    let moments = moments(&recording, &frame, &end);
    let held: Vec<f64> = moments
        .iter()
        .filter(|moment| (200.0..1000.0).contains(&moment.height_ft))
        .map(|moment| moment.cas_kt)
        .collect();
    let mass_kg = recording.series("gross_mass_kg").value.last().copied();
    Ok(Flown {
        truth: None,
        aircraft: planned,
        end,
        mass_kg,
        vref_kt: None,
        vapp_kt: held.iter().sum::<f64>() / held.len().max(1) as f64,
        level_ft,
        deviation_k: 0.0,
        moments,
    })
}

/// When the altitude last came down through a level.
fn crossing(recording: &Recording, level_ft: f64) -> Option<f64> {
    let altitude = recording.series("pressure_altitude_ft");
    let index = altitude
        .value
        .iter()
        .rposition(|value| *value >= level_ft)?;
    let (before, after) = (altitude.value[index], *altitude.value.get(index + 1)?);
    Some(altitude.time_s[index] + (before - level_ft) / (before - after))
}
