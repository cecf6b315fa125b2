//! How close the airspeed came to the limit of the flap about to be selected.

use crate::input::{MarginLine, PeriodQuantiles};
use crate::plots::ranges::{self, Frame};
use crate::quantiles::{self, QuantileRow};
use serde::Serialize;

/// The part of the section.
#[derive(Debug, Serialize)]
pub(crate) struct MarginsView {
    picture: Option<String>,
    rows: Vec<QuantileRow>,
}

/// Builds the part.
pub(crate) fn build(lines: &[MarginLine]) -> MarginsView {
    let named: Vec<(String, &PeriodQuantiles)> = lines
        .iter()
        .map(|line| {
            let label = format!("{}, flap {}", line.aircraft_type, line.lever);
            (label, &line.margin)
        })
        .collect();
    let frame = Frame {
        id: "margins",
        title: "Margin to the flap limit at selection, by type and lever",
        axis: "limit of the position selected, less airspeed at that moment, kt",
        mark: Some((0.0, "at the limit".to_owned())),
    };
    MarginsView {
        picture: ranges::draw(&frame, &named),
        rows: named
            .iter()
            .map(|(label, margin)| quantiles::row(label, margin))
            .collect(),
    }
}
