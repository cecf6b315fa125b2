//! The events that people are shown: those of line flights, under rules that are not on trial.

use std::collections::HashMap;

use super::count::LEVELS;
use super::{Scene, SummaryInput};
use crate::rows::EventRow;
use ::records::rows::ApproachRow;

/// An event beside its approach.
#[derive(Debug, Clone, Copy)]
pub(super) struct CoreEvent<'a> {
    pub(super) event: &'a EventRow,
    pub(super) row: &'a ApproachRow,
    /// Number of the approach in the frame.
    pub(super) approach: usize,
    /// Its level, by its place in [`LEVELS`].
    pub(super) level: usize,
}

impl<'a> CoreEvent<'a> {
    /// Flight, approach and rule.
    pub(super) fn key(&self) -> (&'a str, i32, &'a str) {
        let event = self.event;
        (&event.flight_id, event.approach_no, &event.rule)
    }

    /// Whether it is in a rate: neither partial nor at the edge.
    pub(super) fn counts(&self) -> bool {
        !self.event.partial && self.event.edge != Some(true)
    }
}

/// All of them, in the order of the events.
pub(super) fn core_events<'a>(
    scene: &Scene<'a>,
    input: &SummaryInput<'a>,
) -> impl Iterator<Item = CoreEvent<'a>> {
    let rows: HashMap<(&str, i32), (usize, &ApproachRow)> = scene
        .frame
        .rows
        .iter()
        .enumerate()
        .map(|(number, row)| ((row.flight_id.as_str(), row.approach_no), (number, *row)))
        .collect();
    let rules = input.rules;
    input.events.iter().filter_map(move |event| {
        rules.get(&event.rule).filter(|note| !note.trial)?;
        let (approach, row) = *rows.get(&(event.flight_id.as_str(), event.approach_no))?;
        Some(CoreEvent {
            event,
            row,
            approach,
            level: LEVELS.iter().position(|level| *level == event.level)?,
        })
    })
}
