//! Ground contact and the moment of touchdown.

use crate::atmosphere::{M_PER_FT, M_S_PER_KT};
use crate::series::{Series, median};

use super::signals::Signals;

/// Contact is believed only this close to the low point: air/ground switches glitch aloft too.
const CONTACT_BAND_FT: f64 = 150.0;
/// Radio altitude above which the wheels cannot be on the ground, whatever the switch says.
const RADIO_ON_GROUND_FT: f64 = 30.0;
/// No transport touches down faster.
pub(crate) const LANDING_SPEED_MAX_KT: f64 = 200.0;
/// Slower than this the landing roll is over; the aircraft is on the ground without a switch.
pub(crate) const ROLL_END_KT: f64 = 40.0;
/// Air/ground switches need both struts compressed: they follow the wheels by up to this.
const SWITCH_LAG_S: f64 = 3.0;
/// The peak may follow the first contact by this much, nose wheel and second bounce included.
const PEAK_AFTER_S: f64 = 3.0;
/// A touchdown is felt as at least this much over the flight before it.
const JOLT_G: f64 = 0.12;
/// And as at least so many times what turbulence did in the seconds before.
const JOLT_OVER_TURBULENCE: f64 = 3.0;
/// Radio altitude above which a jolt is no touchdown; the altimeter's last sample may be a second old.
const JOLT_RADIO_FT: f64 = 8.0;
/// Slower sampling misses the peak: a touchdown lasts a few tenths of a second.
const PEAK_INTERVAL_S: f64 = 0.5;

/// What showed that the ground was touched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Evidence {
    /// The air/ground switch.
    Switch,
    /// Normal acceleration shortly before the switch.
    Jolt,
    /// Radio altitude reached zero.
    Radio,
    /// Slower than anything flies, at the low point; the moment of touchdown is not known.
    Slow,
}

/// First contact of an approach.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Contact {
    pub(crate) time_s: f64,
    /// Time between the last sample known in the air and the first known on the ground.
    pub(crate) open_s: f64,
    pub(crate) evidence: Evidence,
}

/// First contact inside `[from_s, to_s]`, with the lowest altitude `low_ft` in it.
pub(crate) fn first_contact(
    signals: &Signals,
    from_s: f64,
    to_s: f64,
    low_ft: f64,
) -> Option<Contact> {
    let near_ground = |t: f64| {
        let level = last_known(&signals.altitude, t, 60.0);
        let radio = signals.radio.held(t);
        level.is_none_or(|ft| ft - low_ft <= CONTACT_BAND_FT)
            && radio.is_none_or(|ft| ft <= RADIO_ON_GROUND_FT)
    };
    let switch = switch_contact(&signals.on_ground, from_s, to_s, near_ground);
    let radio = radio_contact(&signals.radio, from_s, to_s);
    let first = match (switch, radio) {
        (Some(s), Some(r)) if r.time_s < s.time_s => r,
        (Some(s), _) => s,
        (None, Some(r)) => r,
        (None, None) => slow_contact(signals, from_s, to_s, low_ft)?,
    };
    Some(jolt(&signals.normal_accel, &signals.radio, first).unwrap_or(first))
}

/// First ground sample that the next one confirms, or that ends the record.
fn switch_contact(
    on_ground: &Series,
    from_s: f64,
    to_s: f64,
    near_ground: impl Fn(f64) -> bool,
) -> Option<Contact> {
    let (first, end) = (on_ground.from(from_s), on_ground.upto(to_s));
    (first..end).find_map(|i| {
        let t = on_ground.time_s[i];
        let confirmed = on_ground.value.get(i + 1).is_none_or(|&next| next == 1.0);
        if on_ground.value[i] != 1.0 || !confirmed || !near_ground(t) {
            return None;
        }
        let open_s = match i.checked_sub(1) {
            Some(before) => t - on_ground.time_s[before],
            None => on_ground.interval_s,
        };
        Some(Contact {
            time_s: t,
            open_s,
            evidence: Evidence::Switch,
        })
    })
}

/// Radio altitude comes down to zero; the moment lies between two samples.
fn radio_contact(radio: &Series, from_s: f64, to_s: f64) -> Option<Contact> {
    let (first, end) = (radio.from(from_s), radio.upto(to_s));
    (first.max(1)..end).find_map(|i| {
        let (a, b) = (radio.value[i - 1], radio.value[i]);
        let step_s = radio.time_s[i] - radio.time_s[i - 1];
        if !(a > 0.0 && b <= 0.0 && a <= RADIO_ON_GROUND_FT && step_s <= radio.gap_s()) {
            return None;
        }
        Some(Contact {
            time_s: radio.time_s[i - 1] + step_s * a / (a - b),
            open_s: step_s,
            evidence: Evidence::Radio,
        })
    })
}

