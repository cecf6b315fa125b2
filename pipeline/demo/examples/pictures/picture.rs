//! One approach on one sheet: what it was in words, then four panels over track distance.

use crate::fault::Fault;
use crate::fleet::flown::{Flown, Moment};
use crate::panel::{LEFT_PX, RIGHT_PX, WIDTH_PX, across_px, grouped, signed};
use crate::sheet::{self, GRID, INK, MID, PALE, Sheet, Side};
use crate::{energy, height, setting, speed};

const HEIGHT_PX: f64 = 852.0;
/// Top and bottom of the panels, shown pixels.
const PANELS_PX: [(f64, f64); 4] = [
    (92.0, 300.0),
    (330.0, 440.0),
    (470.0, 684.0),
    (714.0, 806.0),
];

/// Draws an approach under a title.
pub(crate) fn draw(flown: &Flown<'_>, title: &str) -> Result<String, Fault> {
    sheet::draw((WIDTH_PX as i32, HEIGHT_PX as i32), |sheet| {
        heading(sheet, flown, title)?;
        let [height, energy, speed, setting] = PANELS_PX;
        height::draw(sheet, height, flown)?;
        energy::draw(sheet, energy, flown)?;
        speed::draw(sheet, speed, flown)?;
        gates(sheet, flown)?;
        setting::draw(sheet, setting, flown)?;
        distances(sheet)
    })
}

fn heading(sheet: &Sheet<'_>, flown: &Flown<'_>, title: &str) -> Result<(), Fault> {
    sheet.text((LEFT_PX, 22.0), Side::Left, 18.0, INK, title)?;
    sheet.text((LEFT_PX, 43.0), Side::Left, 12.0, MID, &what(flown))?;
    sheet.text((LEFT_PX, 60.0), Side::Left, 12.0, MID, &happened(flown))
}

/// Type, place, mass and reference speed.
fn what(flown: &Flown<'_>) -> String {
    let Some(truth) = &flown.truth else {
        let mass = flown
            .mass_kg
            .map(|mass| format!(", {:.1} t", mass / 1000.0))
            .unwrap_or_default();
        return format!(
            "Real narrow-body jet, 2011{mass}; no flap, gear, speedbrake, N1 or position recorded"
        );
    };
    let mass = flown.mass_kg.map_or_else(String::new, |mass| {
        let share = 100.0 * mass / flown.aircraft.maximum_landing_mass_kg;
        format!(
            ", {:.1} t ({share:.0} % of the maximum landing mass)",
            mass / 1000.0
        )
    });
    let style = match truth.style.as_str() {
        "" => String::new(),
        style => format!(", style: {}", style.replace('_', " ")),
    };
    format!(
        "Invented: {}, {} {}, {:.1}° path, {}{mass}, VREF {:.0} kt{style}",
        truth.aircraft_type,
        truth.airport,
        truth.runway,
        flown.end.glide_path_deg,
        truth.month,
        truth.vref_kt
    )
}

/// Energy on the way, gates, end.
fn happened(flown: &Flown<'_>) -> String {
    let mut parts = Vec::new();
    for distance in [20.0, 10.0] {
        if let Some(moment) = flown.at_distance(distance) {
            let excess = signed(flown.energy_excess_ft(moment));
            parts.push(format!("energy {excess} ft at {distance:.0} NM"));
        }
    }
    if let Some(truth) = &flown.truth {
        for (gate, rule) in [("1,000 ft", "unstable_1000"), ("500 ft", "unstable_500")] {
            parts.push(match truth.event(rule) {
                Some(true) => format!(
                    "unstable at {gate} ({})",
                    truth.unmet(rule).join(", ").replace('_', " ")
                ),
                Some(false) => format!("stable at {gate}"),
                None => format!("{gate} not judged"),
            });
        }
        parts.push(ending(flown, truth.outcome.as_str()));
    }
    parts.join("; ")
}

fn ending(flown: &Flown<'_>, outcome: &str) -> String {
    let last = flown.approach().next_back();
    match (outcome, last) {
        ("landing", Some(last)) => {
            let beyond = -last.to_go_nm * crate::fleet::runways::FT_PER_NM;
            format!(
                "touchdown {} ft in",
                grouped((beyond / 50.0).round() * 50.0)
            )
        }
        ("go_around", Some(last)) => format!(
            "go-around from {} ft",
            grouped((last.height_ft / 10.0).round() * 10.0)
        ),
        _ => outcome.replace('_', " "),
    }
}

/// Thin lines through all panels where the gates were passed.
fn gates(sheet: &Sheet<'_>, flown: &Flown<'_>) -> Result<(), Fault> {
    let marks = [
        (1000.0, Side::Right, "1,000 ft "),
        (500.0, Side::Left, " 500 ft"),
    ];
    for (gate_ft, side, name) in marks {
        let Some(moment) = flown.at_height(gate_ft) else {
            continue;
        };
        let across = across_px(moment.to_go_nm);
        sheet.stroke(
            &[(across, PANELS_PX[0].0 - 6.0), (across, PANELS_PX[3].1)],
            PALE,
            0.75,
        )?;
        sheet.text((across, PANELS_PX[0].0 - 9.0), side, 10.5, MID, name)?;
    }
    Ok(())
}

/// The axis under the last panel.
fn distances(sheet: &Sheet<'_>) -> Result<(), Fault> {
    let bottom = PANELS_PX[3].1;
    for step in 0..=8 {
        let distance = f64::from(step) * 5.0;
        let across = across_px(distance);
        sheet.stroke(&[(across, bottom), (across, bottom + 4.0)], GRID, 1.0)?;
        sheet.text(
            (across, bottom + 13.0),
            Side::Middle,
            10.5,
            MID,
            &grouped(distance),
        )?;
    }
    sheet.text(
        ((LEFT_PX + RIGHT_PX) / 2.0, bottom + 32.0),
        Side::Middle,
        12.0,
        INK,
        "track distance to the threshold, NM",
    )
}

/// A value along the approach, by track distance, inside the picture.
pub(crate) fn series<'f>(
    moments: impl Iterator<Item = &'f Moment>,
    value: impl Fn(&Moment) -> f64,
) -> Vec<(f64, f64)> {
    moments
        .map(|moment| (moment.to_go_nm, value(moment)))
        .collect()
}
