//! The limits, masses and speeds of one aircraft type, as `aircraft/*.toml` gives them.

mod check;

use std::path::Path;

use serde::{Deserialize, Serialize};

use crate::error::{RecordsError, parse_toml, read_text};

/// Surfaces rest this far from their nominal angle, degrees.
const SURFACE_TOLERANCE_DEG: f64 = 0.5;

/// One type file. Every key is required unless it says otherwise.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AircraftType {
    /// Key: the file's stem, and what the flight list says.
    pub aircraft_type: String,
    /// Name to print.
    pub title: String,
    /// Maximum operating speed, the limit when clean.
    pub vmo_kt: f64,
    /// Maximum landing mass.
    pub maximum_landing_mass_kg: f64,
    /// Glide-path antenna above the wheels in the landing attitude.
    pub wheels_below_antenna_ft: f64,
    /// Highest pressure altitude with flaps extended; none is known where absent.
    pub flap_altitude_limit_ft: Option<f64>,
    /// Landing gear limits.
    pub gear: GearLimits,
    /// Lever positions, clean first.
    #[serde(rename = "lever")]
    pub levers: Vec<LeverPosition>,
    /// Speeds by gross mass.
    pub speeds: SpeedTable,
    /// Planned speeds by distance.
    pub target_speed: TargetSpeeds,
    /// What a stabilised approach needs.
    pub approach: ApproachLimits,
    /// What each configuration loses.
    pub loss_ft_per_nm: LossRates,
}

/// Landing gear limits.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GearLimits {
    /// Highest speed while it moves down.
    pub extend_limit_kt: f64,
    /// Highest speed with it down and locked.
    pub extended_limit_kt: f64,
}

/// One position of the flap lever.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LeverPosition {
    /// As crews call it.
    pub name: String,
    /// Not to be exceeded in this position.
    pub limit_kt: f64,
    /// Angle of the flaps there.
    pub flap_deg: f64,
    /// Angle of the slats there.
    pub slat_deg: f64,
    /// Speed usually flown there.
    pub target_cas_kt: f64,
    /// Counts as landing flap; false where absent.
    #[serde(default)]
    pub landing: bool,
    /// Reference speed at each mass of the speed table when landing with it; that of the most extended
    /// landing flap where absent.
    pub vref_kt: Option<Vec<f64>>,
}

/// Speeds by gross mass, linear in between, held beyond the ends.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SpeedTable {
    /// Masses, ascending.
    pub mass_kg: Vec<f64>,
    /// Reference speed with the most extended landing flap at each mass.
    pub vref_kt: Vec<f64>,
    /// Lowest manoeuvring speed: a row per lever position, a column per mass.
    pub min_manoeuvre_kt: Vec<Vec<f64>>,
    /// Approach speed above the reference speed where none is recorded.
    pub vapp_over_vref_kt: f64,
}

/// Planned speeds by track distance to the threshold, far end first.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TargetSpeeds {
    /// Distances, descending.
    pub distance_nm: Vec<f64>,
    /// Speed at each distance.
    pub cas_kt: Vec<f64>,
    /// From here in it is VAPP.
    pub vapp_from_nm: f64,
    /// What the rule of three leaves for slowing down; fixed where absent.
    #[serde(default)]
    pub allowance: Allowance,
}

/// What the rule of three takes off its 300 ft per NM as room to slow down.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Allowance {
    /// 1,000 ft until the speed has come down to VAPP by plan.
    #[default]
    Fixed,
    /// 30 ft for each knot above the speed usually flown with the first flap, 1,000 ft at most.
    Speed,
}

/// What a stabilised approach needs.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ApproachLimits {
    /// Lowest thrust on a stabilised approach, N1.
    pub min_thrust_pct: f64,
}

/// Median loss of energy height per air nautical mile, idle thrust, ft/NM.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LossRates {
    /// Clean.
    pub clean: f64,
    /// With speedbrake.
    pub speedbrake: f64,
    /// With approach flap.
    pub flap: f64,
    /// With gear and landing flap.
    pub gear: f64,
}

impl AircraftType {
    /// Reference speed at a mass, landing with the lever in a position; with the most extended landing flap
    /// where that is not known or has no speeds of its own.
    pub fn vref_kt(&self, mass_kg: f64, landing_lever: Option<usize>) -> f64 {
        let position = landing_lever.and_then(|lever| self.levers.get(lever));
        let own = position.and_then(|position| position.vref_kt.as_ref());
        interpolate(
            &self.speeds.mass_kg,
            own.unwrap_or(&self.speeds.vref_kt),
            mass_kg,
        )
    }

    /// Whether a computed column follows one of those it may be made of: some do so for some types only.
    pub fn follows(&self, column: &str, part: &str) -> bool {
        match (column, part) {
            ("rule_of_three_ft", "cas_kt") => self.target_speed.allowance == Allowance::Speed,
            ("vref_kt", "flap_lever" | "flap_angle_deg") => {
                self.levers.iter().any(|lever| lever.vref_kt.is_some())
            }
            _ => true,
        }
    }

