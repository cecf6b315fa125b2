//! What guided an approach.

use crate::airfield::{Landed, match_runway};
use crate::fleet::Runways;
use crate::flight::RawFlight;
use crate::series::{Series, median, turn_deg};

use super::signals::Signals;

/// Guidance is judged over the last minutes before the approach ends …
const FINAL_S: f64 = 240.0;
/// … without the flare, where beams are left.
const FLARE_S: f64 = 15.0;
/// A deviation is followed if it is known for this share of the time …
const KNOWN_SHARE: f64 = 0.5;
/// … and not at the end of its scale.
const FOLLOWED_DOTS: f64 = 2.4;
/// Aligned with another runway before the one landed on: circling.
const OTHER_COURSE_DEG: f64 = 30.0;

/// `ils`, `localizer`, `rnav`, `circling`, `visual` where guidance is recorded and none was
/// followed, `unknown` where none is recorded or what is recorded leaves it open.
pub(crate) fn approach_kind(
    flight: &RawFlight,
    signals: &Signals,
    runways: &Runways,
    landed: Option<&Landed<'_>>,
    end_s: f64,
) -> &'static str {
    let recorded = |name: &str| flight.channels.get(name).map(Series::known);
    let localizer = recorded("localizer_dev_dots");
    let glide_path = recorded("glide_path_dev_dots");
    let vertical_path = recorded("vertical_path_dev_dots");
    let tuned = tuned(
        recorded("ils_tuned"),
        recorded("ils_freq_mhz"),
        end_s - FLARE_S,
    );
    let followed = |s: &Option<Series>| s.as_ref().is_some_and(|s| followed(s, end_s));
    let on_localizer = tuned != Some(false) && followed(&localizer);
    if on_localizer && followed(&glide_path) {
        return "ils";
    }
    if landed.is_some_and(|l| circled(signals, runways, l)) {
        return "circling";
    }
    if on_localizer {
        return "localizer";
    }
    if followed(&vertical_path) {
        return "rnav";
    }
    // A receiver that was tuned while its needles are not recorded, or dead: nobody can tell.
    if tuned == Some(true) && !localizer.as_ref().is_some_and(|s| alive(s, end_s)) {
        return "unknown";
    }
    let guidance = [&localizer, &glide_path, &vertical_path];
    if guidance.iter().any(|s| s.is_some()) || tuned.is_some() {
        "visual"
    } else {
        "unknown"
    }
}

/// Whether an instrument landing system was tuned, where that is recorded.
fn tuned(state: Option<Series>, frequency: Option<Series>, t: f64) -> Option<bool> {
    if let Some(on) = state.and_then(|s| s.held(t)) {
        return Some(on == 1.0);
    }
    frequency
        .filter(|s| !s.is_empty())
        .map(|s| s.held(t).is_some())
}

/// Known, alive and on scale for most of the final approach.
fn followed(deviation: &Series, end_s: f64) -> bool {
    let value: Vec<f64> = last_minutes(deviation, end_s).collect();
    let expected = (FINAL_S - FLARE_S) / deviation.interval_s.max(0.1);
    let enough = value.len() as f64 >= KNOWN_SHARE * expected;
    alive(deviation, end_s)
        && enough
        && median(value.iter().map(|v| v.abs()).collect()) < FOLLOWED_DOTS
}

/// No living needle reads the same to the last digit for minutes.
fn alive(deviation: &Series, end_s: f64) -> bool {
    let mut value = last_minutes(deviation, end_s);
    let first = value.next();
    value.any(|v| Some(v) != first)
}

fn last_minutes(deviation: &Series, end_s: f64) -> impl Iterator<Item = f64> + '_ {
    deviation
        .between(end_s - FINAL_S, end_s - FLARE_S)
        .map(|s| s.1)
}

/// Whether the final segment follows one along another runway of the same airport.
fn circled(signals: &Signals, runways: &Runways, landed: &Landed<'_>) -> bool {
    let Some(from_s) = landed.aligned_from_s else {
        return false;
    };
    match_runway(runways, &signals.track, from_s, None).is_some_and(|before| {
        before.end.airport == landed.end.airport
            && turn_deg(before.end.bearing_deg, landed.end.bearing_deg).abs() > OTHER_COURSE_DEG
    })
}
