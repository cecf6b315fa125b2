//! Speedbrake and thrust against each other.

use super::view::{View, all};
use crate::rows::ApproachRow;

/// Thrust this much above the lowest of the approach is more than idle, % N1: idle itself changes by a
/// few with height and speed. Judgement.
const OVER_IDLE_PCT: f64 = 8.0;

pub(super) fn fill(row: &mut ApproachRow, view: &View<'_>) {
    let thrust = view.column("thrust_pct");
    let over_minimum = view.column("thrust_over_min_pct");
    let lowest = view
        .approach()
        .filter_map(|k| thrust.at(k))
        .fold(f64::INFINITY, f64::min);
    // An approach that never saw idle has no such lowest: the type's minimum serves there.
    let carried = |k| {
        let over_lowest = thrust.over(k, lowest + OVER_IDLE_PCT)?;
        Some(over_lowest || over_minimum.over(k, 0.0) == Some(true))
    };
    let against = |k| all([view.speedbrake_out(k), carried(k)]);
    let judged = view.judged(|_| Some(true), against);
    row.speedbrake_against_thrust_s = judged.map(|judged| view.seconds(&judged));
}
