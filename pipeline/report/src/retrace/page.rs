//! The page as its template sees it.

use serde::Serialize;

use super::axis::{Axis, at};
use super::input::{Checkpoint, Event, Gate, Retrace};
use super::{pictures, strips, words};
use crate::CAUTIONS;
use crate::words::{decimals, measure};

#[derive(Debug, Serialize)]
pub(super) struct Page<'a> {
    title: String,
    facts: &'a [(String, String)],
    story: Vec<(&'static str, Vec<String>)>,
    height: Option<String>,
    speed: Option<String>,
    configuration: Option<String>,
    air: Option<String>,
    band_ft: String,
    heads: &'static [&'static str],
    checkpoints: Vec<Vec<String>>,
    gates: Vec<GateView>,
    events: Vec<EventView>,
    judged: bool,
    not_evaluable: Vec<String>,
    unknown: Vec<&'static str>,
    cautions: &'static [&'static str],
}

#[derive(Debug, Serialize)]
struct GateView {
    gate: String,
    criterion: String,
    value: String,
    limits: String,
    result: &'static str,
    missed: bool,
}

#[derive(Debug, Serialize)]
struct EventView {
    number: usize,
    rule: String,
    level: String,
    place: String,
    height: String,
    lasted: String,
    worst: String,
    partial: bool,
}

/// Heads of the checkpoint table.
const HEADS: &[&str] = &[
    "Checkpoint",
    "Height, ft",
    "Above the path, ft",
    "Energy above plan, ft",
    "Class",
    "Loss needed, ft/NM",
    "Airspeed, kt",
    "Planned, kt",
    "Flap lever",
    "Gear",
    "Speedbrake, %",
    "Thrust, %",
    "Headwind, kt",
];

pub(super) fn build(input: &Retrace) -> Page<'_> {
    let axis = Axis::of(&input.series);
    Page {
        title: format!("Flight {}, approach {}", input.flight_id, input.approach_no),
        facts: &input.facts,
        story: words::story(input, &axis),
        height: pictures::height(input, &axis),
        speed: pictures::speed(input, &axis),
        configuration: strips::configuration(input, &axis),
        air: strips::air(input, &axis),
        band_ft: decimals(input.band_ft, 0),
        heads: HEADS,
        checkpoints: input.checkpoints.iter().map(checkpoint).collect(),
        gates: input.gates.iter().map(gate).collect(),
        events: (1..)
            .zip(&input.events)
            .map(|(number, one)| event(number, one, input, &axis))
            .collect(),
        judged: input.judged,
        not_evaluable: input
            .not_evaluable
            .iter()
            .map(|id| words::plain(id))
            .collect(),
        unknown: words::unknown(&input.series),
        cautions: CAUTIONS,
    }
}

fn checkpoint(row: &Checkpoint) -> Vec<String> {
    if row.time_s.is_none() {
        let mut cells = vec!["not seen".to_owned(); HEADS.len()];
        cells[0].clone_from(&row.name);
        return cells;
    }
    let whole = |value: Option<f64>| value.map_or_else(|| "unknown".to_owned(), |v| decimals(v, 0));
    vec![
        row.name.clone(),
        whole(row.height_ft),
        whole(row.over_profile_ft),
        whole(row.energy_excess_ft),
        row.energy_class
            .as_ref()
            .map_or_else(|| "unknown".to_owned(), |class| words::plain(class)),
        whole(row.loss_needed_ft_per_nm),
        whole(row.cas_kt),
        whole(row.target_cas_kt),
        whole(row.flap_lever),
        match row.gear_down {
            None => "unknown",
            Some(down) if down >= 0.5 => "down",
            Some(_) => "not down",
        }
        .to_owned(),
        whole(row.speedbrake.map(|share| 100.0 * share)),
        whole(row.thrust_pct),
        whole(row.headwind_kt),
    ]
}

fn gate(row: &Gate) -> GateView {
    GateView {
        gate: row.name.clone(),
        criterion: words::plain(&row.criterion),
        value: row.value.map_or_else(|| "unknown".to_owned(), measure),
        limits: words::limits(row),
        result: match row.passed {
            Some(true) => "inside",
            Some(false) => "outside",
            None => "unknown or not asked",
        },
        missed: row.passed == Some(false),
    }
}

fn event(number: usize, event: &Event, input: &Retrace, axis: &Axis<'_>) -> EventView {
    let moment = event.moment_s();
    let height = moment.and_then(|t| at(&input.series.time_s, &input.series.height_ft, t));
    let unknown = || "unknown".to_owned();
    EventView {
        number,
        rule: words::plain(&event.rule),
        level: event.level.clone(),
        place: match moment {
            None => "no moment known".to_owned(),
            Some(t) => axis
                .words(t)
                .unwrap_or_else(|| "outside the approach segment".to_owned()),
        },
        height: height.map_or_else(unknown, |ft| format!("{} ft", decimals(ft, 0))),
        lasted: match (event.start_s, event.end_s) {
            (Some(start), Some(end)) => format!("{} s", decimals(end - start, 0)),
            _ => unknown(),
        },
        worst: event.worst.map_or_else(unknown, |worst| {
            format!("{} {}", measure(worst), event.unit)
                .trim_end()
                .to_owned()
        }),
        partial: event.partial,
    }
}
