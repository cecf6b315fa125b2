//! Where flap and gear came.

use super::view::View;
use crate::rows::ApproachRow;

/// A change that follows a longer silence happened somewhere in it.
const SILENT_S: f64 = 10.0;

pub(super) fn fill(row: &mut ApproachRow, view: &View<'_>) {
    let height = view.column("height_aal_ft");
    row.first_flap_nm = first_flap(view).and_then(|k| view.distance_nm(k));
    let gear_down = view.column("gear_down");
    let gear = change(view, |k| gear_down.over(k, 0.5));
    row.gear_down_nm = gear.and_then(|k| view.distance_nm(k));
    row.gear_down_height_aal_ft = gear.and_then(|k| height.at(k));
    let landing_flap = view.column("landing_flap_set");
    let landing = change(view, |k| landing_flap.over(k, 0.5));
    row.landing_flap_height_aal_ft = landing.and_then(|k| height.at(k));
}

/// The sample at which the flap lever left the clean position.
pub(super) fn first_flap(view: &View<'_>) -> Option<usize> {
    change(view, |k| Some(view.flap_lever(k)? > 0.0))
}

/// The first sample of the approach that is on; none where it was on before, or may have been.
fn change(view: &View<'_>, on: impl Fn(usize) -> Option<bool>) -> Option<usize> {
    let silent = view.samples_in(SILENT_S);
    let mut off: Option<usize> = None;
    for k in view.approach() {
        match on(k) {
            Some(true) => return off.filter(|before| k - before <= silent).map(|_| k),
            Some(false) => off = Some(k),
            None => {}
        }
    }
    None
}
