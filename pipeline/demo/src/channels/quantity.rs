//! What can be recorded: each quantity with its name in the catalogue, read from a moment of the
//! history.

use crate::flying::state::{Phase, STEP_S, State};
use crate::plan::Plan;
use crate::recorder::Moment;
use crate::steady::Steady as _;
use crate::world::atmosphere::{FPS_PER_KT, FT_PER_NM, G_FPS2, isa_k};
use crate::world::earth::{Position, direct};

/// A quantity of the catalogue, in its unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Quantity {
    PressureAltitude,
    RadioAltitude,
    Cas,
    Tas,
    GroundSpeed,
    VerticalSpeed,
    Pitch,
    Roll,
    Heading,
    Track,
    Latitude,
    Longitude,
    NormalAcceleration,
    LongitudinalAcceleration,
    FlapLever,
    /// The lever as the angle engraved beside it.
    FlapLeverAngle,
    FlapAngle,
    GearLever,
    GearDown,
    Speedbrake,
    N1Left,
    N1Right,
    GlidePath,
    Localizer,
    IlsTuned,
    GrossMass,
    WindSpeed,
    WindFrom,
    OnGround,
    Vref,
    Temperature,
    Toga,
    Reverser,
    GroundSpoiler,
}

impl Quantity {
    /// Its name in the catalogue.
    pub(crate) fn parameter(self) -> &'static str {
        match self {
            Self::PressureAltitude => "pressure_altitude_ft",
            Self::RadioAltitude => "radio_altitude_ft",
            Self::Cas => "cas_kt",
            Self::Tas => "tas_kt",
            Self::GroundSpeed => "ground_speed_kt",
            Self::VerticalSpeed => "vertical_speed_fpm",
            Self::Pitch => "pitch_deg",
            Self::Roll => "roll_deg",
            Self::Heading => "heading_true_deg",
            Self::Track => "track_true_deg",
            Self::Latitude => "latitude_deg",
            Self::Longitude => "longitude_deg",
            Self::NormalAcceleration => "normal_accel_g",
            Self::LongitudinalAcceleration => "longitudinal_accel_g",
            Self::FlapLever | Self::FlapLeverAngle => "flap_lever",
            Self::FlapAngle => "flap_angle_deg",
            Self::GearLever => "gear_lever",
            Self::GearDown => "gear_down",
            Self::Speedbrake => "speedbrake",
            Self::N1Left => "n1_1_pct",
            Self::N1Right => "n1_2_pct",
            Self::GlidePath => "glide_path_dev_dots",
            Self::Localizer => "localizer_dev_dots",
            Self::IlsTuned => "ils_tuned",
            Self::GrossMass => "gross_mass_kg",
            Self::WindSpeed => "wind_speed_kt",
            Self::WindFrom => "wind_from_deg",
            Self::OnGround => "on_ground",
            Self::Vref => "vref_kt",
            Self::Temperature => "static_air_temp_c",
            Self::Toga => "toga",
            Self::Reverser => "reverser",
            Self::GroundSpoiler => "ground_spoiler",
        }
    }

    /// Whether it is an angle of 0…360°.
    pub(crate) fn is_circular(self) -> bool {
        matches!(self, Self::Heading | Self::Track | Self::WindFrom)
    }

    /// Whether it changes within tenths of a second.
    pub(crate) fn is_acceleration(self) -> bool {
        matches!(
            self,
            Self::NormalAcceleration | Self::LongitudinalAcceleration
        )
    }

    /// Its value; NaN where there is none.
    pub(crate) fn read(self, moment: &Moment<'_>) -> f64 {
        let (plan, state) = (moment.plan, &moment.state);
        let flag = |value: bool| f64::from(u8::from(value));
        let unless = |lost: bool, value: f64| if lost { f64::NAN } else { value };
        match self {
            Self::PressureAltitude => state.pressure_altitude_ft,
            Self::RadioAltitude => radio_ft(plan, state),
            Self::Cas => state.cas_kt.max(30.0),
            Self::Tas => state.tas_kt.max(30.0),
            Self::GroundSpeed => state.ground_speed_kt,
            Self::VerticalSpeed => state.vertical_speed_fpm,
            Self::Pitch => state.pitch_deg,
            Self::Roll => state.roll_deg,
            Self::Heading => state.heading_deg,
            Self::Track => state.track_deg,
            Self::Latitude => position(plan, state).latitude_deg,
            Self::Longitude => position(plan, state).longitude_deg,
            Self::NormalAcceleration => moment.normal_g(),
            Self::LongitudinalAcceleration => longitudinal_g(moment),
            Self::FlapLever => unless(plan.lost.flap, state.lever as f64),
            Self::FlapLeverAngle => {
                unless(plan.lost.flap, plan.aircraft().lever[state.lever].flap_deg)
            }
            Self::FlapAngle => unless(plan.lost.flap, state.flap_deg),
            Self::GearLever => unless(plan.lost.gear, flag(state.gear_lever)),
            Self::GearDown => unless(plan.lost.gear, flag(state.gear_down)),
            Self::Speedbrake => state.speedbrake,
            Self::N1Left => state.n1_pct + split_pct(plan),
            Self::N1Right => state.n1_pct - split_pct(plan),
            Self::GlidePath => glide_path_dots(plan, state),
            Self::Localizer => localizer_dots(plan, state),
            Self::IlsTuned => flag(plan.end.ils),
            Self::GrossMass => state.mass_kg,
            Self::WindSpeed => state.wind_kt,
            Self::WindFrom => state.wind_from_deg,
            Self::OnGround => flag(state.on_ground),
            Self::Vref => crate::flying::fly::reference_speed_kt(plan),
            Self::Temperature => isa_k(state.pressure_altitude_ft) + plan.deviation_k - 273.15,
            Self::Toga => flag(state.toga),
            Self::Reverser => flag(state.braking && state.ground_speed_kt > 65.0),
            Self::GroundSpoiler => flag(state.braking && state.speedbrake > 0.5),
        }
    }
}

