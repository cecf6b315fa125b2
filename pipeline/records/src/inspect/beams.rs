//! Deviations from the beams against where the aircraft was: unit and sign.

use std::ops::Range;

use super::grid::{Grid, arc, line};
use super::judge::Relation::{self, Untold};
use super::judge::{Known, by_factor};
use crate::airfield::distance_and_bearing;
use crate::atmosphere::{M_PER_FT, M_PER_NM};

/// The first second at the ground of the last landing of a flight. Heights are judgement.
fn last_contact(flight: &Range<usize>, radio: &[f64]) -> Option<usize> {
    let high = flight.clone().rev().find(|&i| radio[i] > 500.0)?;
    (high..flight.end).find(|&i| radio[i] < 10.0)
}

/// Angle over the end of the record's descent against the deviation: intercepts come from below.
pub(super) fn glide(raw: &[f64], grid: &Grid, known: &Known) -> Relation {
    let (Some(ground), Some(altitude), Some(radio)) = (
        known.get("ground_speed_kt"),
        known.get("pressure_altitude_ft"),
        known.get("radio_altitude_ft"),
    ) else {
        return Untold;
    };
    let (mut above_deg, mut deviation) = (Vec::new(), Vec::new());
    for flight in grid.flights() {
        let Some(touch) = last_contact(&flight, radio) else {
            continue;
        };
        let mut feet = 0.0;
        for i in (flight.start..touch).rev() {
            if !ground[i].is_finite() {
                break;
            }
            feet += ground[i] * M_PER_NM / 3600.0 / M_PER_FT;
            let nm = feet * M_PER_FT / M_PER_NM;
            if nm > 12.0 {
                break;
            }
            let above = ((altitude[i] - altitude[touch]) / feet).atan().to_degrees() - 3.0;
            // Further off the beam the deviation stands at its stop.
            if nm > 2.0 && raw[i].is_finite() && raw[i] != 0.0 && above.abs() < 1.0 {
                above_deg.push(above);
                deviation.push(raw[i]);
            }
        }
    }
    match line(&deviation, &above_deg) {
        // Full scale is about 0.7° for two dots (from memory); it only has to tell dots from microamperes.
        Some((slope, together)) if together.abs() > 0.5 => {
            let dots = slope / 0.35;
            by_factor("dots", dots, 1.2, "the height over a path of 3°, in dots")
        }
        _ => Untold,
    }
}

/// Angle right of the line of the landing against the deviation.
pub(super) fn localizer(raw: &[f64], grid: &Grid, known: &Known) -> Relation {
    /// A localizer stands about so far beyond the touchdown: judgement, only the order of size matters here.
    const BEYOND_NM: f64 = 1.7;
    let (Some(latitude), Some(longitude), Some(radio)) = (
        known.get("latitude_deg"),
        known.get("longitude_deg"),
        known.get("radio_altitude_ft"),
    ) else {
        return Untold;
    };
    let (mut right_deg, mut deviation) = (Vec::new(), Vec::new());
    for flight in grid.flights() {
        let Some(touch) = last_contact(&flight, radio) else {
            continue;
        };
        let to_touch = |i: usize| {
            distance_and_bearing(
                (latitude[i], longitude[i]),
                (latitude[touch], longitude[touch]),
            )
        };
        if touch < flight.start + 40 {
            continue;
        }
        let (_, landing) = to_touch(touch - 40);
        for (i, &value) in raw.iter().enumerate().take(touch).skip(flight.start) {
            let (nm, bearing) = to_touch(i);
            let off = arc(landing - bearing);
            if (3.0..12.0).contains(&nm) && off.abs() < 10.0 && value.is_finite() && value != 0.0 {
                let side = nm * off.to_radians().sin();
                right_deg.push((side / (nm + BEYOND_NM)).atan().to_degrees());
                deviation.push(value);
            }
        }
    }
    match line(&deviation, &right_deg) {
        // Full scale is about 2.5° for two dots (from memory), as above.
        Some((slope, together)) if together.abs() > 0.5 => by_factor(
            "dots",
            slope / 1.25,
            1.2,
            "the offset from the line of the landing, in dots",
        ),
        _ => Untold,
    }
}
