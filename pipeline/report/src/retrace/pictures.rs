//! The two pictures against distance: height with the path and the plan, speed with its limits.

use super::axis::{Axis, at};
use super::input::Retrace;
use super::panel::Panel;

/// Height against distance; `None` where no height is known.
pub(super) fn height(input: &Retrace, axis: &Axis<'_>) -> Option<String> {
    let series = &input.series;
    let plan = &series.planning_height_ft;
    let shifted =
        |by: f64| -> Vec<Option<f64>> { plan.iter().map(|ft| ft.map(|ft| ft + by)).collect() };
    // The height at which the aircraft would have the same energy at the planned speed.
    let energy: Vec<Option<f64>> = plan
        .iter()
        .zip(&series.energy_excess_ft)
        .map(|(plan, excess)| Some((*plan)? + (*excess)?))
        .collect();
    let path = &series.profile_height_ft;
    let (_, high) = extent(
        axis,
        &[&series.height_ft, &energy, path, &shifted(input.band_ft)],
    )?;
    extent(axis, &[&series.height_ft])?;
    let mut panel = Panel::new(axis, 300.0, (0.0, high * 1.03), "ft above the threshold");
    panel.band(&shifted(-input.band_ft), &shifted(input.band_ft), "band");
    panel.line(path, "path");
    panel.line(&energy, "energy");
    panel.line(&series.height_ft, "rate");
    marks(&mut panel, input, &series.height_ft);
    Some(panel.finish(
        "height",
        "Height against distance",
        &description(
            input,
            axis,
            "height above the threshold",
            "ft",
            &series.height_ft,
        ),
    ))
}

/// Airspeed against distance; `None` where no airspeed is known.
pub(super) fn speed(input: &Retrace, axis: &Axis<'_>) -> Option<String> {
    let series = &input.series;
    extent(axis, &[&series.cas_kt])?;
    let (low, high) = extent(
        axis,
        &[
            &series.cas_kt,
            &series.target_cas_kt,
            &series.min_manoeuvre_kt,
            &series.next_limit_kt,
        ],
    )?;
    // The limit of a clean aircraft lies far above: it may leave the picture, all else may not.
    let mut panel = Panel::new(axis, 260.0, (low - 10.0, high + 15.0), "kt");
    let inside: Vec<Option<f64>> = series
        .limit_kt
        .iter()
        .map(|kt| kt.filter(|kt| *kt <= high + 15.0))
        .collect();
    panel.line(&inside, "limit");
    panel.line(&series.next_limit_kt, "next");
    panel.line(&series.min_manoeuvre_kt, "lowest");
    panel.line(&series.target_cas_kt, "path");
    panel.line(&series.cas_kt, "rate");
    marks(&mut panel, input, &series.cas_kt);
    Some(panel.finish(
        "speed",
        "Airspeed against distance",
        &description(input, axis, "airspeed", "kt", &series.cas_kt),
    ))
}

/// Checkpoints, gates and events on the curve of `values`.
fn marks(panel: &mut Panel<'_>, input: &Retrace, values: &[Option<f64>]) {
    let value = |time_s| at(&input.series.time_s, values, time_s);
    for checkpoint in &input.checkpoints {
        if let Some(time_s) = checkpoint.time_s {
            panel.checkpoint(time_s, &checkpoint.name);
            if let Some(value) = value(time_s) {
                panel.dot(time_s, value, "dot");
            }
        }
    }
    for gate in &input.gates {
        if let Some(time_s) = gate.time_s
            && let Some(value) = value(time_s)
        {
            panel.dot(time_s, value, "dot hollow");
        }
    }
    for (index, event) in input.events.iter().enumerate() {
        if let Some(time_s) = event.moment_s() {
            panel.event(time_s, value(time_s), index + 1);
        }
    }
}

/// Least and greatest known value in view.
pub(super) fn extent(axis: &Axis<'_>, series: &[&[Option<f64>]]) -> Option<(f64, f64)> {
    let mut extent: Option<(f64, f64)> = None;
    for values in series {
        for (k, value) in values.iter().enumerate() {
            if let Some(value) = value
                && axis.shows(k)
            {
                let (low, high) = extent.unwrap_or((*value, *value));
                extent = Some((low.min(*value), high.max(*value)));
            }
        }
    }
    extent
}

/// The picture in words: the value at each checkpoint, and the events.
pub(super) fn description(
    input: &Retrace,
    axis: &Axis<'_>,
    what: &str,
    unit: &str,
    values: &[Option<f64>],
) -> String {
    let mut text = String::new();
    for checkpoint in &input.checkpoints {
        let value = checkpoint
            .time_s
            .and_then(|time_s| at(&input.series.time_s, values, time_s));
        if let Some(value) = value {
            let value = crate::words::decimals(value, 0);
            text.push_str(&format!("At {} {what} {value} {unit}. ", checkpoint.name));
        }
    }
    for (index, event) in input.events.iter().enumerate() {
        let place = event.moment_s().and_then(|time_s| axis.words(time_s));
        let place = place.map_or_else(String::new, |place| format!(" at {place}"));
        text.push_str(&format!(
            "Event {}: {}{place}. ",
            index + 1,
            super::words::plain(&event.rule)
        ));
    }
    if text.is_empty() {
        text = format!("{what} along the approach; no checkpoint was passed.");
    }
    text.trim_end().to_owned()
}
