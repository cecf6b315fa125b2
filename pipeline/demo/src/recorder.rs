//! The two invented recorders: what they are called, how often and how coarsely they sample.

use crate::atmosphere::{FT_PER_NM, isa_k};
use crate::dice::Dice;
use crate::earth::direct;
use crate::plan::Plan;
use crate::state::{History, Phase, STEP_S, State};
use arrow::array::{ArrayRef, Float32Array, Float64Array, Int16Array, Int64Array, StringArray};
use arrow::datatypes::{DataType, Field, Schema, SchemaRef};
use arrow::error::ArrowError;
use arrow::record_batch::RecordBatch;
use std::sync::Arc;

/// One step of each quantity that truth bands need, in catalogue units.
pub(crate) struct Resolution {
    pub(crate) altitude_ft: f64,
    pub(crate) cas_kt: f64,
    pub(crate) vertical_speed_fpm: f64,
    pub(crate) dots: f64,
    pub(crate) n1_pct: f64,
    pub(crate) roll_deg: f64,
    pub(crate) temperature_k: f64,
}

static RESOLUTIONS: [Resolution; 2] = [
    Resolution {
        altitude_ft: 4.0,
        cas_kt: 0.5,
        vertical_speed_fpm: 16.0,
        dots: 0.01,
        n1_pct: 0.25,
        roll_deg: 0.25,
        temperature_k: 0.25,
    },
    Resolution {
        altitude_ft: 3.281,
        cas_kt: 0.486,
        vertical_speed_fpm: 19.7,
        dots: 0.0134,
        n1_pct: 0.5,
        roll_deg: 0.35,
        temperature_k: 0.5,
    },
];

impl Resolution {
    /// Of the recorder of a type.
    pub(crate) fn of(type_index: usize) -> &'static Self {
        &RESOLUTIONS[type_index]
    }
}

/// A quantity of the catalogue, in its unit.
type Reading = fn(&Plan, &State) -> f64;

/// One recorded column.
struct Channel {
    name: &'static str,
    read: Reading,
    /// Catalogue unit to recorded unit.
    scale: f64,
    /// Step in the recorded unit; 0 = a small whole number (discrete).
    step: f64,
    /// Seconds between samples, and the second within them.
    every_s: (usize, usize),
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
    channel("normal_accel_g", 1.0, 0.01, S1, |_, s| s.normal_g),
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
    channel("NZ", 1.0, 0.01, S1, |_, s| s.normal_g),
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

fn channels(type_index: usize) -> &'static [Channel] {
    if type_index == 0 { &CORVAN } else { &TARN }
}

/// Columns of a recorder's files; with or without the flight's id in them.
pub(crate) fn schema(type_index: usize, with_id: bool) -> SchemaRef {
    let mut fields = Vec::new();
    if with_id {
        fields.push(Field::new(
            if type_index == 0 { "flight_id" } else { "FLT" },
            DataType::Utf8,
            false,
        ));
    }
    fields.push(if type_index == 0 {
        Field::new("time_s", DataType::Float64, false)
    } else {
        Field::new("T_MS", DataType::Int64, false)
    });
    fields.extend(channels(type_index).iter().map(|channel| {
        let kind = if channel.step == 0.0 {
            DataType::Int16
        } else {
            DataType::Float32
        };
        Field::new(channel.name, kind, true)
    }));
    Arc::new(Schema::new(fields))
}

/// Samples a history: one row a second.
///
/// # Errors
/// When the arrays do not fit the schema: a fault of this module.
pub(crate) fn record(
    plan: &Plan,
    history: &History,
    flight_id: &str,
    with_id: bool,
) -> Result<RecordBatch, ArrowError> {
    let per_second = (1.0 / STEP_S) as usize;
    let rows: Vec<&State> = history.states.iter().step_by(per_second).collect();
    let mut arrays: Vec<ArrayRef> = Vec::new();
    if with_id {
        arrays.push(Arc::new(StringArray::from_iter_values(
            rows.iter().map(|_| flight_id),
        )));
    }
    arrays.push(if plan.type_index == 0 {
        Arc::new(Float64Array::from_iter_values(
            rows.iter().map(|state| state.time_s),
        ))
    } else {
        Arc::new(Int64Array::from_iter_values(
            rows.iter()
                .map(|state| (state.time_s * 1000.0).round() as i64),
        ))
    });
    let dice = &mut Dice::new(plan.seed, plan.number, "sensors");
    for channel in channels(plan.type_index) {
        let due = |row: usize| row % channel.every_s.0 == channel.every_s.1 % channel.every_s.0;
        let peaks = channel.name == "normal_accel_g" || channel.name == "NZ";
        let values = rows.iter().enumerate().map(|(row, state)| {
            let value = if !due(row) {
                f64::NAN
            } else if peaks {
                touchdown_peak(history, row * per_second, per_second)
            } else {
                (channel.read)(plan, state)
            };
            // A little sensor noise, a third of a step, so that rounding is not a pattern.
            let noise = if channel.step > 0.0 && channel.step < 10.0 {
                dice.uniform(-0.35, 0.35) * channel.step
            } else {
                0.0
            };
            value * channel.scale + noise
        });
        arrays.push(if channel.step == 0.0 {
            Arc::new(
                values
                    .map(|value| (!value.is_nan()).then_some(value.round() as i16))
                    .collect::<Int16Array>(),
            )
        } else {
            let circular = channel.step > 0.3
                && (channel.name.contains("_true")
                    || channel.name.ends_with("_TRUE")
                    || channel.name.contains("WIND_DIR")
                    || channel.name.contains("from"));
            Arc::new(
                values
                    .map(|value| rounded(value, channel.step, circular))
                    .collect::<Float32Array>(),
            )
        });
    }
    RecordBatch::try_new(schema(plan.type_index, with_id), arrays)
}

/// Acceleration of a second: as sampled, except that a contact within it shows its peak.
fn touchdown_peak(history: &History, from: usize, steps: usize) -> f64 {
    let states = &history.states[from..(from + steps).min(history.states.len())];
    let contact = states
        .windows(2)
        .any(|pair| !pair[0].on_ground && pair[1].on_ground);
    if contact || (states[0].on_ground && from > 0 && !history.states[from - 1].on_ground) {
        states
            .iter()
            .map(|state| state.normal_g)
            .fold(f64::MIN, f64::max)
    } else {
        states[0].normal_g
    }
}

fn rounded(value: f64, step: f64, circular: bool) -> Option<f32> {
    if value.is_nan() {
        return None;
    }
    let mut steps = (value / step).round();
    if circular && steps * step >= 360.0 {
        steps = 0.0;
    }
    if circular && steps < 0.0 {
        steps = 0.0;
    }
    // Adding zero turns a negative zero into a plain one.
    Some((steps * step + 0.0) as f32)
}
