//! Which criterion fails at a gate, and from which height approaches were settled.

use super::{ShareView, share};
use crate::input::{Flown, GateCriteria, Moment, PeriodQuantiles};
use crate::plots::ranges::{self, Frame};
use crate::plots::shares::{self, Row};
use crate::quantiles::{self, QuantileRow};
use crate::{pictures, words};
use serde::Serialize;

/// The part of the section.
#[derive(Debug, Serialize)]
pub(crate) struct GatesView {
    gates: Vec<GateView>,
    moments: Vec<MomentsView>,
}

#[derive(Debug, Serialize)]
struct GateView {
    title: String,
    governing: bool,
    picture: Option<String>,
    rows: Vec<CriterionRow>,
}

#[derive(Debug, Serialize)]
struct CriterionRow {
    criterion: String,
    all: ShareView,
    latest: ShareView,
    alone: String,
    left_later: String,
}

/// Moments of one unit.
#[derive(Debug, Serialize)]
struct MomentsView {
    unit: String,
    picture: Option<String>,
    rows: Vec<QuantileRow>,
}

/// Builds the part.
pub(crate) fn build(flown: &Flown) -> GatesView {
    let mut units: Vec<&str> = Vec::new();
    for moment in &flown.moments {
        if !units.contains(&moment.unit.as_str()) {
            units.push(&moment.unit);
        }
    }
    let gates = flown.gates.iter();
    GatesView {
        gates: gates
            .map(|gate| {
                let governing = flown.governing_gate.as_deref() == Some(&gate.rule_id);
                view(gate, governing)
            })
            .collect(),
        moments: units
            .into_iter()
            .map(|unit| {
                let own = flown.moments.iter().filter(|moment| moment.unit == unit);
                moments(unit, &own.collect::<Vec<_>>())
            })
            .collect(),
    }
}

fn view(gate: &GateCriteria, governing: bool) -> GateView {
    let rows: Vec<Row<'_>> = gate
        .criteria
        .iter()
        .map(|line| Row {
            label: name(&line.criterion),
            share: &line.all,
            second: Some(&line.latest),
        })
        .collect();
    GateView {
        title: gate.title.clone(),
        governing,
        picture: shares::draw(
            &pictures::name("gate", &gate.rule_id),
            &format!("Criteria not met: {}", gate.title),
            "of the approaches to which the criterion applied, %",
            "latest month",
            &rows,
        ),
        rows: gate
            .criteria
            .iter()
            .map(|line| {
                let shown = |count| match line.all.suppressed {
                    Some(_) => String::new(),
                    None => words::count_or_unknown(count),
                };
                CriterionRow {
                    criterion: name(&line.criterion),
                    all: share(&line.all),
                    latest: share(&line.latest),
                    alone: shown(line.alone),
                    left_later: shown(line.left_later),
                }
            })
            .collect(),
    }
}

/// "glide_path" → "glide path".
pub(crate) fn name(criterion: &str) -> String {
    criterion.replace('_', " ")
}

fn moments(unit: &str, own: &[&Moment]) -> MomentsView {
    let rows: Vec<(String, &PeriodQuantiles)> = own
        .iter()
        .flat_map(|moment| {
            let periods = moment.periods.iter();
            periods.map(|period| (format!("{}, {}", moment.title, period.label), period))
        })
        .collect();
    let words = if unit == "ft" {
        "height above the aerodrome"
    } else {
        "distance to go"
    };
    let frame = Frame {
        id: &format!("moments-{}", unit.to_lowercase()),
        title: &format!("When things were done, by {words}"),
        axis: &format!("{words}, {unit}"),
        mark: None,
    };
    MomentsView {
        unit: unit.to_owned(),
        picture: ranges::draw(&frame, &rows),
        rows: rows
            .iter()
            .map(|(label, period)| quantiles::row(label, period))
            .collect(),
    }
}
