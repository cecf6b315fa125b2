//! Sampling: from a history to the rows of a recorder, with its steps, intervals, noise and lags.

mod map;
mod moment;
mod resolution;

pub(crate) use map::fleet_toml;
pub(crate) use moment::Moment;
pub(crate) use resolution::Resolution;

use crate::channels::{Channel, TICKS_PER_S, TimeColumn, recorder};
use crate::dice::Dice;
use crate::flying::state::{History, STEP_S};
use crate::plan::Plan;
use arrow::array::{ArrayRef, Float32Array, Float64Array, Int16Array, Int64Array, StringArray};
use arrow::datatypes::{DataType, Field, Schema, SchemaRef};
use arrow::error::ArrowError;
use arrow::record_batch::RecordBatch;
use std::sync::Arc;

/// Columns of a recorder's files; with or without the flight's id in them.
pub(crate) fn schema(type_index: usize, with_id: bool) -> SchemaRef {
    let recorder = recorder(type_index);
    let mut fields = Vec::new();
    if with_id {
        fields.push(Field::new(recorder.id, DataType::Utf8, false));
    }
    fields.push(match recorder.time {
        TimeColumn::Seconds(name) => Field::new(name, DataType::Float64, false),
        TimeColumn::Milliseconds(name) => Field::new(name, DataType::Int64, false),
    });
    fields.extend(recorder.channels.iter().map(|channel| {
        let kind = if channel.step == 0.0 {
            DataType::Int16
        } else {
            DataType::Float32
        };
        Field::new(channel.name, kind, true)
    }));
    Arc::new(Schema::new(fields))
}

/// Samples a history. An `exact` recorder has the same columns and blurs nothing.
///
/// # Errors
/// When the arrays do not fit the schema: a fault of this module.
pub(crate) fn record(
    plan: &Plan,
    history: &History,
    flight_id: &str,
    with_id: bool,
    exact: bool,
) -> Result<RecordBatch, ArrowError> {
    let recorder = recorder(plan.type_index);
    let ticks_per_row = if exact {
        1
    } else {
        TICKS_PER_S / recorder.rate
    };
    let length_s = (history.states.len() as f64 - 1.0) * STEP_S;
    let ticks = (length_s * TICKS_PER_S as f64) as usize + 1;
    let ticks: Vec<usize> = (0..ticks).step_by(ticks_per_row).collect();
    let mut arrays: Vec<ArrayRef> = Vec::new();
    if with_id {
        arrays.push(Arc::new(StringArray::from_iter_values(
            ticks.iter().map(|_| flight_id),
        )));
    }
    let seconds = ticks.iter().map(|tick| *tick as f64 / TICKS_PER_S as f64);
    arrays.push(match recorder.time {
        TimeColumn::Seconds(_) => Arc::new(Float64Array::from_iter_values(seconds)),
        TimeColumn::Milliseconds(_) => Arc::new(Int64Array::from_iter_values(
            seconds.map(|second| (second * 1000.0).round() as i64),
        )),
    });
    let dice = &mut Dice::new(plan.seed, plan.number, "sensors");
    for channel in recorder.channels {
        let channel = if exact { channel.exact() } else { *channel };
        let values = ticks.iter().map(|tick| {
            let due = tick % channel.every.0 == channel.every.1 % channel.every.0;
            due.then(|| sampled(plan, history, &channel, *tick, dice))
                .filter(|value| !value.is_nan())
        });
        arrays.push(if channel.step == 0.0 {
            Arc::new(
                values
                    .map(|value| value.map(|value| value.round() as i16))
                    .collect::<Int16Array>(),
            )
        } else {
            Arc::new(
                values
                    .map(|value| value.map(|value| stored(&channel, value, exact)))
                    .collect::<Float32Array>(),
            )
        });
    }
    RecordBatch::try_new(schema(plan.type_index, with_id), arrays)
}

/// What the sensor says at a tick, in the recorded unit.
fn sampled(plan: &Plan, history: &History, channel: &Channel, tick: usize, dice: &mut Dice) -> f64 {
    let early_s = if channel.jitter_s > 0.0 {
        dice.uniform(0.0, channel.jitter_s)
    } else {
        0.0
    };
    let noise = if channel.noise > 0.0 {
        dice.normal(0.0, 1.0).clamp(-3.0, 3.0) * channel.noise
    } else {
        0.0
    };
    let time_s = tick as f64 / TICKS_PER_S as f64 - channel.delay_s - early_s;
    let value = channel.quantity.read(&Moment::at(plan, history, time_s)) + noise;
    value * channel.scale + channel.offset
}

/// The nearest step, or the value itself.
fn stored(channel: &Channel, value: f64, exact: bool) -> f32 {
    let turn = |value: f64| {
        if channel.quantity.is_circular() && !(0.0..360.0).contains(&value) {
            value.rem_euclid(360.0)
        } else {
            value
        }
    };
    let value = turn(value);
    let rounded = if exact {
        value
    } else {
        let step = match channel.coarse {
            Some((from, step)) if value >= from => step,
            _ => channel.step,
        };
        turn((value / step).round() * step)
    };
    // Adding zero turns a negative zero into a plain one.
    (rounded + 0.0) as f32
}

#[cfg(test)]
mod tests;
