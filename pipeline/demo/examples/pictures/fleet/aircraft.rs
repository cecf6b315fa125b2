//! Aircraft types: limits and planned speeds from the fleet's type files.

use crate::fault::{Fault, read_text};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::Path;

/// A type file, as far as pictures and figures need it.
#[derive(Clone, Debug, Deserialize)]
pub(crate) struct AircraftType {
    pub(crate) aircraft_type: String,
    pub(crate) maximum_landing_mass_kg: f64,
    pub(crate) wheels_below_antenna_ft: f64,
    pub(crate) lever: Vec<Lever>,
    pub(crate) speeds: Speeds,
    target_speed: TargetSpeed,
}

/// One lever position.
#[derive(Clone, Debug, Deserialize)]
pub(crate) struct Lever {
    pub(crate) name: String,
    pub(crate) limit_kt: f64,
    pub(crate) flap_deg: f64,
    #[serde(default)]
    pub(crate) landing: bool,
}

/// Speeds by mass.
#[derive(Clone, Debug, Deserialize)]
pub(crate) struct Speeds {
    mass_kg: Vec<f64>,
    min_manoeuvre_kt: Vec<Vec<f64>>,
    pub(crate) vapp_over_vref_kt: f64,
}

#[derive(Clone, Debug, Deserialize)]
struct TargetSpeed {
    distance_nm: Vec<f64>,
    cas_kt: Vec<f64>,
    vapp_from_nm: f64,
}

impl AircraftType {
    /// Lowest manoeuvring speed in a lever position.
    pub(crate) fn min_manoeuvre_kt(&self, lever: usize, mass_kg: f64) -> Option<f64> {
        let row = self.speeds.min_manoeuvre_kt.get(lever)?;
        Some(interpolate(&self.speeds.mass_kg, row, mass_kg))
    }

    /// Planned CAS at a track distance: the table, VAPP near the runway, linear in between.
    pub(crate) fn target_cas_kt(&self, distance_nm: f64, vapp_kt: f64) -> f64 {
        let plan = &self.target_speed;
        let mut distances = vec![plan.vapp_from_nm];
        let mut speeds = vec![vapp_kt];
        distances.extend(plan.distance_nm.iter().rev());
        speeds.extend(plan.cas_kt.iter().rev());
        interpolate(&distances, &speeds, distance_nm)
    }
}

/// All type files of a folder, by type.
pub(crate) fn read(folder: &Path) -> Result<BTreeMap<String, AircraftType>, Fault> {
    let fault = |source| Fault::Read {
        path: folder.to_owned(),
        source,
    };
    let mut types = BTreeMap::new();
    for entry in std::fs::read_dir(folder).map_err(fault)? {
        let path = entry.map_err(fault)?.path();
        if path.extension().is_none_or(|end| end != "toml") {
            continue;
        }
        let parsed: AircraftType = toml::from_str(&read_text(&path)?)
            .map_err(|error| Fault::text(&path, error.to_string()))?;
        types.insert(parsed.aircraft_type.clone(), parsed);
    }
    Ok(types)
}

/// Linear interpolation over rising `x`, held beyond the ends.
pub(crate) fn interpolate(x: &[f64], y: &[f64], at: f64) -> f64 {
    let after = x.partition_point(|value| *value < at);
    if after == 0 {
        return y[0];
    }
    if after == x.len() {
        return y[x.len() - 1];
    }
    let part = (at - x[after - 1]) / (x[after] - x[after - 1]);
    y[after - 1] + part * (y[after] - y[after - 1])
}
