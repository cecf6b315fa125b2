//! How the glide path was met.

use super::view::View;
use crate::rows::ApproachRow;

/// On the path within half a dot of its angle, seen from the threshold: 19 ft per NM on 3°, …
const BAND_FT_PER_NM: f64 = 19.0;
/// … and never closer than this: what the altimeter leaves open. Judgement.
const BAND_FT: f64 = 50.0;
/// The path is met where it is followed from there to here.
const UNTIL_NM: f64 = 3.0;
/// Level or descending is the mean over this long before: judgement.
const BEFORE_S: f64 = 30.0;
/// Level flight sinks by no more than this in the mean, 75 ft in that time: judgement.
const LEVEL_FPM: f64 = 150.0;

pub(super) fn fill(row: &mut ApproachRow, view: &View<'_>) {
    row.path_captured = captured(view).map(str::to_owned);
}

fn captured(view: &View<'_>) -> Option<&'static str> {
    let over = view.column("height_over_profile_ft");
    let places: Vec<(usize, f64, f64)> = view
        .approach()
        .filter_map(|k| Some((k, over.at(k)?, view.distance_nm(k)?)))
        .take_while(|place| place.2 >= UNTIL_NM)
        .collect();
    let on_path =
        |place: &(usize, f64, f64)| place.1.abs() <= BAND_FT.max(BAND_FT_PER_NM * place.2);
    // Off the path at 3 NM, or with no sample there: it was not met by then.
    let (last, _, last_nm) = *places.last().filter(|place| on_path(place))?;
    if last_nm > UNTIL_NM + 1.0 {
        return None;
    }
    let off = places.iter().rposition(|place| !on_path(place))?;
    let (before, over_ft, _) = places[off];
    if over_ft > 0.0 {
        return Some("above");
    }
    let met = places.get(off + 1).map_or(last, |place| place.0);
    let sink = view.column("sink_rate_fpm");
    let from = before.saturating_sub(view.samples_in(BEFORE_S));
    let sinks: Vec<f64> = (from..met).filter_map(|k| sink.at(k)).collect();
    if sinks.len() * 2 < met - from {
        return None;
    }
    let mean = sinks.iter().sum::<f64>() / sinks.len() as f64;
    Some(if mean <= LEVEL_FPM {
        "level"
    } else {
        "descending"
    })
}
