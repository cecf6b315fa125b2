//! The tables against what is published, and against the maps that readers are given.

use super::*;
use crate::recorder::fleet_toml;
use std::collections::BTreeMap;

/// Intervals (s) and resolutions of 14 CFR 121 Appendix M, in the unit of the recorded column, as
/// far as they are listed there; flap and gear are from Appendix E to part 125, the same words.
const APPENDIX_M: [(Quantity, f64, f64); 15] = [
    (Quantity::PressureAltitude, 1.0, 35.0),
    (Quantity::Cas, 1.0, 1.0),
    (Quantity::Heading, 1.0, 0.5),
    (Quantity::NormalAcceleration, 0.125, 0.004),
    (Quantity::LongitudinalAcceleration, 0.25, 0.004),
    (Quantity::Pitch, 0.25, 0.5),
    (Quantity::Roll, 0.5, 0.5),
    (Quantity::N1Left, 1.0, 0.3),
    (Quantity::N1Right, 1.0, 0.3),
    // 0.3 % of a range of 800 microamperes.
    (Quantity::GlidePath, 1.0, 2.4),
    (Quantity::Localizer, 1.0, 2.4),
    // Half a percent of 42 degrees.
    (Quantity::FlapAngle, 4.0, 0.21),
    (Quantity::Speedbrake, 1.0, 0.2),
    // 0.2 % of 1,000 kt.
    (Quantity::GroundSpeed, 1.0, 2.0),
    (Quantity::RadioAltitude, 1.0, 1.0),
];

fn of(type_index: usize, quantity: Quantity) -> &'static Channel {
    recorder(type_index)
        .channels
        .iter()
        .find(|channel| channel.quantity == quantity)
        .unwrap_or_else(|| panic!("{quantity:?} is not recorded"))
}

#[test]
fn the_third_recorder_meets_the_published_requirements() {
    for (quantity, interval_s, resolution) in APPENDIX_M {
        let channel = of(2, quantity);
        assert!(
            channel.interval_s() <= interval_s && channel.step <= resolution,
            "{}: {} s and {}, required {interval_s} s and {resolution}",
            channel.name,
            channel.interval_s(),
            channel.step
        );
    }
    assert!(of(2, Quantity::PressureAltitude).step >= 5.0);
    for (quantity, interval_s) in [
        (Quantity::OnGround, 1.0),
        (Quantity::FlapLever, 4.0),
        (Quantity::GearLever, 4.0),
        (Quantity::GearDown, 4.0),
        (Quantity::WindSpeed, 4.0),
        (Quantity::WindFrom, 4.0),
        (Quantity::Latitude, 4.0),
        (Quantity::Longitude, 4.0),
    ] {
        assert!(of(2, quantity).interval_s() <= interval_s, "{quantity:?}");
    }
    // Lever and surface in turns: one of the two every two seconds.
    let (lever, surface) = (of(2, Quantity::FlapLever), of(2, Quantity::FlapAngle));
    assert_eq!(lever.every.1.abs_diff(surface.every.1), 2 * TICKS_PER_S);
    // Above 500 ft radio altitude may be coarser by 5 %.
    let (from, step) = of(2, Quantity::RadioAltitude).coarse.unwrap();
    assert!(from >= 500.0 && step <= 1.0 + 0.05 * from);
    // Steps of position, though, that tell one runway from the next.
    assert!(of(2, Quantity::Latitude).step <= 0.0002);
}

#[test]
fn every_table_is_sound() {
    for type_index in 0..TYPE_COUNT {
        let recorder = recorder(type_index);
        let mut names: Vec<&str> = recorder.channels.iter().map(|c| c.name).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), recorder.channels.len());
        let ticks_per_row = TICKS_PER_S / recorder.rate;
        for channel in recorder.channels {
            let name = channel.name;
            let (ticks, tick) = channel.every;
            assert!(tick < ticks, "{name}: phase");
            assert!(
                ticks % ticks_per_row == 0 && tick % ticks_per_row == 0,
                "{name}: a sample that falls on no row"
            );
            // Chance within one sample, and noise that a step covers for the most part.
            assert!(channel.jitter_s < channel.interval_s(), "{name}: jitter");
            let step = channel.step / channel.scale.abs();
            assert!(3.0 * channel.noise <= step, "{name}: noise");
            assert!(channel.blur() >= step, "{name}: blur");
            if channel.quantity.is_acceleration() {
                assert!(channel.delay_s == 0.0 && channel.jitter_s == 0.0, "{name}");
            }
        }
    }
}