/// Below flying speed: on the ground since altitude first reached its lowest level.
fn slow_contact(signals: &Signals, from_s: f64, to_s: f64, low_ft: f64) -> Option<Contact> {
    let (slow_s, _) = signals
        .ground_speed
        .between(from_s, to_s)
        .find(|&(t, kt)| kt < ROLL_END_KT && signals.ground_speed.held(t).is_some())?;
    let level_ft = low_ft + CONTACT_BAND_FT / 5.0;
    let (level_s, _) = signals
        .altitude
        .between(from_s, slow_s)
        .find(|&(_, ft)| ft <= level_ft)?;
    Some(Contact {
        time_s: level_s,
        open_s: slow_s - level_s,
        evidence: Evidence::Slow,
    })
}

/// The jolt shortly before the switch or the radio altimeter noticed, where it was felt.
fn jolt(accel: &Series, radio: &Series, first: Contact) -> Option<Contact> {
    if first.evidence == Evidence::Slow || accel.interval_s > PEAK_INTERVAL_S || accel.is_empty() {
        return None;
    }
    let (from_s, to_s) = (
        first.time_s - 3.0 * SWITCH_LAG_S,
        first.time_s - SWITCH_LAG_S,
    );
    let usual = median(accel.between(from_s, to_s).map(|s| s.1).collect());
    let rough = median(
        accel
            .between(from_s, to_s)
            .map(|s| (s.1 - usual).abs())
            .collect(),
    );
    // 1.48 medians of the deviation are a standard deviation where it is normal.
    let jolt_g = JOLT_G.max(JOLT_OVER_TURBULENCE * 1.48 * rough);
    let (time_s, _) = accel
        .between(first.time_s - SWITCH_LAG_S, first.time_s)
        .find(|&(t, g)| {
            g >= usual + jolt_g && radio.held(t).is_none_or(|ft| ft <= JOLT_RADIO_FT)
        })?;
    let earlier = time_s < first.time_s;
    earlier.then_some(Contact {
        time_s,
        open_s: accel.interval_s,
        evidence: Evidence::Jolt,
    })
}

/// Highest normal acceleration of the touchdown; none where sampling is too slow to have seen it, or
/// a hole may have swallowed it.
pub(crate) fn touchdown_g(accel: &Series, contact: Contact) -> Option<f64> {
    if contact.evidence == Evidence::Slow || accel.interval_s > PEAK_INTERVAL_S {
        return None;
    }
    let from_s = contact.time_s - contact.open_s.max(1.0);
    let to_s = contact.time_s + PEAK_AFTER_S;
    let known: Vec<f64> = accel.between(from_s, to_s).map(|s| s.0).collect();
    let whole = known
        .windows(2)
        .all(|pair| pair[1] - pair[0] <= accel.gap_s());
    let begins = known.first().is_some_and(|t| t - from_s <= accel.gap_s());
    if !whole || !begins {
        return None;
    }
    accel
        .between(contact.time_s - 1.0, to_s)
        .map(|s| s.1)
        .reduce(f64::max)
}

/// Way over ground in the time that is open around the contact.
///
/// Where the receiver repeated itself up to the contact, the last message that was new bounds it:
/// such a switch speaks late.
pub(crate) fn uncertainty_ft(signals: &Signals, contact: Contact) -> Option<f64> {
    let speed_kt = last_known(&signals.ground_speed, contact.time_s, 120.0)?;
    let speed = &signals.ground_speed;
    let last_fix = signals.track.last_before(contact.time_s).map(|f| f.time_s);
    let last_speed = speed
        .upto(contact.time_s)
        .checked_sub(1)
        .map(|i| speed.time_s[i]);
    let silent_s = [last_fix, last_speed]
        .into_iter()
        .flatten()
        .map(|t| contact.time_s - t)
        .fold(0.0, f64::max);
    Some(speed_kt * M_S_PER_KT / M_PER_FT * contact.open_s.max(silent_s))
}

/// The last known value, however old up to `oldest_s`.
pub(crate) fn last_known(series: &Series, t: f64, oldest_s: f64) -> Option<f64> {
    let i = series.upto(t).checked_sub(1)?;
    (t - series.time_s[i] <= oldest_s).then(|| series.value[i])
}
