//! How the ground was met: sink at the touchdown, and bounces after it.

use crate::series::Series;

use super::contact::{Contact, Evidence};
use super::signals::Signals;

/// Slower radio altitude has no slope of the last moment: a flare changes the sink within two seconds.
const RADIO_INTERVAL_S: f64 = 1.0;
/// A moment of contact that is open by more leaves the slope to it open too.
const CONTACT_OPEN_S: f64 = 0.5;
/// The slope is taken over the last two radio altitudes, but over at least this time …
const SLOPE_AT_LEAST_S: f64 = 1.0;
/// … and the reading on the ground is the lowest within this after the contact.
const GROUND_READING_S: f64 = 2.0;
const SECONDS_PER_MINUTE: f64 = 60.0;

/// Contacts further apart than this are no bounce of one landing.
const BOUNCE_S: f64 = 10.0;
/// Nor are those with more height between them.
const BOUNCE_FT: f64 = 60.0;
/// Less than this over the reading on the ground is no rise: the altimeter's error and the strut.
const RISE_FT: f64 = 3.0;
/// Slower air/ground switches, or radio altitudes, miss whole bounces.
const BOUNCE_INTERVAL_S: f64 = 1.0;

/// Sink at the touchdown, ft/min, positive = descending: slope of radio altitude up to the contact,
/// through the reading on the ground there. Barometric altitude is never asked: the ground disturbs it.
///
/// None where radio altitude comes less than once a second or with a hole, or where the moment of
/// contact is open by more than half a second.
pub(crate) fn touchdown_sink_fpm(radio: &Series, contact: Contact) -> Option<f64> {
    if contact.evidence == Evidence::Slow
        || contact.open_s > CONTACT_OPEN_S
        || !quick(radio, RADIO_INTERVAL_S)
    {
        return None;
    }
    let span_s = (2.0 * radio.interval_s).max(SLOPE_AT_LEAST_S) + 1e-6;
    let mut points: Vec<(f64, f64)> = radio
        .between(contact.time_s - span_s, contact.time_s)
        .filter(|s| s.0 < contact.time_s)
        .collect();
    let last_s = points.last()?.0;
    if points.len() < 2 || contact.time_s - last_s > radio.gap_s() || has_hole(radio, &points) {
        return None;
    }
    points.push((contact.time_s, ground_reading(radio, contact)?));
    Some(-slope(&points) * SECONDS_PER_MINUTE)
}

/// Times the wheels left the runway and came back within 10 s and below 60 ft.
///
/// None where air/ground or radio altitude are missing in these seconds, or slower than once a second.
/// A switch that opens without a rise of radio altitude flickers, and is no bounce.
pub(crate) fn bounces(signals: &Signals, contact: Contact) -> Option<i32> {
    let (switch, radio) = (&signals.on_ground, &signals.radio);
    let seen = quick(switch, BOUNCE_INTERVAL_S) && quick(radio, BOUNCE_INTERVAL_S);
    if contact.evidence == Evidence::Slow || !seen {
        return None;
    }
    let ground_ft = ground_reading(radio, contact)?;
    let (mut landed_s, mut before_s) = (contact.time_s, contact.time_s);
    let mut aloft = false;
    let mut count = 0;
    for (t, on_ground) in switch.between(contact.time_s, f64::INFINITY) {
        if !switch.holds && t - before_s > switch.gap_s() {
            return None;
        }
        before_s = t;
        if t - landed_s > BOUNCE_S {
            return Some(count);
        }
        if on_ground != 1.0 {
            aloft = true;
        } else if std::mem::take(&mut aloft) {
            let top_ft = top_ft(radio, landed_s, t)?;
            if top_ft > BOUNCE_FT {
                return Some(count);
            }
            if top_ft - ground_ft >= RISE_FT {
                count += 1;
                landed_s = t;
            }
        }
    }
    // The record ends: a switch that speaks only when it changes has nothing more to say.
    switch.holds.then_some(count)
}

/// Highest reading between two moments; none where the altimeter was silent in them.
fn top_ft(radio: &Series, from_s: f64, to_s: f64) -> Option<f64> {
    let known: Vec<(f64, f64)> = radio.between(from_s - radio.interval_s, to_s).collect();
    let reaches = known.last().is_some_and(|s| to_s - s.0 <= radio.gap_s());
    let top = radio.between(from_s, to_s).map(|s| s.1).reduce(f64::max);
    top.filter(|_| reaches && !has_hole(radio, &known))
}

/// What radio altitude reads with the wheels on the ground.
fn ground_reading(radio: &Series, contact: Contact) -> Option<f64> {
    if contact.evidence == Evidence::Radio {
        return Some(0.0);
    }
    radio
        .between(contact.time_s, contact.time_s + GROUND_READING_S)
        .map(|s| s.1)
        .reduce(f64::min)
}

fn quick(series: &Series, interval_s: f64) -> bool {
    !series.is_empty() && (series.holds || series.interval_s <= interval_s + 1e-6)
}

fn has_hole(series: &Series, points: &[(f64, f64)]) -> bool {
    points
        .windows(2)
        .any(|pair| pair[1].0 - pair[0].0 > series.gap_s())
}

/// Least squares; the points have at least two different times.
fn slope(points: &[(f64, f64)]) -> f64 {
    let n = points.len() as f64;
    let mean = |of: fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / n;
    let (t, y) = (mean(|p| p.0), mean(|p| p.1));
    let along: f64 = points.iter().map(|p| (p.0 - t) * (p.1 - y)).sum();
    let square: f64 = points.iter().map(|p| (p.0 - t) * (p.0 - t)).sum();
    along / square
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may fail where it stands")]
mod tests;