/// One line of a map, undone by hand: factor and summand from recorded to catalogue unit, lag.
#[derive(Debug, PartialEq)]
struct Line {
    parameter: String,
    factor: f64,
    summand: f64,
    delay_s: f64,
}

/// The maps of a `fleet.toml`, by column.
fn maps(text: &str) -> Vec<BTreeMap<String, Line>> {
    let fleet: toml::Table = toml::from_str(text).unwrap();
    let maps = fleet["map"].as_array().unwrap();
    maps.iter()
        .map(|map| {
            let entries = map.as_table().unwrap().iter();
            entries
                .map(|(parameter, entry)| {
                    let number = |key: &str| entry.get(key).and_then(toml::Value::as_float);
                    let word = |key: &str| entry.get(key).and_then(toml::Value::as_str);
                    let unit = match (word("unit"), parameter.as_str()) {
                        (None, _) => 1.0,
                        (Some("ms"), _) => 1e-3,
                        (Some("m"), _) => 1.0 / 0.3048,
                        (Some("m/s"), "vertical_speed_fpm") => 60.0 / 0.3048,
                        (Some("m/s"), _) => 3600.0 / 1852.0,
                        (Some("%"), _) => 0.01,
                        (Some("uA"), _) => 1.0 / 75.0,
                        (Some(other), _) => panic!("unit {other}"),
                    };
                    let sign = match word("positive") {
                        Some("below" | "left") => -1.0,
                        _ => 1.0,
                    };
                    let inverted = entry.get("invert").is_some();
                    let line = Line {
                        parameter: parameter.clone(),
                        factor: unit
                            * sign
                            * number("scale").unwrap_or(1.0)
                            * if inverted { -1.0 } else { 1.0 },
                        summand: if inverted { 1.0 } else { 0.0 },
                        delay_s: number("delay_s").unwrap_or(0.0),
                    };
                    (word("column").unwrap().to_owned(), line)
                })
                .collect()
        })
        .collect()
}

#[test]
fn the_maps_undo_what_the_recorders_did() {
    for exact in [false, true] {
        let maps = maps(&fleet_toml(exact));
        assert_eq!(maps.len(), TYPE_COUNT);
        for (type_index, map) in maps.iter().enumerate() {
            let recorder = recorder(type_index);
            for channel in recorder.channels {
                let name = channel.name;
                let line = map.get(name).unwrap_or_else(|| panic!("{name} unmapped"));
                assert_eq!(line.parameter, channel.quantity.parameter(), "{name}");
                let there_and_back =
                    |value: f64| line.factor * (channel.scale * value + channel.offset);
                for value in [0.0, 1.0, 3.0] {
                    let back = there_and_back(value) + line.summand;
                    assert!(
                        (back - value).abs() < 1e-8,
                        "{name}: {value} becomes {back}"
                    );
                }
                let delay_s = if exact { 0.0 } else { channel.delay_s };
                assert!((line.delay_s - delay_s).abs() < 1e-12, "{name}: {line:?}");
            }
            let (time, per_s) = match recorder.time {
                TimeColumn::Seconds(name) => (name, 1.0),
                TimeColumn::Milliseconds(name) => (name, 1e-3),
            };
            assert_eq!(map[time].parameter, "time_s");
            assert!((map[time].factor - per_s).abs() < 1e-12);
            assert_eq!(map[recorder.id].parameter, "flight_id");
            // Nothing is promised that is not recorded.
            assert_eq!(map.len(), recorder.channels.len() + 2);
        }
    }
    assert!(fleet_toml(false).contains("delay_s"));
    assert!(!fleet_toml(true).contains("delay_s"));
}
