//! Steep while there was still speed to lose.

use super::view::{View, all, not};
use crate::rows::ApproachRow;

/// Published as the highest sink of a stabilised approach.
const SINK_FPM: f64 = 1_000.0;

pub(super) fn fill(row: &mut ApproachRow, view: &View<'_>) {
    let sink = view.column("sink_rate_fpm");
    let over_target = view.column("over_target_kt");
    let clean = |k| {
        let lever = view.flap_lever(k).map(|lever| lever == 0.0);
        all([lever, not(view.gear_down(k)), not(view.speedbrake_out(k))])
    };
    let steep = |k| all([sink.over(k, SINK_FPM), over_target.over(k, 0.0), clean(k)]);
    let judged = view.judged(|k| view.in_window(k), steep);
    row.steep_fast_clean_s = judged.map(|judged| view.seconds(&judged));
}
