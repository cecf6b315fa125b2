//! Holds a column against the others: does it move as what its name says it is, in which unit and sign?

mod attitude;
mod speeds;
mod states;

use std::collections::BTreeMap;

use super::beams;
use super::grid::{Grid, factor, line, median};
use super::look::Column;
use crate::airfield::distance_and_bearing;
use crate::atmosphere::{GRAVITY_M_S2, M_S_PER_KT, isa_temperature_k};
use crate::catalogue::{Catalogue, Kind};
use crate::load::units;
use attitude::{direction, forward, pitch, roll};
use speeds::{airspeed, altitude, radio};
use states::{gear, state};

/// What is known by now, in catalogue units, second by second.
pub(super) type Known = BTreeMap<String, Vec<f64>>;

/// What the relation to other columns says.
pub(super) enum Relation {
    /// It is so: the factor (and summand) to the catalogue's unit, and why.
    Holds {
        factor: f64,
        summand: f64,
        why: String,
    },
    /// It cannot be so.
    Contradicts(String),
    /// There is nothing to hold it against.
    Untold,
}

use Relation::{Contradicts, Holds, Untold};

/// Units that a relation may tell apart, with their factors.
fn unit_near(target: &str, found: f64, tolerance: f64) -> Option<(&'static str, f64)> {
    const TOLD: &[&str] = &[
        "ft", "m", "kt", "m/s", "km/h", "ft/min", "ft/s", "deg", "rad", "g", "m/s2", "uA", "dots",
    ];
    let near = |unit: &&&str| {
        units::conversion(unit, target)
            .is_some_and(|(factor, _)| (found / factor).ln().abs() < tolerance)
    };
    TOLD.iter()
        .find(near)
        .and_then(|unit| units::conversion(unit, target).map(|(factor, _)| (*unit, factor)))
}

pub(super) fn by_factor(target: &str, found: f64, tolerance: f64, against: &str) -> Relation {
    match unit_near(target, found.abs(), tolerance) {
        Some((unit, factor)) => Holds {
            factor: factor * found.signum(),
            summand: 0.0,
            why: format!(
                "x {found:.4} it is {against}: {unit}{}",
                if found < 0.0 {
                    ", the other way round"
                } else {
                    ""
                }
            ),
        },
        None => Contradicts(format!(
            "x {found:.4} it is {against}, which is no unit that is known here"
        )),
    }
}

/// Speed and direction over ground from positions.
pub(super) fn from_positions(
    grid: &Grid,
    latitude: &[f64],
    longitude: &[f64],
) -> (Vec<f64>, Vec<f64>) {
    const HALF_S: usize = 10;
    let (mut speed, mut track) = (vec![f64::NAN; grid.len], vec![f64::NAN; grid.len]);
    for flight in grid.flights() {
        for i in flight.start + HALF_S..flight.end.saturating_sub(HALF_S) {
            let at = |i: usize| (latitude[i], longitude[i]);
            let (from, to) = (at(i - HALF_S), at(i + HALF_S));
            if [from.0, from.1, to.0, to.1].iter().all(|v| v.is_finite()) {
                let (nm, bearing) = distance_and_bearing(from, to);
                speed[i] = nm * 3600.0 / (2 * HALF_S) as f64;
                track[i] = if speed[i] > 40.0 { bearing } else { f64::NAN };
            }
        }
    }
    (speed, track)
}

