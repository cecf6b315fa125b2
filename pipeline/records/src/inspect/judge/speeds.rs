//! Speeds and heights against each other.

use super::{Known, Relation, by_factor, unit_near};
use crate::atmosphere::{M_S_PER_KT, cas_kt};
use crate::inspect::grid::{Grid, median};
use Relation::{Contradicts, Holds, Untold};

/// Wind makes airspeed and ground speed differ; over many flights less than units do.
pub(super) fn airspeed(parameter: &str, raw: &[f64], known: &Known) -> Relation {
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
pub(super) fn altitude(raw: &[f64], grid: &Grid, known: &Known) -> Relation {
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

pub(super) fn radio(raw: &[f64], grid: &Grid, known: &Known) -> Relation {
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
