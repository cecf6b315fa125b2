//! The level segment in which speed is lost before the first flap.

use super::configuration::first_flap;
use super::view::{View, stretches};
use crate::rows::ApproachRow;

/// Level flight sinks or climbs by no more than this at any moment, gusts included, …
const MOMENT_FPM: f64 = 300.0;
/// … and by no more than this in the mean: judgement.
const MEAN_FPM: f64 = 150.0;
/// Shorter pauses in a descent are no level segment: judgement.
const LEVEL_S: f64 = 15.0;
/// A segment that ended longer before the first flap did not lead to it: judgement.
const BEFORE_S: f64 = 30.0;

pub(super) fn fill(row: &mut ApproachRow, view: &View<'_>) {
    row.level_before_flap_nm = first_flap(view).and_then(|flap| level_nm(view, flap));
}

fn level_nm(view: &View<'_>, flap: usize) -> Option<f64> {
    let sink = view.column("sink_rate_fpm");
    let level = |k| Some(sink.at(k)?.abs() <= MOMENT_FPM);
    let long = view.samples_in(LEVEL_S);
    let lately = flap.saturating_sub(view.samples_in(BEFORE_S));
    let looked = |k| Some((lately.saturating_sub(long)..=flap).contains(&k));
    let seen = view.judged(looked, level)?;
    let judged: Vec<(usize, Option<bool>)> = view
        .approach()
        .filter(|&k| k <= flap)
        .map(|k| (k, level(k)))
        .collect();
    let segment = stretches(&judged)
        .into_iter()
        .rfind(|s| *s.end() >= lately && s.end() - s.start() >= long)
        .filter(|s| {
            let sinks = s.clone().filter_map(|k| sink.at(k));
            let n = (s.end() - s.start() + 1) as f64;
            (sinks.sum::<f64>() / n).abs() <= MEAN_FPM
        });
    match segment {
        Some(s) => Some(view.distance_nm(*s.start())? - view.distance_nm(*s.end())?),
        // A hole may have cut one in two.
        None => seen.iter().all(|j| j.1.is_some()).then_some(0.0),
    }
}
