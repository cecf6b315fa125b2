//! What followed a verdict at the governing gate.

use super::{ShareView, share};
use crate::input::DecisionLine;
use crate::plots::shares::{self, Row};
use crate::words;
use serde::Serialize;

/// The part of the section.
#[derive(Debug, Serialize)]
pub(crate) struct DecisionsView {
    picture: Option<String>,
    rows: Vec<DecisionRow>,
    /// Groups of which nothing may be shown.
    hidden: Vec<String>,
}

#[derive(Debug, Serialize)]
struct DecisionRow {
    group: String,
    at_gate: String,
    approaches: String,
    landed: String,
    neither: String,
    went_around: ShareView,
}

/// Builds the part.
pub(crate) fn build(lines: &[DecisionLine]) -> DecisionsView {
    let (shown, hidden): (Vec<&DecisionLine>, Vec<&DecisionLine>) = lines
        .iter()
        .partition(|line| line.went_around.suppressed.is_none());
    let rows: Vec<Row<'_>> = shown
        .iter()
        .map(|line| Row {
            label: format!("{}, {}", line.group, line.at_gate),
            share: &line.went_around,
            second: None,
        })
        .collect();
    DecisionsView {
        picture: shares::draw(
            "decisions",
            "Share that went around, by verdict at the governing gate",
            "of the approaches that landed or went around, %",
            "",
            &rows,
        ),
        rows: shown
            .iter()
            .map(|line| DecisionRow {
                group: line.group.clone(),
                at_gate: line.at_gate.clone(),
                approaches: words::count_or_unknown(line.approaches),
                landed: words::count_or_unknown(line.landed),
                neither: words::count_or_unknown(line.neither),
                went_around: share(&line.went_around),
            })
            .collect(),
        hidden: hidden
            .iter()
            .map(|line| format!("{} ({})", line.group, line.at_gate))
            .collect(),
    }
}
