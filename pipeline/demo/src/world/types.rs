//! The three invented aircraft types: limits and speeds from the shared type files, and beside them
//! what only a simulator needs (drag, thrust, transit times).

use serde::Deserialize;
use std::sync::LazyLock;

/// How many types there are.
pub(crate) const TYPE_COUNT: usize = 3;

/// The text of the type files, copied into every fleet folder.
pub(crate) const TYPE_FILES: [(&str, &str); TYPE_COUNT] = [
    (
        "corvan-c20.toml",
        include_str!("../../../../rules/aircraft/corvan-c20.toml"),
    ),
    (
        "tarn-t7.toml",
        include_str!("../../../../rules/aircraft/tarn-t7.toml"),
    ),
    (
        "brae-r3.toml",
        include_str!("../../../../rules/aircraft/brae-r3.toml"),
    ),
];

/// What a type file says, as far as the simulator and the truth need it.
#[derive(Debug, Deserialize)]
pub(crate) struct AircraftType {
    pub(crate) aircraft_type: String,
    pub(crate) maximum_landing_mass_kg: f64,
    pub(crate) wheels_below_antenna_ft: f64,
    pub(crate) lever: Vec<Lever>,
    speeds: Speeds,
    target_speed: TargetSpeed,
    pub(crate) approach: Approach,
    pub(crate) loss_ft_per_nm: Loss,
}

/// One lever position.
#[derive(Debug, Deserialize)]
pub(crate) struct Lever {
    pub(crate) limit_kt: f64,
    pub(crate) flap_deg: f64,
    #[serde(default)]
    pub(crate) landing: bool,
}

#[derive(Debug, Deserialize)]
struct Speeds {
    mass_kg: Vec<f64>,
    vref_kt: Vec<f64>,
    min_manoeuvre_kt: Vec<Vec<f64>>,
    vapp_over_vref_kt: f64,
}

#[derive(Debug, Deserialize)]
struct TargetSpeed {
    distance_nm: Vec<f64>,
    cas_kt: Vec<f64>,
    vapp_from_nm: f64,
}

/// The least thrust of a stabilised approach.
#[derive(Debug, Deserialize)]
pub(crate) struct Approach {
    pub(crate) min_thrust_pct: f64,
}

/// Median loss of energy height per air nautical mile, idle.
#[derive(Debug, Deserialize)]
pub(crate) struct Loss {
    pub(crate) clean: f64,
    pub(crate) speedbrake: f64,
    pub(crate) flap: f64,
    pub(crate) gear: f64,
}

impl AircraftType {
    /// Reference speed at a mass, most extended landing flap.
    pub(crate) fn vref_kt(&self, mass_kg: f64) -> f64 {
        interpolate(&self.speeds.mass_kg, &self.speeds.vref_kt, mass_kg)
    }

    /// Approach speed over a reference speed.
    pub(crate) fn vapp_kt(&self, vref_kt: f64) -> f64 {
        vref_kt + self.speeds.vapp_over_vref_kt
    }

    /// Lowest manoeuvring speed in a lever position.
    pub(crate) fn min_manoeuvre_kt(&self, lever: usize, mass_kg: f64) -> f64 {
        interpolate(
            &self.speeds.mass_kg,
            &self.speeds.min_manoeuvre_kt[lever],
            mass_kg,
        )
    }

    /// Planned CAS at a track distance: the table, VAPP inside `vapp_from_nm`, linear in between.
    pub(crate) fn target_cas_kt(&self, distance_nm: f64, vapp_kt: f64) -> f64 {
        let table = &self.target_speed;
        if distance_nm <= table.vapp_from_nm {
            return vapp_kt;
        }
        let last = table.distance_nm.len() - 1;
        let (near_nm, near_kt) = (table.distance_nm[last], table.cas_kt[last]);
        if distance_nm < near_nm {
            let part = (distance_nm - table.vapp_from_nm) / (near_nm - table.vapp_from_nm);
            return vapp_kt + part * (near_kt - vapp_kt);
        }
        // The table runs inwards, interpolation wants rising distances.
        let distances: Vec<f64> = table.distance_nm.iter().rev().copied().collect();
        let speeds: Vec<f64> = table.cas_kt.iter().rev().copied().collect();
        interpolate(&distances, &speeds, distance_nm)
    }

    /// The first lever position that counts as landing flap.
    pub(crate) fn first_landing_lever(&self) -> usize {
        self.lever
            .iter()
            .position(|lever| lever.landing)
            .unwrap_or(self.lever.len() - 1)
    }

