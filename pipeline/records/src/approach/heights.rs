//! One height offset per approach: the pressure altitude of its landing threshold.

use crate::airfield::{Landed, rough_distance_nm};
use crate::atmosphere::{FT_PER_NM, pressure_altitude_from_qnh_ft};
use crate::series::{median, resolution};

use super::contact::last_known;
use super::outcome::Arrival;
use super::setting::witness;
use super::signals::Signals;

/// On the roll below this the static source reads the field's level.
const SLOW_ROLL_KT: f64 = 60.0;
/// The roll is over this long after contact.
const ROLL_S: f64 = 120.0;
/// Fewer samples make no median.
const ROLL_SAMPLES: usize = 3;
/// Half a wide runway and the position error.
const PAVEMENT_NM: f64 = 0.04;
/// Valid altitudes up to contact that make the level.
const LAST_ALTITUDES: usize = 5;
/// They are no older than this.
const LAST_S: f64 = 60.0;
/// The rate of descent before a silence is taken over this time.
const RATE_S: f64 = 10.0;
/// An altitude that is known no later than this far above the ground is not that of the runway.
const CAME_DOWN_FT: f64 = 100.0;
/// Without positions, approaches this close in time went to the same field.
const SAME_FIELD_S: f64 = 1_800.0;
/// With positions, approaches this close did.
const SAME_FIELD_NM: f64 = 5.0;

// Standard errors, ft. Static source on the roll. The flare's last seconds and the suction of the
// rotation to the runway: 30 ft over eight real landings on fields of known pressure; more where no
// contact was seen. A pressure that drifts 1 hPa between two landings. A QNH in whole hPa, measured
// elsewhere on the field. The last altitude of a record that does, and does not, end on the ground.
const ROLL_ERROR_FT: f64 = 10.0;
const CONTACT_ERROR_FT: f64 = 30.0;
const UNSEEN_ERROR_FT: f64 = 40.0;
const DRIFT_ERROR_FT: f64 = 27.0;
pub(super) const QNH_ERROR_FT: f64 = 30.0;
const RECORD_END_ERROR_FT: f64 = 25.0;
const RECORD_END_UNSEEN_ERROR_FT: f64 = 75.0;

/// Where height zero is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Level {
    /// Pressure altitude of the landing threshold, or of the end of the record.
    pub(crate) zero_ft: f64,
    /// As stored in `height_source`.
    pub(crate) source: &'static str,
    /// Estimated standard error.
    pub(crate) uncertainty_ft: f64,
}

