//! Height against the glide path and the planning line, with the ground track in the free corner.

use crate::fault::Fault;
use crate::fleet::flown::Flown;
use crate::panel::{FAR_NM, Panel};
use crate::picture::series;
use crate::sheet::{GRID, INK, MID, PALE, Sheet, Side};
use plotters::style::WHITE;

const TOP_FT: f64 = 14_000.0;
/// A little below the threshold: a runway may slope down.
const LOW_FT: f64 = -400.0;

/// Draws the panel.
pub(crate) fn draw(sheet: &Sheet<'_>, place: (f64, f64), flown: &Flown<'_>) -> Result<(), Fault> {
    let panel = Panel::new(sheet, place, (LOW_FT, TOP_FT));
    panel.frame(
        "Height above the threshold, ft",
        &[0.0, 2000.0, 4000.0, 6000.0, 8000.0, 10_000.0, 12_000.0],
    )?;
    let path: Vec<(f64, f64)> = [FAR_NM, 0.0]
        .map(|distance| (distance, flown.end.glide_path_ft(distance)))
        .to_vec();
    panel.dashes(&path, MID, 1.0)?;
    let plan: Vec<(f64, f64)> = [FAR_NM, 15.0, 8.0]
        .map(|distance| (distance, flown.planning_ft(distance)))
        .to_vec();
    panel.line(&plan, PALE, 2.5)?;
    let after = flown.moments.iter().skip_while(|moment| moment.approaching);
    panel.line(&series(after, |moment| moment.height_ft), MID, 1.0)?;
    panel.line(
        &series(flown.approach(), |moment| moment.height_ft),
        INK,
        1.75,
    )?;
    labels(&panel, flown)?;
    ground_track(&panel, flown)
}

fn labels(panel: &Panel<'_, '_>, flown: &Flown<'_>) -> Result<(), Fault> {
    let degrees = flown.end.glide_path_deg;
    // Where the path leaves room above itself, and the planning line below.
    let path_nm =
        (11_300.0 / (flown.end.glide_path_ft(1.0) - flown.end.glide_path_ft(0.0))).min(33.0);
    let at = panel.at(path_nm, flown.end.glide_path_ft(path_nm));
    panel.sheet.text(
        (at.0 + 8.0, at.1 - 6.0),
        Side::Left,
        11.0,
        MID,
        &format!("{degrees:.1}° glide path"),
    )?;
    let at = panel.at(30.0, flown.planning_ft(30.0));
    panel.sheet.text(
        (at.0 - 14.0, at.1 + 26.0),
        Side::Right,
        11.0,
        MID,
        "300 ft/NM − 1,000 ft",
    )
}

/// The track over the ground, landing towards the right.
fn ground_track(panel: &Panel<'_, '_>, flown: &Flown<'_>) -> Result<(), Fault> {
    let points: Vec<(f64, f64)> = flown
        .approach()
        .filter(|moment| moment.to_go_nm <= FAR_NM)
        .step_by(4)
        .filter_map(|moment| moment.frame_nm)
        .collect();
    let (corner, far) = (panel.at(17.5, 13_800.0), panel.at(4.2, 7400.0));
    if points.is_empty() {
        return panel.sheet.text(
            (far.0 - 4.0, corner.1 + 8.0),
            Side::Right,
            11.0,
            MID,
            "ground track: not recorded",
        );
    }
    panel.sheet.block(corner, far, WHITE)?;
    let frame = [corner, (far.0, corner.1), far, (corner.0, far.1), corner];
    panel.sheet.stroke(&frame, GRID, 1.0)?;
    let span = |pick: fn(&(f64, f64)) -> f64| {
        let with_threshold = points.iter().map(pick).chain([0.0, 1.0]);
        with_threshold.fold((f64::MAX, f64::MIN), |span, value| {
            (span.0.min(value), span.1.max(value))
        })
    };
    let (along, right) = (span(|point| point.0), span(|point| point.1));
    let room = (far.0 - corner.0 - 24.0, far.1 - corner.1 - 30.0);
    let scale = (room.0 / (along.1 - along.0)).min(room.1 / (right.1 - right.0).max(1.0));
    let middle_px = (corner.1 + 20.0 + far.1 - 8.0) / 2.0;
    let middle = (right.0 + right.1) / 2.0;
    let place = |point: (f64, f64)| {
        (
            far.0 - 12.0 - (along.1 - point.0) * scale,
            middle_px + (point.1 - middle) * scale,
        )
    };
    let line: Vec<(f64, f64)> = points.into_iter().map(place).collect();
    panel.sheet.stroke(&line, INK, 1.25)?;
    // The runway, two miles long that it can be seen.
    panel.sheet.stroke(
        &[place((0.0, 0.0)), place((2.0_f64.min(12.0 / scale), 0.0))],
        INK,
        4.0,
    )?;
    panel.sheet.text(
        (corner.0 + 7.0, corner.1 + 10.0),
        Side::Left,
        11.0,
        MID,
        "ground track",
    )?;
    let bar_px = 10.0 * scale;
    let bar = (far.0 - 10.0 - bar_px, corner.1 + 10.0);
    panel
        .sheet
        .stroke(&[bar, (bar.0 + bar_px, bar.1)], MID, 1.0)?;
    panel
        .sheet
        .text((bar.0 - 5.0, bar.1), Side::Right, 10.5, MID, "10 NM")
}
