//! The two invented recorders: what their columns are called, how often and how coarsely they sample.

use crate::atmosphere::{FT_PER_NM, isa_k};
use crate::earth::direct;
use crate::plan::Plan;
use crate::state::{Phase, State};

/// A quantity of the catalogue, in its unit.
pub(crate) type Reading = fn(&Plan, &State) -> f64;

/// One recorded column.
pub(crate) struct Channel {
    pub(crate) name: &'static str,
    pub(crate) read: Reading,
    /// Catalogue unit to recorded unit.
    pub(crate) scale: f64,
    /// Step in the recorded unit; 0 = a small whole number (discrete).
    pub(crate) step: f64,
    /// Seconds between samples, and the second within them.
    pub(crate) every_s: (usize, usize),
}

const fn channel(
    name: &'static str,
    scale: f64,
    step: f64,
    every_s: (usize, usize),
    read: Reading,
) -> Channel {
    Channel {
        name,
        read,
        scale,
        step,
        every_s,
    }
}

const KT: f64 = 1852.0 / 3600.0;
const FT: f64 = 0.3048;
/// Positions in 1/2^20 of half a turn.
const ANGLE: f64 = 180.0 / 1_048_576.0;
const S1: (usize, usize) = (1, 0);
const S2: (usize, usize) = (2, 0);

static CORVAN: [Channel; 31] = [
    channel("pressure_altitude_ft", 1.0, 4.0, S1, |_, s| {
        s.pressure_altitude_ft
    }),
    channel("radio_altitude_ft", 1.0, 1.0, S1, radio),
    channel("cas_kt", 1.0, 0.5, S1, |_, s| s.cas_kt.max(30.0)),
    channel("ground_speed_kt", 1.0, 0.5, S1, |_, s| s.ground_speed_kt),
    channel("vertical_speed_fpm", 1.0, 16.0, S1, |_, s| {
        s.vertical_speed_fpm
    }),
    channel("pitch_deg", 1.0, 0.2, S1, |_, s| s.pitch_deg),
    channel("roll_deg", 1.0, 0.25, S1, |_, s| s.roll_deg),
    channel("heading_true_deg", 1.0, 0.35, S1, |_, s| s.heading_deg),
    channel("track_true_deg", 1.0, 0.35, S1, |_, s| s.track_deg),
    channel("latitude_deg", 1.0, ANGLE, S2, |p, s| position(p, s).0),
    channel("longitude_deg", 1.0, ANGLE, S2, |p, s| position(p, s).1),
    channel("normal_accel_g", 1.0, 0.01, S1, |_, s| s.normal_g[0]),
    channel("flap_lever", 1.0, 0.0, S2, lever),
    channel("flap_angle_deg", 1.0, 0.5, S2, flap),
    channel("gear_lever", 1.0, 0.0, (4, 1), |p, s| {
        lost(p.lost.gear, s.gear_lever)
    }),
    channel("gear_down", 1.0, 0.0, (4, 1), |p, s| {
        lost(p.lost.gear, s.gear_down)
    }),
    channel("speedbrake", 1.0, 0.05, S1, |_, s| s.speedbrake),
    channel("n1_1_pct", 1.0, 0.25, S1, |p, s| s.n1_pct + split(p)),
    channel("n1_2_pct", 1.0, 0.25, S1, |p, s| s.n1_pct - split(p)),
    channel("glide_path_dev_dots", 1.0, 0.01, S1, glide),
    channel("localizer_dev_dots", 1.0, 0.01, S1, localizer),
    channel("ils_tuned", 1.0, 0.0, (4, 2), |p, _| {
        f64::from(u8::from(p.end.ils))
    }),
    channel("gross_mass_kg", 1.0, 50.0, (4, 3), |_, s| s.mass_kg),
    channel("wind_speed_kt", 1.0, 1.0, (4, 0), |_, s| s.wind_kt),
    channel("wind_from_deg", 1.0, 1.4, (4, 0), |_, s| s.wind_from_deg),
    channel("on_ground", 1.0, 0.0, S1, |_, s| {
        f64::from(u8::from(s.on_ground))
    }),
    channel("vref_kt", 1.0, 1.0, (4, 2), |p, _| {
        crate::fly::reference_speed_kt(p)
    }),
    channel("static_air_temp_c", 1.0, 0.25, (4, 3), temperature),
    channel("toga", 1.0, 0.0, S1, |_, s| f64::from(u8::from(s.toga))),
    channel("reverser", 1.0, 0.0, S1, |_, s| {
        f64::from(u8::from(s.phase == Phase::Roll && s.ground_speed_kt > 65.0))
    }),
    channel("ground_spoiler", 1.0, 0.0, S1, |_, s| {
        f64::from(u8::from(s.phase == Phase::Roll && s.speedbrake > 0.5))
    }),
];

