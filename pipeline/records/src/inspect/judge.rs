//! Holds a column against the others: does it move as what its name says it is, in which unit and sign?

use std::collections::BTreeMap;

use super::beams;
use super::grid::{Grid, arc, factor, line, median};
use super::look::Column;
use crate::airfield::distance_and_bearing;
use crate::atmosphere::{GRAVITY_M_S2, M_S_PER_KT, cas_kt, isa_temperature_k};
use crate::catalogue::{Catalogue, Kind};
use crate::load::units;

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

/// Wind makes airspeed and ground speed differ; over many flights less than units do.
fn airspeed(parameter: &str, raw: &[f64], known: &Known) -> Relation {
    let (Some(ground), Some(altitude)) = (
        known.get("ground_speed_kt"),
        known.get("pressure_altitude_ft"),
    ) else {
        return Untold;
    };
    let over = |low: f64, high: f64, tas: bool| -> Option<f64> {
        median(
            ground
                .iter()
                .zip(altitude)
                .zip(raw)
                .filter(|((g, a), r)| **g > 100.0 && (low..high).contains(*a) && **r > 0.0)
                .map(|((g, a), r)| if tas { g / r } else { cas_kt(*g, *a, 0.0) / r })
                .collect(),
        )
    };
    let Some(found) = over(-2_000.0, 60_000.0, parameter == "tas_kt") else {
        return Untold;
    };
    // High up the two kinds of airspeed part: one of them keeps its ratio.
    if let (Some(low), Some(high), Some(low2), Some(high2)) = (
        over(-2_000.0, 8_000.0, parameter == "tas_kt"),
        over(20_000.0, 60_000.0, parameter == "tas_kt"),
        over(-2_000.0, 8_000.0, parameter != "tas_kt"),
        over(20_000.0, 60_000.0, parameter != "tas_kt"),
    ) && (high / low).ln().abs() > (high2 / low2).ln().abs() + 0.1
    {
        return Contradicts("high up it goes with the other kind of airspeed".into());
    }
    let against = if parameter == "tas_kt" {
        "about the ground speed"
    } else {
        "about the ground speed, reduced to calibrated airspeed"
    };
    by_factor("kt", found, 0.25, against)
}

/// Final approaches lose about one foot in twenty: that tells feet from metres.
fn altitude(raw: &[f64], grid: &Grid, known: &Known) -> Relation {
    let Some(ground) = known.get("ground_speed_kt") else {
        return Untold;
    };
    let slope = grid.slope(raw, 10);
    let gradients: Vec<f64> = slope
        .iter()
        .zip(ground)
        .filter(|(s, g)| **s < 0.0 && (100.0..165.0).contains(*g))
        .map(|(s, g)| -s / (g * M_S_PER_KT / 0.3048))
        .collect();
    if gradients.len() < 60 {
        return Untold;
    }
    // The upper half: level flight and its noise below.
    let middle = median(gradients.clone()).unwrap_or(0.0);
    let Some(steep) = median(gradients.into_iter().filter(|g| *g >= middle).collect()) else {
        return Untold;
    };
    let found = 3.0_f64.to_radians().tan() / steep;
    match unit_near("ft", found, 0.5) {
        Some((unit, factor)) => Holds {
            factor,
            summand: 0.0,
            why: format!(
                "as {unit} slow descents have {:.1}°",
                (steep * factor).atan().to_degrees()
            ),
        },
        None => Contradicts(
            "slow descents would be much too steep or too shallow, in feet and in metres".into(),
        ),
    }
}

fn radio(raw: &[f64], grid: &Grid, known: &Known) -> Relation {
    let Some(altitude) = known.get("pressure_altitude_ft") else {
        return Untold;
    };
    let (slope, radio) = (grid.slope(altitude, 5), grid.slope(raw, 5));
    let shares: Vec<f64> = slope
        .iter()
        .zip(&radio)
        .zip(raw)
        .filter(|((a, r), v)| **a < -4.0 && **r < 0.0 && (0.0..2_000.0).contains(*v))
        .map(|((a, r), _)| a / r)
        .collect();
    if shares.len() < 30 {
        return Untold;
    }
    median(shares).map_or(Untold, |found| {
        by_factor(
            "ft",
            found,
            0.45,
            "the change of altitude near the ground in ft",
        )
    })
}

