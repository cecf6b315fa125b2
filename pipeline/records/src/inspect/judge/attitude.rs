//! Directions and attitudes against the movement they go with.

use super::{Known, Relation, by_factor, holds};
use crate::atmosphere::{GRAVITY_M_S2, M_S_PER_KT};
use crate::inspect::grid::{Grid, arc, factor, line, median};
use Relation::{Contradicts, Untold};

pub(super) fn direction(parameter: &str, raw: &[f64], known: &Known) -> Relation {
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
pub(super) fn roll(raw: &[f64], grid: &Grid, known: &Known) -> Relation {
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
pub(super) fn pitch(raw: &[f64], grid: &Grid, known: &Known) -> Relation {
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
pub(super) fn forward(raw: &[f64], grid: &Grid, known: &Known) -> Relation {
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