    /// Limit of the surfaces: that of the smallest position whose angle is not below `flap_deg`
    /// (half a degree of tolerance).
    pub(crate) fn surface_limit_kt(&self, flap_deg: f64) -> f64 {
        let fits = self
            .lever
            .iter()
            .find(|lever| lever.flap_deg >= flap_deg - 0.5);
        fits.unwrap_or(&self.lever[self.lever.len() - 1]).limit_kt
    }
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

/// What only the simulator needs to know about a type.
pub(crate) struct Handling {
    /// Idle N1 in flight, percent.
    pub(crate) idle_pct: f64,
    /// Energy height per air NM that full thrust adds.
    pub(crate) full_thrust_ft_per_nm: f64,
    /// Extra loss by lever position.
    pub(crate) flap_loss_ft_per_nm: [f64; 5],
    /// Surface speed, degrees a second.
    pub(crate) flap_deg_per_s: f64,
    /// Gear transit, seconds.
    pub(crate) gear_transit_s: f64,
    /// Usual CAS when a lever position is selected.
    pub(crate) selection_kt: [f64; 5],
    /// Fuel burned on the approach, kg a second.
    pub(crate) burn_kg_per_s: f64,
    /// Landing masses drawn from, kg.
    pub(crate) mass_kg: (f64, f64),
    /// How much earlier than the plan the speed is brought back, NM.
    pub(crate) early_nm: f64,
    /// How much higher than usual the gear comes down, ft.
    pub(crate) gear_above_ft: f64,
    /// Least readiness for the speedbrake, 0…1.
    pub(crate) least_brake_habit: f64,
}

/// Handling by type, in the order of [`TYPE_FILES`].
pub(crate) const HANDLING: [Handling; TYPE_COUNT] = [
    Handling {
        idle_pct: 29.0,
        full_thrust_ft_per_nm: 1600.0,
        flap_loss_ft_per_nm: [0.0, 35.0, 85.0, 145.0, 210.0],
        flap_deg_per_s: 1.9,
        gear_transit_s: 11.0,
        selection_kt: [0.0, 220.0, 192.0, 177.0, 160.0],
        burn_kg_per_s: 0.55,
        mass_kg: (48_000.0, 63_500.0),
        early_nm: 0.0,
        gear_above_ft: 0.0,
        least_brake_habit: 0.0,
    },
    Handling {
        idle_pct: 31.0,
        full_thrust_ft_per_nm: 1350.0,
        flap_loss_ft_per_nm: [0.0, 45.0, 105.0, 175.0, 235.0],
        flap_deg_per_s: 1.5,
        gear_transit_s: 14.0,
        selection_kt: [0.0, 225.0, 193.5, 179.0, 165.0],
        burn_kg_per_s: 1.5,
        mass_kg: (146_000.0, 187_500.0),
        early_nm: 0.55,
        gear_above_ft: 150.0,
        least_brake_habit: 0.55,
    },
    Handling {
        idle_pct: 27.0,
        full_thrust_ft_per_nm: 1700.0,
        flap_loss_ft_per_nm: [0.0, 45.0, 95.0, 160.0, 225.0],
        flap_deg_per_s: 2.2,
        gear_transit_s: 8.0,
        selection_kt: [0.0, 208.0, 185.0, 169.0, 154.0],
        burn_kg_per_s: 0.3,
        mass_kg: (24_800.0, 33_800.0),
        early_nm: 0.0,
        gear_above_ft: 0.0,
        least_brake_habit: 0.0,
    },
];

/// The parsed types, in the order of [`TYPE_FILES`].
pub(crate) static TYPES: LazyLock<[AircraftType; TYPE_COUNT]> = LazyLock::new(|| {
    TYPE_FILES.map(|(_, text)| {
        toml::from_str(text).expect("the type files are part of this build and parse")
    })
});

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn target_speed_runs_down_to_vapp() {
        let corvan = &TYPES[0];
        assert!((corvan.target_cas_kt(40.0, 135.0) - 250.0).abs() < 1e-9);
        assert!((corvan.target_cas_kt(17.5, 135.0) - 225.0).abs() < 1e-9);
        assert!((corvan.target_cas_kt(5.5, 135.0) - 150.0).abs() < 1e-9);
        assert!((corvan.target_cas_kt(3.0, 135.0) - 135.0).abs() < 1e-9);
    }

    #[test]
    fn a_surface_between_two_positions_has_the_lower_limit() {
        assert!((TYPES[0].surface_limit_kt(5.4) - 235.0).abs() < 1e-9);
        assert!((TYPES[0].surface_limit_kt(5.6) - 205.0).abs() < 1e-9);
    }
}
