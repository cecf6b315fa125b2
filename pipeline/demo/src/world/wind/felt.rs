//! What gusts do to an aircraft: load, bank and pitch.

use crate::plan::Plan;
use crate::steady::Steady as _;
use crate::world::atmosphere::FPS_PER_KT;
use crate::world::types::TYPE_COUNT;

/// A wing as far as gusts are concerned.
struct Wing {
    area_ft2: f64,
    /// Change of the lift coefficient per radian of incidence.
    lift_slope: f64,
}

/// Invented wings, in the order of the types.
const WINGS: [Wing; TYPE_COUNT] = [
    Wing {
        area_ft2: 1310.0,
        lift_slope: 5.6,
    },
    Wing {
        area_ft2: 3550.0,
        lift_slope: 5.4,
    },
    Wing {
        area_ft2: 770.0,
        lift_slope: 5.7,
    },
];

/// Density of the standard atmosphere at sea level, slug/ft³ (ICAO Doc 7488).
const SEA_LEVEL_DENSITY: f64 = 0.002_377;
const LB_PER_KG: f64 = 2.204_623;

/// Change of normal acceleration, g, by an upward gust of one knot: the relation for a sharp-edged
/// gust, ρ V a w / (2 W/S), with ρ V from the equivalent airspeed, for which CAS stands at these
/// speeds. The aircraft does not give way, so slow gusts are felt in full.
pub(crate) fn load_g_per_kt(plan: &Plan, cas_kt: f64, tas_kt: f64) -> f64 {
    let wing = &WINGS[plan.type_index];
    let loading = plan.mass_kg * LB_PER_KG / wing.area_ft2;
    let flow = SEA_LEVEL_DENSITY * (cas_kt * FPS_PER_KT).powi(2) / (tas_kt.max(40.0) * FPS_PER_KT);
    flow * wing.lift_slope * FPS_PER_KT / (2.0 * loading)
}

/// Bank and pitch that gusts leave behind once hand or autopilot has answered, degrees.
///
/// Judgement, no source: half a degree of bank for a knot from the left and a quarter of pitch for
/// one from below, both following with a lag of a second.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Attitude {
    pub(super) bank_deg: f64,
    pub(super) pitch_deg: f64,
}

impl Attitude {
    /// Moves one step on.
    pub(super) fn follow(&mut self, lateral_kt: f64, vertical_kt: f64, step_s: f64) {
        let share = 1.0 - (-step_s).exponential();
        self.bank_deg += share * (0.5 * lateral_kt - self.bank_deg);
        self.pitch_deg += share * (0.25 * vertical_kt - self.pitch_deg);
    }
}
