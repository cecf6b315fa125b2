//! How long an energy excess waited for drag.

use super::view::{View, stretches};
use crate::rows::ApproachRow;

/// Energy height above the reference that calls for drag: the band within which a checkpoint is on its
/// profile. Judgement.
const EXCESS_FT: f64 = 300.0;
/// And it has lasted this long: a gust calls for nothing. Judgement.
const LASTS_S: f64 = 10.0;

pub(super) fn fill(row: &mut ApproachRow, view: &View<'_>) {
    let excess = view.column("energy_excess_ft");
    let judged = view.judged(|k| view.in_window(k), |k| excess.over(k, EXCESS_FT));
    let Some(judged) = judged else { return };
    let long = view.samples_in(LASTS_S);
    let call = stretches(&judged)
        .into_iter()
        .find(|s| s.end() - s.start() >= long);
    let Some(call) = call.map(|s| *s.start()) else {
        return;
    };
    row.drag_called_nm = view.distance_nm(call);
    row.drag_late_nm = late_nm(view, call);
}

/// Track distance from the call to the first drag after it; to the end of the approach without any.
fn late_nm(view: &View<'_>, call: usize) -> Option<f64> {
    let lever = view.flap_lever(call);
    let more_flap = |k| Some(view.flap_lever(k)? > lever?);
    let in_use = |k| {
        let means = [view.speedbrake_out(k), view.gear_down(k), more_flap(k)];
        if means.contains(&Some(true)) {
            return Some(true);
        }
        (!means.contains(&None)).then_some(false)
    };
    let came = view
        .approach()
        .find(|&k| k >= call && in_use(k) == Some(true));
    let placed = |k: &usize| view.distance_nm(*k).is_some();
    let until = came.or_else(|| view.approach().filter(placed).last())?;
    // What came in a silence may have come before.
    view.judged(|k| Some((call..=until).contains(&k)), in_use)?;
    Some(view.distance_nm(call)? - view.distance_nm(until)?)
}
