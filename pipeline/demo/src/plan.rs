//! What one flight will be: place, weather, mass, habits, and what is planted in it.

pub(crate) mod arrival;
pub(crate) mod descent;
pub(crate) mod draw;
pub(crate) mod plant;
pub(crate) mod shares;
pub(crate) mod speeds;
pub(crate) mod style;

use crate::plan::arrival::Routing;
use crate::plan::descent::{Bend, Descent};
use crate::plan::plant::Plant;
use crate::plan::shares::Shares;
use crate::plan::speeds::Speeds;
use crate::plan::style::Style;
use crate::world::airports::{Arrival, LandingEnd};
use crate::world::types::{AircraftType, HANDLING, Handling, TYPES};
use crate::world::wind::{Wander, Wind};

/// Everything that decides a flight before it is flown.
#[derive(Clone)]
pub(crate) struct Plan {
    pub(crate) number: u64,
    pub(crate) seed: u64,
    pub(crate) shares: Shares,
    /// Whether its recorder blurs nothing.
    pub(crate) exact: bool,
    pub(crate) type_index: usize,
    pub(crate) airport: &'static str,
    pub(crate) departure: &'static str,
    pub(crate) end: LandingEnd,
    pub(crate) arrival: Arrival,
    pub(crate) month_index: usize,
    pub(crate) day: u64,
    pub(crate) tail: u64,
    pub(crate) mass_kg: f64,
    pub(crate) deviation_k: f64,
    pub(crate) qnh_hpa: f64,
    pub(crate) qnh_known: bool,
    pub(crate) wind: Wind,
    pub(crate) routing: Routing,
    pub(crate) start_nm: f64,
    pub(crate) style: Style,
    pub(crate) bend: Bend,
    pub(crate) descent: Descent,
    /// The hand on the descent: ft over the planned heights.
    pub(crate) descent_wander: Wander,
    pub(crate) speeds: Speeds,
    /// How much later than planned the speed comes back, NM.
    pub(crate) late_nm: f64,
    /// Speed carried above the plan outside 8 NM, kt.
    pub(crate) fast_kt: f64,
    /// What is added to the approach speed for wind, kt.
    pub(crate) wind_additive_kt: f64,
    /// CAS at which each lever position is selected.
    pub(crate) selection_kt: [f64; 5],
    pub(crate) gear_ft: f64,
    pub(crate) full_flap_ft: f64,
    pub(crate) landing_lever: usize,
    /// How readily the speedbrake is used, 0…1.
    pub(crate) brake_habit: f64,
    /// How long the speedbrake stays out when it is no longer needed, s.
    pub(crate) brake_forgotten_s: f64,
    pub(crate) glide_wander: Wander,
    pub(crate) localizer_wander: Wander,
    pub(crate) plants: Vec<Plant>,
    /// Height at which a go-around is started.
    pub(crate) go_around_ft: Option<f64>,
    /// Touches the runway and flies again.
    pub(crate) touch: Option<Touch>,
    /// Whether a go-around comes back for another approach; a touch always does.
    pub(crate) second_approach: bool,
    pub(crate) circuit_right: bool,
    pub(crate) flare: Flare,
    /// What a contact is firmer or softer by than its sink tells, g.
    pub(crate) firmness_g: f64,
    /// Channels the recorder lost.
    pub(crate) lost: Lost,
}

/// How the flare is flown: sink falls with the height over the runway, down to a settling sink.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Flare {
    /// Height over the runway per sink above the settling one, s.
    pub(crate) decay_s: f64,
    pub(crate) settle_fps: f64,
}

/// Why an aircraft that touched flies again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Touch {
    /// A touch-and-go of a training flight.
    Training,
    /// A go-around that came too late to stay in the air.
    Rejected,
}

impl Touch {
    /// Seconds on the runway before thrust is set.
    pub(crate) fn rolls_s(self) -> f64 {
        match self {
            Self::Training => 6.0,
            Self::Rejected => 1.5,
        }
    }
}

/// Which channels a recorder lost for a whole flight.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Lost {
    pub(crate) flap: bool,
    pub(crate) gear: bool,
    pub(crate) ils: bool,
}

impl Plan {
    /// The aircraft type.
    pub(crate) fn aircraft(&self) -> &'static AircraftType {
        &TYPES[self.type_index]
    }

    /// How the type handles.
    pub(crate) fn handling(&self) -> &'static Handling {
        &HANDLING[self.type_index]
    }

    /// Gross mass over maximum landing mass.
    pub(crate) fn mass_ratio(&self) -> f64 {
        self.mass_kg / self.aircraft().maximum_landing_mass_kg
    }
}