/// What an accelerometer along the fuselage feels: change of speed over ground, and the share of
/// gravity that the pitch lets it feel.
fn longitudinal_g(moment: &Moment<'_>) -> f64 {
    let speed = |at_s: f64| moment.state_at(at_s).ground_speed_kt * FPS_PER_KT;
    let (before_s, after_s) = (moment.time_s - STEP_S / 2.0, moment.time_s + STEP_S / 2.0);
    (speed(after_s) - speed(before_s)) / STEP_S / G_FPS2
        + moment.state.pitch_deg.to_radians().sine()
}

fn position(plan: &Plan, state: &State) -> Position {
    // Right of the centreline is clockwise of the landing bearing, so anticlockwise of "out".
    let angle = state.right_nm.arc_tangent_of(state.out_nm).to_degrees();
    direct(
        plan.end.threshold,
        plan.end.bearing_deg + 180.0 - angle,
        state.out_nm.hypotenuse(state.right_nm) * 1852.0,
    )
}

fn radio_ft(plan: &Plan, state: &State) -> f64 {
    let runway_nm = plan.end.available_ft / FT_PER_NM;
    // Beyond the threshold the ground follows the runway; away from it, it rolls.
    let along_nm = (-state.out_nm).clamp(0.0, runway_nm);
    let away_nm = (state.out_nm + along_nm).hypotenuse(state.right_nm);
    let rolling_ft = (2.2 * state.to_go_nm + plan.end.bearing_deg).sine()
        * 70.0
        * ((away_nm - 0.7) / 3.0).clamp(0.0, 1.0);
    let ground_ft = along_nm * FT_PER_NM * plan.end.slope + rolling_ft;
    let clearance_ft = state.height_ft - ground_ft;
    if clearance_ft < 2500.0 {
        clearance_ft
    } else {
        f64::NAN
    }
}

/// The engines of a tail differ a little.
fn split_pct(plan: &Plan) -> f64 {
    (plan.tail % 5) as f64 * 0.1 - 0.2
}

fn in_beam(plan: &Plan, state: &State, range_nm: f64) -> bool {
    plan.end.ils
        && !plan.lost.ils
        && state.phase == Phase::Approach
        && state.out_nm > -0.1
        && state.out_nm < range_nm
        && state.right_nm.abs() < 0.6 * state.out_nm.max(0.2)
}

fn glide_path_dots(plan: &Plan, state: &State) -> f64 {
    if in_beam(plan, state, 14.0) && state.to_go_nm > 0.02 {
        state.glide_dots.clamp(-4.0, 4.0)
    } else {
        f64::NAN
    }
}

fn localizer_dots(plan: &Plan, state: &State) -> f64 {
    if in_beam(plan, state, 22.0) {
        state.localizer_dots.clamp(-4.0, 4.0)
    } else {
        f64::NAN
    }
}
