mod flown;
mod headers;
mod met;
mod outcomes;
mod places;
mod real;

use super::*;

fn outcomes_of(flight: &PreparedFlight) -> Vec<&str> {
    flight
        .approaches
        .iter()
        .map(|a| a.row.outcome.as_str())
        .collect()
}

/// A column at the last sample at or before `t`.
fn value(approach: &PreparedApproach, column: &str, t: f64) -> f64 {
    let grid = approach.columns.grid;
    let k = ((t - grid.start_s) / grid.step_s).floor() as usize;
    approach
        .columns
        .values(column)
        .map_or(f64::NAN, |v| v[k.min(grid.n - 1)])
}
