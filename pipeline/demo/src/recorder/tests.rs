//! Stored values against the history they were taken from.

use super::*;
use crate::channels::Quantity;
use crate::flying::disturbed::touchdown_peak_g;
use crate::flying::fly::fly;
use crate::{Options, Profile};
use arrow::array::{Array, AsArray};
use arrow::datatypes::{Float32Type, Int16Type};
use std::f64::consts::PI;

/// A flown flight of a type, the `skip`th with a landing.
fn flown(type_index: usize, skip: usize, profile: Profile) -> (Plan, History) {
    let options = Options {
        planted: 0.0,
        profile,
        ..Options::default()
    };
    (0..)
        .map(|number| crate::plan::draw::draw(&options, number))
        .filter(|plan| plan.type_index == type_index && plan.go_around_ft.is_none())
        .nth(skip)
        .map(|plan| {
            let history = fly(&plan);
            (plan, history)
        })
        .unwrap()
}

/// Stored values of a channel by row.
fn column(batch: &RecordBatch, channel: &Channel) -> Vec<Option<f64>> {
    let array = &batch[channel.name];
    if channel.step == 0.0 {
        let values = array.as_primitive::<Int16Type>();
        values.iter().map(|v| v.map(f64::from)).collect()
    } else {
        let values = array.as_primitive::<Float32Type>();
        values.iter().map(|v| v.map(f64::from)).collect()
    }
}

/// Truth in the recorded unit.
fn truth(plan: &Plan, history: &History, channel: &Channel, time_s: f64) -> f64 {
    channel.quantity.read(&Moment::at(plan, history, time_s)) * channel.scale + channel.offset
}

fn difference(channel: &Channel, a: f64, b: f64) -> f64 {
    let plain = (a - b).abs();
    if channel.quantity.is_circular() {
        plain.min(360.0 - plain)
    } else {
        plain
    }
}

#[test]
fn every_stored_value_is_within_its_blur_of_the_truth_of_its_moment() {
    for type_index in 0..3 {
        let (plan, history) = flown(type_index, 1, Profile::Airline);
        let batch = record(&plan, &history, "f", true, false).unwrap();
        let recorder = recorder(type_index);
        for channel in recorder.channels {
            let mut known = 0;
            for (row, stored) in column(&batch, channel).into_iter().enumerate() {
                let tick = row * TICKS_PER_S / recorder.rate;
                let time_s = tick as f64 / TICKS_PER_S as f64 - channel.delay_s;
                let due = tick % channel.every.0 == channel.every.1;
                // The sensor looked at any moment of its chance; take the truth at several.
                let looks: Vec<f64> = (0..=8)
                    .map(|part| time_s - channel.jitter_s * f64::from(part) / 8.0)
                    .map(|at_s| truth(&plan, &history, channel, at_s))
                    .collect();
                let Some(stored) = stored else {
                    assert!(
                        !due || looks.iter().any(|value| value.is_nan()),
                        "{} at {time_s} s is missing",
                        channel.name
                    );
                    continue;
                };
                assert!(due, "{} at {time_s} s is not due", channel.name);
                known += 1;
                let step = match channel.coarse {
                    Some((from, step)) if stored >= from => step,
                    _ => channel.step,
                };
                // Between two looks the truth moves a little.
                let moved = looks
                    .windows(2)
                    .map(|pair| (pair[1] - pair[0]).abs())
                    .fold(0.0, f64::max);
                let allowed = step / 2.0 + 3.0 * channel.noise * channel.scale.abs() + moved + 1e-4;
                assert!(
                    looks
                        .iter()
                        .any(|value| difference(channel, *value, stored) <= allowed),
                    "{} at {time_s} s: {stored}, truth {looks:?}",
                    channel.name
                );
                if channel.step > 0.0 {
                    let steps = stored / step;
                    assert!(
                        (steps - steps.round()).abs() < 2e-3,
                        "{}: {stored} is no whole number of {step}",
                        channel.name
                    );
                }
            }
            assert!(
                known > 20 || plan.lost != crate::plan::Lost::default(),
                "{}: {known}",
                channel.name
            );
        }
    }
}