static TARN: [Channel; 29] = [
    channel("ALT_M", FT, 1.0, S1, |_, s| s.pressure_altitude_ft),
    channel("RA_M", FT, 0.3, S1, radio),
    channel("IAS_MS", KT, 0.25, S1, |_, s| s.cas_kt.max(30.0)),
    channel("TAS_MS", KT, 0.25, S1, |_, s| s.tas_kt.max(30.0)),
    channel("GS_MS", KT, 0.25, S1, |_, s| s.ground_speed_kt),
    channel("VS_MS", FT / 60.0, 0.1, S1, |_, s| s.vertical_speed_fpm),
    channel("PITCH", 1.0, 0.25, S1, |_, s| s.pitch_deg),
    channel("ROLL", 1.0, 0.35, S1, |_, s| s.roll_deg),
    channel("HDG_TRUE", 1.0, 0.35, S1, |_, s| s.heading_deg),
    channel("TRK_TRUE", 1.0, 0.35, S1, |_, s| s.track_deg),
    channel("LAT", 1.0, ANGLE, S2, |p, s| position(p, s).0),
    channel("LON", 1.0, ANGLE, S2, |p, s| position(p, s).1),
    channel("NZ", 1.0, 0.01, S1, |_, s| s.normal_g[0]),
    channel("LEVER_DEG", 1.0, 0.0, (2, 1), |p, s| {
        if p.lost.flap {
            f64::NAN
        } else {
            p.aircraft().lever[s.lever].flap_deg
        }
    }),
    channel("FLAP_DEG", 1.0, 0.5, (2, 1), flap),
    channel("GEAR_HANDLE", 1.0, 0.0, (4, 0), |p, s| {
        lost(p.lost.gear, s.gear_lever)
    }),
    channel("GEAR_UP", 1.0, 0.0, (4, 0), |p, s| {
        lost(p.lost.gear, !s.gear_down)
    }),
    channel("SPOILER_PCT", 100.0, 5.0, S1, |_, s| s.speedbrake),
    channel("N1_L", 1.0, 0.5, S1, |p, s| s.n1_pct + split(p)),
    channel("N1_R", 1.0, 0.5, S1, |p, s| s.n1_pct - split(p)),
    channel("GP_UA", -75.0, 1.0, S1, glide),
    channel("LOC_UA", -75.0, 1.0, S1, localizer),
    channel("ILS_ON", 1.0, 0.0, (4, 2), |p, _| {
        f64::from(u8::from(p.end.ils))
    }),
    channel("MASS_KG", 1.0, 100.0, (4, 3), |_, s| s.mass_kg),
    channel("WIND_MS", KT, 0.5, (4, 0), |_, s| s.wind_kt),
    channel("WIND_DIR", 1.0, 1.4, (4, 0), |_, s| s.wind_from_deg),
    channel("AIR", 1.0, 0.0, S1, |_, s| {
        f64::from(u8::from(!s.on_ground))
    }),
    channel("SAT_C", 1.0, 0.5, (4, 3), temperature),
    channel("REV", 1.0, 0.0, S1, |_, s| {
        f64::from(u8::from(s.phase == Phase::Roll && s.ground_speed_kt > 65.0))
    }),
];

fn position(plan: &Plan, state: &State) -> (f64, f64) {
    // Right of the centreline is clockwise of the landing bearing, so anticlockwise of "out".
    let angle = state.right_nm.atan2(state.out_nm).to_degrees();
    let point = direct(
        plan.end.threshold,
        plan.end.bearing_deg + 180.0 - angle,
        state.out_nm.hypot(state.right_nm) * 1852.0,
    );
    (point.latitude_deg, point.longitude_deg)
}

fn radio(plan: &Plan, state: &State) -> f64 {
    let rolling = (2.2 * state.to_go_nm + plan.end.bearing_deg).sin()
        * 70.0
        * ((state.to_go_nm.abs() - 0.7) / 3.0).clamp(0.0, 1.0);
    let ground = if state.to_go_nm < 0.0 {
        -state.to_go_nm * FT_PER_NM * plan.end.slope
    } else {
        rolling
    };
    let clearance = state.height_ft - ground;
    if clearance < 2500.0 {
        clearance
    } else {
        f64::NAN
    }
}

fn temperature(plan: &Plan, state: &State) -> f64 {
    isa_k(state.pressure_altitude_ft) + plan.deviation_k - 273.15
}

fn lever(plan: &Plan, state: &State) -> f64 {
    if plan.lost.flap {
        f64::NAN
    } else {
        state.lever as f64
    }
}

fn flap(plan: &Plan, state: &State) -> f64 {
    if plan.lost.flap {
        f64::NAN
    } else {
        state.flap_deg
    }
}

fn lost(is_lost: bool, value: bool) -> f64 {
    if is_lost {
        f64::NAN
    } else {
        f64::from(u8::from(value))
    }
}

fn split(plan: &Plan) -> f64 {
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

fn glide(plan: &Plan, state: &State) -> f64 {
    if in_beam(plan, state, 14.0) && state.to_go_nm > 0.02 {
        state.glide_dots.clamp(-4.0, 4.0)
    } else {
        f64::NAN
    }
}

fn localizer(plan: &Plan, state: &State) -> f64 {
    if in_beam(plan, state, 22.0) {
        state.localizer_dots.clamp(-4.0, 4.0)
    } else {
        f64::NAN
    }
}

/// The columns of a type's recorder.
pub(crate) fn channels(type_index: usize) -> &'static [Channel] {
    if type_index == 0 { &CORVAN } else { &TARN }
}
