//! Height above the planned one that was left to itself, or turned into speed.

use std::ops::RangeInclusive;

use super::view::{Column, View, all, not, stretches};
use crate::rows::ApproachRow;

/// Well above the planned height, ft: the band within which a checkpoint is on its profile. Judgement.
const HIGH_FT: f64 = 300.0;
/// Airspeed is a mean over this long: gusts are no gain. Judgement.
const SMOOTH_S: f64 = 10.0;

pub(super) fn fill(row: &mut ApproachRow, view: &View<'_>) {
    let height = view.column("height_geometric_ft");
    let planned = view.column("planning_height_ft");
    let over_ft = |k| Some(height.at(k)? - planned.at(k)?);
    let high = |k| Some(over_ft(k)? > HIGH_FT);
    let member = |k| view.in_window(k);
    let stowed = |k| all([high(k), not(view.speedbrake_out(k))]);
    if let Some(judged) = view.judged(member, stowed) {
        let counted = judged.iter().filter(|j| j.1 == Some(true));
        let heights = counted.filter_map(|j| over_ft(j.0));
        row.high_stowed_s = Some(view.seconds(&judged));
        row.high_stowed_max_ft = Some(heights.fold(0.0, f64::max));
    }
    let cas = view.column("cas_kt");
    let known = |k| cas.at(k).map(|_| true);
    let undragged = |k| all([stowed(k), not(view.gear_down(k)), known(k)]);
    row.speed_for_drag_kt = view.judged(member, undragged).map(|judged| {
        let half = view.samples_in(SMOOTH_S) / 2;
        let gains = stretches(&judged)
            .into_iter()
            .map(|s| gain_kt(cas, s, half));
        gains.fold(0.0, f64::max)
    });
}

/// The largest rise of the smoothed airspeed over its lowest before, in one stretch.
fn gain_kt(cas: Column<'_>, stretch: RangeInclusive<usize>, half: usize) -> f64 {
    let mut lowest = f64::INFINITY;
    let mut gain = 0.0;
    for k in stretch.clone() {
        let from = k.saturating_sub(half).max(*stretch.start());
        let to = (k + half).min(*stretch.end());
        // Both ends of the mean move in as one, so that it stays centred.
        let reach = (k - from).min(to - k);
        let known: Vec<f64> = (k - reach..=k + reach).filter_map(|i| cas.at(i)).collect();
        let mean = known.iter().sum::<f64>() / known.len() as f64;
        lowest = f64::min(lowest, mean);
        gain = f64::max(gain, mean - lowest);
    }
    gain
}