#[test]
fn a_channel_is_as_late_as_it_says() {
    // Airspeed of all three, and the wind of the first, fit the truth of their lag best.
    for (type_index, quantity) in [
        (0, Quantity::Cas),
        (1, Quantity::Tas),
        (2, Quantity::Cas),
        (0, Quantity::N1Left),
    ] {
        let recorder = recorder(type_index);
        let channel = recorder
            .channels
            .iter()
            .find(|channel| channel.quantity == quantity)
            .unwrap();
        assert!(channel.delay_s > 0.0);
        let mut squares = [0.0; 9];
        for skip in 0..4 {
            let (plan, history) = flown(type_index, skip, Profile::Airline);
            let batch = record(&plan, &history, "f", false, false).unwrap();
            for (row, stored) in column(&batch, channel).into_iter().enumerate().skip(20) {
                let Some(stored) = stored else { continue };
                for (lag, sum) in squares.iter_mut().enumerate() {
                    let time_s = row as f64 / recorder.rate as f64 - 0.125 * lag as f64;
                    *sum += (stored - truth(&plan, &history, channel, time_s)).powi(2);
                }
            }
        }
        let best = (0..9)
            .min_by(|a, b| squares[*a].total_cmp(&squares[*b]))
            .unwrap();
        assert!(
            (best as f64 * 0.125 - channel.delay_s).abs() < 0.01,
            "{}: {squares:?}",
            channel.name
        );
    }
}

#[test]
fn rounding_and_noise_leave_the_documented_spread() {
    // A step of width s leaves a deviation of s / sqrt(12), and noise adds its own.
    for (type_index, quantity) in [
        (0, Quantity::PressureAltitude),
        (1, Quantity::Heading),
        (2, Quantity::NormalAcceleration),
        (2, Quantity::N1Left),
    ] {
        let channel = recorder(type_index)
            .channels
            .iter()
            .find(|channel| channel.quantity == quantity)
            .unwrap();
        let (mut squares, mut sum, mut count) = (0.0, 0.0, 0.0);
        for skip in 0..6 {
            let (plan, history) = flown(type_index, skip, Profile::Airline);
            let batch = record(&plan, &history, "f", false, false).unwrap();
            let rate = recorder(type_index).rate;
            for (row, stored) in column(&batch, channel).into_iter().enumerate().skip(20) {
                let Some(stored) = stored else { continue };
                let time_s = row as f64 / rate as f64 - channel.delay_s;
                let off = stored - truth(&plan, &history, channel, time_s);
                // Across north a difference is no error.
                if off.abs() < 180.0 {
                    squares += off * off;
                    sum += off;
                    count += 1.0;
                }
            }
        }
        let spread: f64 = (squares / count).sqrt();
        let documented = (channel.step / 12f64.sqrt()).hypot(channel.noise * channel.scale.abs());
        assert!(
            (spread / documented - 1.0).abs() < 0.1,
            "{}: {spread}, documented {documented}",
            channel.name
        );
        assert!((sum / count).abs() < 0.1 * documented, "{}", channel.name);
    }
}

#[test]
fn an_exact_recorder_loses_nothing() {
    for type_index in 0..3 {
        let (plan, history) = flown(type_index, 2, Profile::Exact);
        let batch = record(&plan, &history, "f", true, true).unwrap();
        assert_eq!(batch.schema(), schema(type_index, true));
        for channel in recorder(type_index).channels {
            let acceleration = channel.quantity.is_acceleration();
            for (row, stored) in column(&batch, channel).into_iter().enumerate() {
                let time_s = row as f64 / TICKS_PER_S as f64;
                let value = truth(&plan, &history, channel, time_s);
                match stored {
                    Some(stored) => {
                        assert_eq!(stored as f32, value as f32, "{} {time_s}", channel.name);
                    }
                    None => assert!(
                        value.is_nan() || (row % TICKS_PER_S != 0 && !acceleration),
                        "{} at {time_s} s is missing",
                        channel.name
                    ),
                }
            }
        }
        // Every value of the history's accelerations is there, and so is its peak.
        let name = recorder(type_index)
            .channels
            .iter()
            .find(|channel| channel.quantity == Quantity::NormalAcceleration)
            .unwrap()
            .name;
        let stored = batch[name].as_primitive::<Float32Type>();
        assert_eq!(stored.null_count(), 0);
        for (row, value) in stored.values().iter().enumerate() {
            assert_eq!(*value, history.states[row / 2].normal_g[row % 2] as f32);
        }
    }
}