fn direction(parameter: &str, raw: &[f64], known: &Known) -> Relation {
    let (against, name) = match (known.get("position_track_deg"), known.get("track_true_deg")) {
        (Some(track), _) => (track, "the direction of the positions"),
        (None, Some(track)) if parameter != "track_true_deg" => (track, "the track"),
        _ => return Untold,
    };
    for (unit, factor) in [("deg", 1.0), ("rad", 180.0 / std::f64::consts::PI)] {
        let apart: Vec<f64> = raw
            .iter()
            .zip(against)
            .map(|(r, t)| arc(r * factor - t))
            .filter(|d| d.is_finite())
            .collect();
        if apart.len() < 60 {
            return Untold;
        }
        let absolute = median(apart.iter().map(|d| d.abs()).collect()).unwrap_or(180.0);
        let allowed = if parameter == "track_true_deg" {
            2.0
        } else {
            12.0
        };
        if absolute < allowed {
            let below = raw.iter().any(|v| *v < -1.0);
            let form = if below && unit == "deg" {
                ", as −180…180°, which is taken as 0…360°"
            } else {
                ""
            };
            return holds(
                factor,
                0.0,
                &format!("within {absolute:.1}° of {name}{form}"),
            );
        }
    }
    Contradicts(format!("it does not go with {name}"))
}

/// A turn of this rate at this speed takes this bank.
fn roll(raw: &[f64], grid: &Grid, known: &Known) -> Relation {
    let heading = known
        .get("heading_true_deg")
        .or(known.get("track_true_deg"))
        .or(known.get("position_track_deg"));
    let (Some(heading), Some(ground)) = (heading, known.get("ground_speed_kt")) else {
        return Untold;
    };
    let turn = grid.turn(heading, 3);
    let bank: Vec<f64> = turn
        .iter()
        .zip(ground)
        .map(|(w, g)| {
            let bank = (w.to_radians() * g * M_S_PER_KT / GRAVITY_M_S2)
                .atan()
                .to_degrees();
            if *g > 100.0 && bank.abs() < 40.0 {
                bank
            } else {
                f64::NAN
            }
        })
        .collect();
    match factor(raw, &bank) {
        Some((found, together)) if together.abs() > 0.75 => {
            by_factor("deg", found, 0.3, "the bank of its turns")
        }
        Some(_) => Contradicts("it does not go with the turns".into()),
        None => Untold,
    }
}

/// At speeds well above those of flaps the nose follows the path; slower flight needs more incidence,
/// in proportion to 1/CAS².
fn pitch(raw: &[f64], grid: &Grid, known: &Known) -> Relation {
    let (Some(altitude), Some(ground), Some(cas)) = (
        known.get("pressure_altitude_ft"),
        known.get("ground_speed_kt"),
        known.get("cas_kt"),
    ) else {
        return Untold;
    };
    let climb = grid.slope(altitude, 5);
    let mut rows: Vec<[f64; 3]> = Vec::new();
    for i in 0..grid.len {
        let row = [
            (climb[i] * 0.3048 / (ground[i] * M_S_PER_KT))
                .atan()
                .to_degrees(),
            1e4 / (cas[i] * cas[i]),
            raw[i],
        ];
        if cas[i] > 200.0 && row.iter().all(|v| v.is_finite()) && row[0].abs() < 15.0 {
            rows.push(row);
        }
    }
    if rows.len() < 120 {
        return Untold;
    }
    let n = rows.len() as f64;
    let mean = |k: usize| rows.iter().map(|r| r[k]).sum::<f64>() / n;
    let m = [mean(0), mean(1), mean(2)];
    let s = |a: usize, b: usize| {
        rows.iter()
            .map(|r| (r[a] - m[a]) * (r[b] - m[b]))
            .sum::<f64>()
            / n
    };
    let (aa, bb, ab, ay, by, yy) = (s(0, 0), s(1, 1), s(0, 1), s(0, 2), s(1, 2), s(2, 2));
    let determinant = aa * bb - ab * ab;
    if aa < 0.3 || determinant <= 0.0 || yy <= 0.0 {
        return Untold;
    }
    let slope = (ay * bb - by * ab) / determinant;
    let explained = (slope * ay + (by * aa - ay * ab) / determinant * by) / yy;
    if explained < 0.5 {
        return Untold;
    }
    match slope {
        s if (0.75..1.35).contains(&s) => {
            holds(1.0, 0.0, &format!("{s:.2}° a degree of path angle"))
        }
        s if (1.6..2.6).contains(&s) => holds(
            0.5,
            0.0,
            &format!("{s:.2}° a degree of path angle: twice the attitude is recorded"),
        ),
        s if (-1.35..-0.75).contains(&s) => holds(
            -1.0,
            0.0,
            "it goes against the path angle: positive = nose down",
        ),
        s if (0.75..1.35).contains(&s.to_degrees()) => {
            holds(1.0_f64.to_degrees(), 0.0, "radians against the path angle")
        }
        s => Contradicts(format!("{s:.2} a degree of path angle, expected about 1")),
    }
}

