//! The strip of settings: flap lever, gear, speedbrake, thrust.

use crate::fault::Fault;
use crate::fleet::flown::{Flown, Moment};
use crate::panel::{BEYOND_NM, FAR_NM, LEFT_PX, Panel, RIGHT_PX, across_px};
use crate::picture::series;
use crate::sheet::{GRID, INK, MID, PALE, Sheet, Side, UNDER};
use plotters::style::RGBColor;

/// Bottom edge of the rows under the strip's top, and their heights, shown pixels.
const FLAP_PX: (f64, f64) = (0.0, 16.0);
const GEAR_PX: (f64, f64) = (20.0, 32.0);
const BRAKE_PX: (f64, f64) = (36.0, 50.0);
const THRUST_PX: f64 = 54.0;

/// Draws the strip.
pub(crate) fn draw(sheet: &Sheet<'_>, place: (f64, f64), flown: &Flown<'_>) -> Result<(), Fault> {
    let strip = Panel::new(sheet, place, (0.0, 1.0));
    strip.frame("Settings", &[])?;
    flap(sheet, place.0, flown)?;
    gear(sheet, place.0, flown)?;
    brake(sheet, place.0, flown)?;
    thrust(sheet, (place.0 + THRUST_PX, place.1), flown)
}

fn name(sheet: &Sheet<'_>, up_px: f64, text: &str, known: bool) -> Result<(), Fault> {
    sheet.text((LEFT_PX - 6.0, up_px), Side::Right, 11.0, MID, text)?;
    if !known {
        let at = (LEFT_PX + 8.0, up_px);
        sheet.text(at, Side::Left, 11.0, MID, "not recorded")?;
    }
    Ok(())
}

/// Stretches of equal state: from, to (track distance) and the state.
fn runs<State: PartialEq + Copy>(
    flown: &Flown<'_>,
    state: impl Fn(&Moment) -> Option<State>,
) -> Vec<(f64, f64, State)> {
    let mut runs: Vec<(f64, f64, State)> = Vec::new();
    for moment in &flown.moments {
        let to_go_nm = moment.to_go_nm.clamp(BEYOND_NM, FAR_NM);
        let Some(now) = state(moment) else { continue };
        match runs.last_mut() {
            Some(last) if last.2 == now => last.1 = to_go_nm,
            before => {
                if let Some(before) = before {
                    before.1 = to_go_nm;
                }
                runs.push((to_go_nm, to_go_nm, now));
            }
        }
    }
    runs
}

fn flap(sheet: &Sheet<'_>, top_px: f64, flown: &Flown<'_>) -> Result<(), Fault> {
    let (top, bottom) = (top_px + FLAP_PX.0, top_px + FLAP_PX.1);
    let runs = runs(flown, |moment| moment.lever);
    name(sheet, (top + bottom) / 2.0, "flap lever", !runs.is_empty())?;
    for (from_nm, to_nm, lever) in runs {
        let (left, right) = (across_px(from_nm), across_px(to_nm));
        // The further out, the darker.
        let shade = 0xf2 - 0x1c * lever.min(4) as u8;
        sheet.block((left, top), (right, bottom), RGBColor(shade, shade, shade))?;
        sheet.stroke(&[(left, top), (left, bottom)], MID, 0.75)?;
        if right - left > 9.0
            && let Some(position) = flown.aircraft.lever.get(lever)
        {
            let at = ((left + right) / 2.0, (top + bottom) / 2.0);
            sheet.text(at, Side::Middle, 11.0, INK, &position.name)?;
        }
    }
    Ok(())
}

fn gear(sheet: &Sheet<'_>, top_px: f64, flown: &Flown<'_>) -> Result<(), Fault> {
    let (top, bottom) = (top_px + GEAR_PX.0, top_px + GEAR_PX.1);
    let runs = runs(flown, |moment| {
        Some((moment.gear_lever?, moment.gear_down?))
    });
    name(sheet, (top + bottom) / 2.0, "gear", !runs.is_empty())?;
    for (from_nm, to_nm, (selected, locked)) in runs {
        let (left, right) = (across_px(from_nm), across_px(to_nm));
        let middle = ((left + right) / 2.0, (top + bottom) / 2.0);
        if selected && locked {
            sheet.block((left, top), (right, bottom), PALE)?;
            if right - left > 34.0 {
                sheet.text(middle, Side::Middle, 11.0, INK, "down")?;
            }
        } else if selected || locked {
            sheet.block((left, top), (right, bottom), GRID)?;
        }
    }
    Ok(())
}

fn brake(sheet: &Sheet<'_>, top_px: f64, flown: &Flown<'_>) -> Result<(), Fault> {
    let place = (top_px + BRAKE_PX.0, top_px + BRAKE_PX.1);
    let row = Panel::new(sheet, place, (0.0, 1.0));
    let known: Vec<(f64, f64)> = flown
        .moments
        .iter()
        .filter(|moment| (BEYOND_NM..=FAR_NM).contains(&moment.to_go_nm))
        .filter_map(|moment| Some((moment.to_go_nm, moment.speedbrake?)))
        .collect();
    name(
        sheet,
        (place.0 + place.1) / 2.0,
        "speedbrake",
        !known.is_empty(),
    )?;
    row.filled(&known, 0.0, MID, MID)?;
    if !known.is_empty() {
        sheet.stroke(&[(LEFT_PX, place.1), (RIGHT_PX, place.1)], PALE, 0.75)?;
    }
    Ok(())
}

fn thrust(sheet: &Sheet<'_>, place: (f64, f64), flown: &Flown<'_>) -> Result<(), Fault> {
    let n1 = flown.moments.iter().any(|moment| moment.n1_pct.is_some());
    let flow = flown
        .moments
        .iter()
        .any(|moment| moment.fuel_flow_kg_h.is_some());
    let (text, high, marks) = if n1 || !flow {
        ("N1, %", 100.0, [30.0, 60.0, 90.0])
    } else {
        ("fuel, kg/h", 4000.0, [1000.0, 2000.0, 3000.0])
    };
    name(sheet, (place.0 + place.1) / 2.0, text, n1 || flow)?;
    let row = Panel::new(sheet, place, (0.0, high));
    for mark in marks {
        let up = row.up_px(mark);
        sheet.stroke(&[(LEFT_PX, up), (RIGHT_PX, up)], UNDER, 0.5)?;
        let figure = crate::panel::grouped(mark);
        sheet.text((RIGHT_PX + 6.0, up), Side::Left, 9.5, MID, &figure)?;
    }
    let value = |moment: &Moment| {
        let flow = moment.fuel_flow_kg_h.unwrap_or(f64::NAN);
        moment.n1_pct.unwrap_or(flow)
    };
    let points = series(flown.moments.iter(), value);
    let known: Vec<(f64, f64)> = points
        .into_iter()
        .filter(|point| point.1.is_finite())
        .collect();
    row.line(&known, INK, 1.0)
}