    /// The landing flap position a lever, or where that is unknown the surfaces, stand in; none with less flap.
    pub fn landing_lever(&self, lever: f64, flap_deg: f64) -> Option<usize> {
        let reached = |p: &LeverPosition| p.flap_deg <= flap_deg + SURFACE_TOLERANCE_DEG;
        let index = if lever.is_nan() {
            self.levers.iter().rposition(reached)?
        } else {
            lever_index(lever)?
        };
        self.levers.get(index)?.landing.then_some(index)
    }

    /// Limit of a lever position; none where the index is not in the table. Clean is VMO.
    pub fn lever_limit_kt(&self, lever: f64) -> Option<f64> {
        let position = self.levers.get(lever_index(lever)?)?;
        Some(if lever == 0.0 {
            self.vmo_kt.min(position.limit_kt)
        } else {
            position.limit_kt
        })
    }

    /// Limit of the position after this one; none at the last.
    pub fn next_limit_kt(&self, lever: f64) -> Option<f64> {
        self.levers.get(lever_index(lever)? + 1).map(|p| p.limit_kt)
    }

    /// Limit of the surfaces as they stand: of the smallest position whose angle is not below
    /// them, the lower of flaps and slats where both are known. Surfaces beyond the last position
    /// have its limit.
    pub fn surface_limit_kt(&self, flap_deg: f64, slat_deg: f64) -> Option<f64> {
        let limit = |angle: f64, of: fn(&LeverPosition) -> f64| {
            if angle.is_nan() {
                return None;
            }
            let reaches = |p: &&LeverPosition| of(p) >= angle - SURFACE_TOLERANCE_DEG;
            let position = self.levers.iter().find(reaches).or(self.levers.last())?;
            let clean = std::ptr::eq(position, &self.levers[0]);
            Some(if clean {
                self.vmo_kt.min(position.limit_kt)
            } else {
                position.limit_kt
            })
        };
        match (
            limit(flap_deg, |p| p.flap_deg),
            limit(slat_deg, |p| p.slat_deg),
        ) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        }
    }

    /// Lowest manoeuvring speed at a lever position and mass.
    pub fn min_manoeuvre_kt(&self, lever: f64, mass_kg: f64) -> Option<f64> {
        let row = self.speeds.min_manoeuvre_kt.get(lever_index(lever)?)?;
        Some(interpolate(&self.speeds.mass_kg, row, mass_kg))
    }

    /// Planned airspeed at a track distance, with this approach's VAPP.
    pub fn target_cas_kt(&self, distance_nm: f64, vapp_kt: f64) -> f64 {
        let table = &self.target_speed;
        if distance_nm.is_nan() || vapp_kt.is_nan() {
            return f64::NAN;
        }
        if distance_nm <= table.vapp_from_nm {
            return vapp_kt;
        }
        // Far ends come first. What lies nearer than where VAPP is flown from says nothing.
        let points = table
            .distance_nm
            .partition_point(|d| *d > table.vapp_from_nm);
        let at = |point: usize| match table.distance_nm.get(point).zip(table.cas_kt.get(point)) {
            Some((distance_nm, cas_kt)) if point < points => (*distance_nm, *cas_kt),
            _ => (table.vapp_from_nm, vapp_kt),
        };
        let farther = table.distance_nm[..points].partition_point(|d| *d > distance_nm);
        let near = at(farther);
        let Some(far) = farther.checked_sub(1).map(at) else {
            return near.1;
        };
        let share = (distance_nm - near.0) / (far.0 - near.0);
        near.1 + share * (far.1 - near.1)
    }

    /// Whether landing flap is set: by the flap surface where known, else by the lever.
    pub fn landing_flap_set(&self, flap_deg: f64, lever: f64) -> Option<bool> {
        let first = self.levers.iter().position(|p| p.landing)?;
        if !flap_deg.is_nan() {
            return Some(flap_deg >= self.levers[first].flap_deg - SURFACE_TOLERANCE_DEG);
        }
        Some(lever_index(lever)? >= first)
    }
}

/// Reads and checks one type file.
pub(super) fn read(path: &Path) -> Result<AircraftType, RecordsError> {
    let text = read_text(path)?;
    let aircraft: AircraftType = parse_toml(path, &text)?;
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    match aircraft.fault(&stem) {
        Some(message) => Err(RecordsError::file(path, message)),
        None => Ok(aircraft),
    }
}

/// A detent as a list index; none for unknown or in-between values.
fn lever_index(lever: f64) -> Option<usize> {
    (lever >= 0.0 && lever.fract() == 0.0).then_some(lever as usize)
}

/// Piecewise linear over ascending `x`, held beyond the ends; NaN in, NaN out.
pub(crate) fn interpolate(x: &[f64], y: &[f64], at: f64) -> f64 {
    if at.is_nan() || x.is_empty() {
        return f64::NAN;
    }
    let after = x.partition_point(|&known| known <= at);
    if after == 0 {
        return y[0];
    }
    if after == x.len() {
        return y[after - 1];
    }
    let share = (at - x[after - 1]) / (x[after] - x[after - 1]);
    y[after - 1] + share * (y[after] - y[after - 1])
}

#[cfg(test)]
mod published;