#[test]
fn truth_bands_read_their_resolution_from_the_channels() {
    let first = Resolution::of(0);
    assert_eq!(
        (first.altitude_ft, first.cas_kt, first.vertical_speed_fpm),
        (4.0, 0.5, 16.0)
    );
    // Steps in metres and metres a second, here in feet and knots.
    let second = Resolution::of(1);
    assert!((second.altitude_ft - 1.0 / 0.3048).abs() < 1e-9);
    assert!((second.cas_kt - 0.25 * 3600.0 / 1852.0).abs() < 1e-9);
    assert!((second.dots - 1.0 / 75.0).abs() < 1e-9);
    let third = Resolution::of(2);
    assert_eq!((third.altitude_ft, third.cas_kt), (8.0, 1.0));
    assert!(third.flap_s > 4.0 && third.flap_s < 4.5);
    let exact = Resolution::exact();
    assert!(exact.cas_kt < 0.01 * first.cas_kt && exact.dots < 0.1 * first.dots);
}

#[test]
fn a_touchdown_is_a_short_jolt_that_eight_samples_a_second_see() {
    for skip in 0..12 {
        let (plan, history) = flown(2, skip, Profile::Airline);
        let contact = history.spans[0].end;
        assert!(history.states[contact].on_ground && !history.states[contact - 1].on_ground);
        let after: Vec<f64> = history.states[contact..contact + 8]
            .iter()
            .flat_map(|state| state.normal_g)
            .collect();
        let peak = after[1];
        let sink_fps = -history.states[contact - 1].vertical_speed_fpm / 60.0;
        let peak_g = touchdown_peak_g(&plan, sink_fps);
        let planned = peak_g - 1.0;
        // It begins at one g, is nearly at its peak an eighth of a second later, and is over
        // before three eighths.
        assert!((after[0] - 1.0).abs() < 1e-9);
        assert!(peak <= peak_g && peak - 1.0 > planned * (PI * 0.125 / 0.18).sin());
        assert!(after[2] < peak, "{after:?}");
        assert!(
            after[3..].iter().all(|g| (g - 1.0).abs() < 0.16),
            "{after:?}"
        );
        // Rows of the recorder show the same, rounded.
        let batch = record(&plan, &history, "f", false, false).unwrap();
        let stored = batch["normal_load_g"].as_primitive::<Float32Type>();
        let from = contact * 2;
        for (row, value) in after.iter().enumerate() {
            let off = f64::from(stored.value(from + row)) - value;
            assert!(off.abs() <= 0.5 / 256.0 + 0.003 + 1e-6, "{off}");
        }
    }
}

#[test]
fn samples_between_steps_lie_between_their_neighbours() {
    let (plan, history) = flown(2, 3, Profile::Airline);
    for (quantity, slack) in [(Quantity::Pitch, 1e-9), (Quantity::RadioAltitude, 2.0)] {
        for step in 100..history.states.len() - 2 {
            let read = |part: f64| {
                let at_s = (step as f64 + part) * STEP_S;
                quantity.read(&Moment::at(&plan, &history, at_s))
            };
            let (a, half, b) = (read(0.0), read(0.5), read(1.0));
            if !(a + b).is_nan() {
                assert!(half >= a.min(b) - slack && half <= a.max(b) + slack);
            }
        }
    }
}
