//! Sampling: from a history to the rows of a recorder, with its steps, intervals and losses.

use crate::channels::channels;
use crate::dice::Dice;
use crate::plan::Plan;
use crate::state::{History, STEP_S, State};
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

static RESOLUTIONS: [Resolution; 3] = [
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
    Resolution {
        altitude_ft: 4.0,
        cas_kt: 1.0,
        vertical_speed_fpm: 16.0,
        dots: 0.032,
        n1_pct: 0.3,
        roll_deg: 0.5,
        temperature_k: 0.25,
    },
];

impl Resolution {
    /// Of the recorder of a type.
    pub(crate) fn of(type_index: usize) -> &'static Self {
        &RESOLUTIONS[type_index]
    }
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
            .map(|state| state.normal_g[0].max(state.normal_g[1]))
            .fold(f64::MIN, f64::max)
    } else {
        states[0].normal_g[0]
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