/// The relation of a column to what is known.
pub(super) fn relation(parameter: &str, column: &Column, grid: &Grid, known: &Known) -> Relation {
    let held = Catalogue::default()
        .lookup(parameter)
        .is_some_and(|p| matches!(p.kind, Kind::Discrete | Kind::Circular | Kind::Longitude));
    let raw = grid.series(&column.values, held);
    let of = |name: &str| known.get(name);
    match parameter {
        "ground_speed_kt" => match of("position_speed_kt") {
            Some(speed) => ratio("kt", &raw, speed, 40.0, 0.06, "the speed of the positions"),
            None => Untold,
        },
        "cas_kt" | "tas_kt" => airspeed(parameter, &raw, known),
        "pressure_altitude_ft" | "baro_altitude_ft" => altitude(&raw, grid, known),
        "radio_altitude_ft" => radio(&raw, grid, known),
        "vertical_speed_fpm" => match of("pressure_altitude_ft") {
            Some(altitude) => {
                let slope: Vec<f64> = grid.slope(altitude, 5).iter().map(|s| s * 60.0).collect();
                let calm: Vec<f64> = slope
                    .iter()
                    .map(|s| if s.abs() < 6_000.0 { *s } else { f64::NAN })
                    .collect();
                match factor(&raw, &calm) {
                    Some((found, together)) if together.abs() > 0.9 => {
                        by_factor("ft/min", found, 0.15, "the slope of the altitude in ft/min")
                    }
                    Some(_) => Contradicts("it does not go with the slope of the altitude".into()),
                    None => Untold,
                }
            }
            None => Untold,
        },
        "heading_true_deg" | "track_true_deg" => direction(parameter, &raw, known),
        "roll_deg" => roll(&raw, grid, known),
        "pitch_deg" => pitch(&raw, grid, known),
        "normal_accel_g" => match median(raw) {
            Some(middle) if (middle - 1.0).abs() < 0.15 => holds(1.0, 0.0, "its median is 1 g"),
            Some(middle) if (middle / GRAVITY_M_S2 - 1.0).abs() < 0.1 => {
                holds(1.0 / GRAVITY_M_S2, 0.0, "its median is 9.8: m/s²")
            }
            Some(middle) if middle.abs() < 0.15 => Contradicts(
                "its median is 0: 1 g may be taken off (offset = 1), or it is another axis".into(),
            ),
            _ => Contradicts("its median is not 1 g".into()),
        },
        "longitudinal_accel_g" => forward(&raw, grid, known),
        "static_air_temp_c" => temperature(&raw, known),
        "on_ground" => state(
            &raw,
            of("ground_speed_kt"),
            50.0,
            180.0,
            true,
            "on the ground at taxi speed",
        ),
        "gear_down" | "gear_lever" => gear(&raw, known),
        "reverser" | "ground_spoiler" => {
            let slow = of("ground_speed_kt");
            let (mut low, mut all) = (0, 0);
            for (value, speed) in raw.iter().zip(slow.into_iter().flatten()) {
                if *value == 1.0 && speed.is_finite() {
                    all += 1;
                    low += usize::from(*speed < 170.0);
                }
            }
            match (all, low * 20 >= all * 19) {
                (0..=9, _) => Untold,
                (_, true) => holds(1.0, 0.0, "1 only at the speeds of a landing roll"),
                _ => Contradicts("1 at speeds at which nobody rolls".into()),
            }
        }
        "glide_path_dev_dots" => beams::glide(&raw, grid, known),
        "localizer_dev_dots" => beams::localizer(&raw, grid, known),
        "flap_angle_deg" | "slat_angle_deg" => match of("cas_kt") {
            Some(cas) => {
                let fast = mean_where(&raw, cas, |v| v > 270.0);
                let slow = mean_where(&raw, cas, |v| (80.0..160.0).contains(&v));
                match (fast, slow) {
                    (Some(fast), Some(slow)) if fast.abs() < 0.5 && slow > 8.0 => {
                        holds(1.0, 0.0, "in when fast, out when slow")
                    }
                    (Some(_), Some(_)) => {
                        Contradicts("it is not in when fast and out when slow".into())
                    }
                    _ => Untold,
                }
            }
            None => Untold,
        },
        _ => Untold,
    }
}

fn holds(factor: f64, summand: f64, why: &str) -> Relation {
    Holds {
        factor,
        summand,
        why: why.to_owned(),
    }
}

fn ratio(
    target: &str,
    raw: &[f64],
    known: &[f64],
    from: f64,
    tolerance: f64,
    against: &str,
) -> Relation {
    let shares: Vec<f64> = raw
        .iter()
        .zip(known)
        .filter(|(r, k)| **k > from && **r > 0.0)
        .map(|(r, k)| k / r)
        .collect();
    if shares.len() < 60 {
        return Untold;
    }
    match median(shares.clone()) {
        Some(middle) => {
            let spread = median(shares.iter().map(|s| (s / middle - 1.0).abs()).collect());
            if spread.is_none_or(|spread| spread > 0.12) {
                return Contradicts(format!("it does not go with {against}"));
            }
            by_factor(target, middle, tolerance, against)
        }
        None => Untold,
    }
}

fn mean_where(raw: &[f64], known: &[f64], want: impl Fn(f64) -> bool) -> Option<f64> {
    let picked: Vec<f64> = raw
        .iter()
        .zip(known)
        .filter(|(r, k)| r.is_finite() && k.is_finite() && want(**k))
        .map(|(r, _)| *r)
        .collect();
    (picked.len() >= 20).then(|| picked.iter().sum::<f64>() / picked.len() as f64)
}

fn temperature(raw: &[f64], known: &Known) -> Relation {
    /// Twice the specific heat of air at constant pressure, J/(kg K), from memory: air that is stopped warms
    /// by speed² over this.
    const TWICE_HEAT_J_KG_K: f64 = 2010.0;
    let (Some(altitude), Some(ground)) = (
        known.get("pressure_altitude_ft"),
        known.get("ground_speed_kt"),
    ) else {
        return Untold;
    };
    for (factor, summand, unit) in [
        (1.0, 0.0, "°C"),
        (1.0, -273.15, "K"),
        (5.0 / 9.0, -160.0 / 9.0, "°F"),
    ] {
        let off: Vec<f64> = raw
            .iter()
            .zip(altitude)
            .map(|(t, a)| t * factor + summand - (isa_temperature_k(*a) - 273.15))
            .collect();
        let heat: Vec<f64> = ground
            .iter()
            .map(|g| (g * M_S_PER_KT).powi(2) / TWICE_HEAT_J_KG_K)
            .collect();
        let wide = heat
            .iter()
            .zip(&off)
            .filter(|(h, o)| o.is_finite() && **h > 15.0)
            .count()
            > 60;
        let middle = median(off.clone());
        if middle.is_none_or(|m| m.abs() > 30.0) {
            continue;
        }
        if wide && line(&heat, &off).is_some_and(|(slope, _)| slope > 0.6) {
            return Contradicts("it warms with speed as total air temperature does".into());
        }
        return holds(
            factor,
            summand,
            &format!(
                "as {unit} {:+.0}° from the standard atmosphere",
                middle.unwrap_or(0.0)
            ),
        );
    }
    Contradicts("it does not go with altitude in °C, K or °F".into())
}