/// The level of every approach, from the best source it has; none where it has none.
pub(crate) fn levels(
    signals: &Signals,
    arrivals: &[Arrival],
    landed: &[Option<Landed<'_>>],
) -> Vec<Option<Level>> {
    let own: Vec<Option<Level>> = arrivals
        .iter()
        .zip(landed)
        .map(|(arrival, landed)| {
            let landed = landed.as_ref()?;
            from_roll(signals, arrival, landed)
                .or_else(|| from_last_altitudes(signals, arrival, landed))
                .or_else(|| from_unseen(signals, arrival, landed))
        })
        .collect();
    (0..arrivals.len())
        .map(|i| {
            own[i]
                .or_else(|| from_other_landing(i, arrivals, landed, &own))
                .or_else(|| from_setting(signals, &arrivals[i], landed[i].as_ref()?))
                .or_else(|| from_record_end(signals, i, arrivals, landed))
        })
        .collect()
}

/// How much higher than the threshold the runway is at that distance before (−beyond) it.
pub(super) fn slope_ft(landed: &Landed<'_>, along_nm: f64) -> f64 {
    let share = (-along_nm * FT_PER_NM / landed.end.length_ft).clamp(0.0, 1.0);
    share * (landed.end.far_elevation_ft - landed.end.elevation_ft)
}

/// The recorder's steps as a standard error.
fn step_error_ft(signals: &Signals) -> f64 {
    resolution(&signals.altitude.value) / 12f64.sqrt()
}

fn from_roll(signals: &Signals, arrival: &Arrival, landed: &Landed<'_>) -> Option<Level> {
    let contact = arrival.low.contact?;
    let until_s = (contact.time_s + ROLL_S).min(arrival.low.left_s.max(contact.time_s));
    let levels: Vec<f64> = signals
        .altitude
        .between(contact.time_s, until_s)
        .filter(|&(t, _)| {
            signals
                .ground_speed
                .held(t)
                .is_some_and(|kt| kt < SLOW_ROLL_KT)
        })
        .filter_map(|(t, ft)| {
            let fix = signals.track.at(t)?;
            let (along, offset) = landed.frame.place(fix.latitude_deg, fix.longitude_deg);
            let on_pavement = offset.abs() <= PAVEMENT_NM
                && (-landed.end.length_ft / FT_PER_NM..=0.0).contains(&along);
            on_pavement.then(|| ft - slope_ft(landed, along))
        })
        .collect();
    (levels.len() >= ROLL_SAMPLES).then(|| Level {
        zero_ft: median(levels),
        source: "landing_roll",
        uncertainty_ft: ROLL_ERROR_FT.hypot(step_error_ft(signals)),
    })
}

fn from_last_altitudes(signals: &Signals, arrival: &Arrival, landed: &Landed<'_>) -> Option<Level> {
    let contact = arrival.low.contact?;
    let mut last: Vec<f64> = signals
        .altitude
        .between(contact.time_s - LAST_S, contact.time_s)
        .map(|s| s.1)
        .collect();
    last.drain(..last.len().saturating_sub(LAST_ALTITUDES));
    if last.is_empty() || came_down_ft(signals, contact.time_s)? > CAME_DOWN_FT {
        return None;
    }
    // Where positions froze before the threshold, the threshold's own elevation has to do.
    let along = signals
        .track
        .last_before(contact.time_s)
        .map_or(0.0, |fix| {
            landed.frame.place(fix.latitude_deg, fix.longitude_deg).0
        });
    Some(Level {
        zero_ft: median(last) - slope_ft(landed, along),
        source: "last_altitudes",
        uncertainty_ft: CONTACT_ERROR_FT.hypot(step_error_ft(signals)),
    })
}

/// How far the aircraft came down between the last known altitude and a moment, at the rate of the
/// altitudes before it.
fn came_down_ft(signals: &Signals, t: f64) -> Option<f64> {
    let altitude = &signals.altitude;
    let last = altitude.upto(t).checked_sub(1)?;
    let silent_s = t - altitude.time_s[last];
    let before = altitude.from(altitude.time_s[last] - RATE_S);
    let span_s = altitude.time_s[last] - altitude.time_s[before];
    let fell_ft = altitude.value[before] - altitude.value[last];
    Some(if span_s > 0.0 {
        fell_ft.max(0.0) / span_s * silent_s
    } else {
        0.0
    })
}

/// A landing without a word from the ground: altitudes that were new after the threshold was
/// crossed, by position or by the speed of the last known one, are those of the runway.
fn from_unseen(signals: &Signals, arrival: &Arrival, landed: &Landed<'_>) -> Option<Level> {
    if arrival.low.contact.is_some() || !arrival.outcome.landed() {
        return None;
    }
    let (aligned_s, along_nm) = landed.last_aligned?;
    let crossing_s = match landed.crossing_s {
        Some(t) => t,
        None => {
            let speed_kt = last_known(&signals.ground_speed, aligned_s, LAST_S)?;
            aligned_s + along_nm / speed_kt * 3600.0
        }
    };
    let altitude = &signals.altitude;
    let first = altitude.from(crossing_s);
    let new = (first.max(1)..altitude.len())
        .find(|&i| (altitude.value[i] - altitude.value[i - 1]).abs() > f64::EPSILON)?;
    let mut last = altitude.value[new..].to_vec();
    last.drain(..last.len().saturating_sub(LAST_ALTITUDES));
    Some(Level {
        zero_ft: median(last),
        source: "last_altitudes",
        uncertainty_ft: UNSEEN_ERROR_FT.hypot(step_error_ft(signals)),
    })
}

/// The nearest landing in time at the same airport.
fn from_other_landing(
    i: usize,
    arrivals: &[Arrival],
    landed: &[Option<Landed<'_>>],
    own: &[Option<Level>],
) -> Option<Level> {
    let here = landed[i].as_ref()?;
    (0..arrivals.len())
        .filter_map(|j| {
            let (there, level) = (landed[j].as_ref()?, own[j]?);
            let apart_s = (arrivals[j].low.low_s - arrivals[i].low.low_s).abs();
            (there.end.airport == here.end.airport).then_some((apart_s, there, level))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, there, level)| Level {
            zero_ft: level.zero_ft + here.end.elevation_ft - there.end.elevation_ft,
            source: "other_landing",
            uncertainty_ft: level.uncertainty_ft.hypot(DRIFT_ERROR_FT),
        })
}

/// The pressure setting, unless something measured contradicts it: then that, where it is good
/// enough, or nothing.
fn from_setting(signals: &Signals, arrival: &Arrival, landed: &Landed<'_>) -> Option<Level> {
    let witness = witness(signals, arrival, landed);
    let measured = || witness.filter(|w| w.serves).map(|w| w.level);
    let Some(qnh_hpa) = signals.qnh_hpa(arrival.low.low_s) else {
        return measured();
    };
    let zero_ft = pressure_altitude_from_qnh_ft(landed.end.elevation_ft, qnh_hpa);
    if witness.is_some_and(|w| w.contradicts(zero_ft)) {
        return measured();
    }
    Some(Level {
        zero_ft,
        source: "qnh",
        uncertainty_ft: QNH_ERROR_FT,
    })
}

/// With no runway: height above the last altitude of a record that ends with a landing, for that
/// landing and the approaches to the same field before it.
fn from_record_end(
    signals: &Signals,
    i: usize,
    arrivals: &[Arrival],
    landed: &[Option<Landed<'_>>],
) -> Option<Level> {
    let last = arrivals.len().checked_sub(1)?;
    if landed[i].is_some() || landed[last].is_some() || !arrivals[last].outcome.landed() {
        return None;
    }
    if i != last && !same_field(signals, &arrivals[i], &arrivals[last]) {
        return None;
    }
    let seen = arrivals[last].low.contact.is_some();
    let error_ft = if seen {
        RECORD_END_ERROR_FT
    } else {
        RECORD_END_UNSEEN_ERROR_FT
    };
    Some(Level {
        zero_ft: *signals.altitude.value.last()?,
        source: "record_end",
        uncertainty_ft: error_ft.hypot(step_error_ft(signals)),
    })
}

fn same_field(signals: &Signals, a: &Arrival, b: &Arrival) -> bool {
    let place = |arrival: &Arrival| signals.track.last_before(arrival.low.low_s);
    match (place(a), place(b)) {
        (Some(a), Some(b)) => {
            rough_distance_nm(
                (a.latitude_deg, a.longitude_deg),
                (b.latitude_deg, b.longitude_deg),
            ) <= SAME_FIELD_NM
        }
        _ => (b.low.low_s - a.low.low_s).abs() <= SAME_FIELD_S,
    }
}
