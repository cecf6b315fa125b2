//! What was done with energy on one approach, as numbers of its row. Definitions, one line each, are in
//! `docs/measurements.md`.
//!
//! Everything here is read from the columns on the base grid. A sample of which an input is unknown
//! counts neither for nor against; where too many are, the measure is unknown.

mod brakes;
mod capture;
mod configuration;
mod drag;
mod level;
mod profile;
mod steep;
mod view;

use crate::derive::Columns;
use crate::rows::ApproachRow;
use view::View;

/// Fills the habits of a row whose columns these are.
pub(crate) fn fill(row: &mut ApproachRow, columns: &Columns) {
    let view = View::new(columns);
    profile::fill(row, &view);
    steep::fill(row, &view);
    brakes::fill(row, &view);
    configuration::fill(row, &view);
    level::fill(row, &view);
    capture::fill(row, &view);
    drag::fill(row, &view);
}

/// The value of a column at a moment, on the line between the samples around it; none where one of
/// them is unknown.
pub(crate) fn at(columns: &Columns, name: &str, t: f64) -> Option<f64> {
    let values = columns.values(name)?;
    let place = (t - columns.grid.start_s) / columns.grid.step_s;
    if !(0.0..columns.grid.n as f64).contains(&place) {
        return None;
    }
    let k = place as usize;
    let share = place - k as f64;
    let value = if share < 1e-6 {
        values[k]
    } else {
        values[k] + share * (values.get(k + 1)? - values[k])
    };
    (!value.is_nan()).then_some(value)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may fail where it stands")]
mod tests;