/// What pushes forward also gains speed or holds the nose up.
fn forward(raw: &[f64], grid: &Grid, known: &Known) -> Relation {
    let (Some(ground), Some(pitch)) = (known.get("ground_speed_kt"), known.get("pitch_deg")) else {
        return Untold;
    };
    let gain = grid.slope(ground, 3);
    let expected: Vec<f64> = gain
        .iter()
        .zip(pitch)
        .map(|(g, p)| g * M_S_PER_KT / GRAVITY_M_S2 + p.to_radians().sin())
        .collect();
    match line(raw, &expected) {
        Some((found, together)) if together.abs() > 0.6 => {
            by_factor("g", found, 0.45, "the gain of speed, with pitch")
        }
        _ => Untold,
    }
}

fn temperature(raw: &[f64], known: &Known) -> Relation {
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
            .map(|g| (g * M_S_PER_KT).powi(2) / 2010.0)
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

/// A 0/1 column against another one: what it is below `low` and above `high`.
fn state(
    raw: &[f64],
    known: Option<&Vec<f64>>,
    low: f64,
    high: f64,
    below_is_one: bool,
    what: &str,
) -> Relation {
    let Some(known) = known else { return Untold };
    let below = mean_where(raw, known, |v| v < low);
    let above = mean_where(raw, known, |v| v > high);
    let one = |share: Option<f64>| share.map(|s| s > 0.9);
    let zero = |share: Option<f64>| share.map(|s| s < 0.1);
    let (is, is_not) = if below_is_one {
        (below, above)
    } else {
        (above, below)
    };
    match (one(is), zero(is_not), zero(is), one(is_not)) {
        (Some(true), Some(true), ..) => holds(1.0, 0.0, &format!("1 {what}")),
        (_, _, Some(true), Some(true)) => holds(-1.0, 1.0, &format!("0 {what}: inverted")),
        (Some(_), Some(_), ..) => {
            Contradicts(format!("it is neither always 1 nor always 0 {what}"))
        }
        _ => Untold,
    }
}

fn gear(raw: &[f64], known: &Known) -> Relation {
    let (Some(cas), Some(radio)) = (known.get("cas_kt"), known.get("radio_altitude_ft")) else {
        return Untold;
    };
    // Low and slow is one side, fast the other, all else neither.
    let side: Vec<f64> = cas
        .iter()
        .zip(radio)
        .map(|(c, r)| {
            if *c > 270.0 {
                1.0
            } else if *c < 160.0 && *r < 500.0 {
                -1.0
            } else {
                f64::NAN
            }
        })
        .collect();
    state(
        raw,
        Some(&side),
        0.0,
        0.0,
        true,
        "low and slow, the other when fast",
    )
}
