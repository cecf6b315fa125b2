//! The energy story of one approach: its state at the checkpoints, every lever move, and what it lost
//! in which configuration.
//!
//! Everything is read from the columns of the approach, on the base grid; nothing here looks at a rule
//! or at another flight.

mod arrival;
mod checkpoints;
mod class;
mod gate;
mod losses;
mod moment;
mod moves;

pub use arrival::DIRECTIONS;
pub use class::{Drag, EnergyClass, ON_PROFILE_FT, SPEEDBRAKE_OUT, cheapest_drag, energy_class};
pub use gate::GATE_FT;

use crate::derive::{Columns, Frame};
use crate::fleet::AircraftType;
use crate::rows::{ArrivalRow, CheckpointRow, LeverMoveRow, LossRow};

/// The rows of one approach.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Story {
    /// In the order in which they were flown.
    pub checkpoints: Vec<CheckpointRow>,
    /// In time.
    pub moves: Vec<LeverMoveRow>,
    /// By configuration, clean first.
    pub losses: Vec<LossRow>,
    /// One row an approach.
    pub arrivals: Vec<ArrivalRow>,
}

impl Story {
    /// Track distance of the farthest checkpoint in class `gear`; 0 where there is none, `None` where the
    /// class of a checkpoint by distance is unknown.
    pub(crate) fn gear_called_nm(&self) -> Option<f64> {
        let by_distance = self
            .checkpoints
            .iter()
            .filter(|row| row.checkpoint.ends_with("nm"));
        let mut called = None;
        for row in by_distance {
            let class = row.energy_class.as_deref()?;
            let at = if class == EnergyClass::Gear.as_str() {
                row.distance_nm?
            } else {
                0.0
            };
            called = Some(at.max(called.unwrap_or(0.0)));
        }
        called
    }
}

/// Tells the story of an approach from its columns.
#[must_use]
pub fn story(
    (flight_id, approach_no): (&str, i32),
    columns: &Columns,
    aircraft: Option<&AircraftType>,
    frame: &Frame,
) -> Story {
    let key = (flight_id, approach_no);
    Story {
        checkpoints: checkpoints::rows(key, columns, aircraft, frame),
        moves: moves::rows(key, columns, aircraft),
        losses: losses::rows(key, columns),
        arrivals: vec![arrival::row(key, columns, frame)],
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may fail where it stands")]
mod tests;
