//! The way left to the gate: how much energy is to be lost, over how much air.

use crate::atmosphere::{self, FT_PER_KT2, FT_PER_NM};
use crate::derive::{Columns, Frame, isa_deviation_k};

use super::moment::{Moment, last_crossing};

/// The gate that energy is planned for, height above the threshold.
pub const GATE_FT: f64 = 1_000.0;
/// Closer to the gate a loss per mile says nothing: it would divide by hardly any way. Judgement.
const LEAST_WAY_NM: f64 = 0.5;

/// Where the glide path is at [`GATE_FT`], and the energy wanted there.
pub(super) struct Gate {
    /// Track distance of that place.
    pub(super) distance_nm: f64,
    deviation_k: f64,
    /// Air distance at that place, where the approach came there.
    air_nm: Option<f64>,
}

/// The way from a moment to the gate.
pub(super) enum Way {
    /// So much air, and so much to be lost over each mile of it.
    Left { air_nm: f64, needed_ft_per_nm: f64 },
    /// The gate is reached.
    Over,
    /// Not known.
    Unknown,
}

impl Gate {
    pub(super) fn of(columns: &Columns, frame: &Frame) -> Self {
        let slope_ft_per_nm = frame.glide_path_deg.to_radians().tan() * FT_PER_NM;
        let distance_nm = (GATE_FT - frame.crossing_height_ft) / slope_ft_per_nm;
        let there = last_crossing(columns, "distance_to_threshold_nm", distance_nm);
        Self {
            distance_nm,
            deviation_k: isa_deviation_k(columns).unwrap_or(0.0),
            air_nm: there.and_then(|there| there.value(columns, "air_distance_nm")),
        }
    }

    /// What is left at a moment, with the energy of VAPP on the path at the gate as the aim.
    pub(super) fn way(&self, columns: &Columns, at: Moment) -> Way {
        let value = |name| at.value(columns, name);
        let Some(distance_nm) = value("distance_to_threshold_nm") else {
            return Way::Unknown;
        };
        if distance_nm - self.distance_nm < LEAST_WAY_NM {
            return Way::Over;
        }
        let left = || {
            let air_nm = self.air_left_nm(columns, at, distance_nm)?;
            let zero_ft = value("pressure_altitude_ft")? - value("height_aal_ft")?;
            let tas_kt = atmosphere::tas_kt(value("vapp_kt")?, zero_ft + GATE_FT, self.deviation_k);
            let wanted_ft = GATE_FT + FT_PER_KT2 * tas_kt * tas_kt;
            Some((air_nm, (value("energy_height_ft")? - wanted_ft) / air_nm))
        };
        match left() {
            Some((air_nm, needed_ft_per_nm)) => Way::Left {
                air_nm,
                needed_ft_per_nm,
            },
            None => Way::Unknown,
        }
    }

    /// As flown where the place was reached; else the ground distance at the wind of the moment.
    fn air_left_nm(&self, columns: &Columns, at: Moment, distance_nm: f64) -> Option<f64> {
        let flown = self
            .air_nm
            .and_then(|there| Some(at.value(columns, "air_distance_nm")? - there));
        let foreseen = || {
            let tas_kt = at.value(columns, "tas_kt")?;
            let ground_kt = at.value(columns, "ground_speed_kt")?;
            let way_nm = (distance_nm - self.distance_nm) * tas_kt / ground_kt;
            way_nm.is_finite().then_some(way_nm)
        };
        flown.or_else(foreseen).filter(|nm| *nm > 0.0)
    }
}
