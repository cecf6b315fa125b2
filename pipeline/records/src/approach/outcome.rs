//! What became of an approach.

use crate::series::Series;

use super::contact::{Contact, ROLL_END_KT, last_known};
use super::low_points::{Ending, LowPoint};
use super::signals::Signals;

/// Airborne again means above this …
const AIRBORNE_FT: f64 = 60.0;
/// … for this long: air/ground switches flicker for minutes, and bounces stay below.
const AIRBORNE_S: f64 = 5.0;
/// A later take-off is another flight: a touched go-around rolls for seconds, not minutes.
const RESTART_S: f64 = 300.0;

/// The outcomes of an approach.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Outcome {
    Landing,
    LandingUnseen,
    GoAround,
    GoAroundTouched,
    TouchAndGo,
    Incomplete,
}

impl Outcome {
    pub(crate) fn as_str(self) -> &'static str {
        match self {
            Self::Landing => "landing",
            Self::LandingUnseen => "landing_unseen",
            Self::GoAround => "go_around",
            Self::GoAroundTouched => "go_around_touched",
            Self::TouchAndGo => "touch_and_go",
            Self::Incomplete => "incomplete",
        }
    }

    /// Whether it ended on a runway for good.
    pub(crate) fn landed(self) -> bool {
        matches!(self, Self::Landing | Self::LandingUnseen)
    }

    /// Whether it left again.
    pub(crate) fn went_around(self) -> bool {
        matches!(
            self,
            Self::GoAround | Self::GoAroundTouched | Self::TouchAndGo
        )
    }
}

/// A low point with what became of it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Arrival {
    pub(crate) low: LowPoint,
    pub(crate) outcome: Outcome,
}

/// The outcome of every low point.
pub(crate) fn arrivals(signals: &Signals, lows: Vec<LowPoint>, training: bool) -> Vec<Arrival> {
    lows.into_iter()
        .map(|low| Arrival {
            outcome: outcome(signals, &low, training),
            low,
        })
        .collect()
}

fn outcome(signals: &Signals, low: &LowPoint, training: bool) -> Outcome {
    match (low.contact, low.ending) {
        (Some(contact), _) => match airborne_again_s(signals, low, contact) {
            Some(t) if !stopped(&signals.ground_speed, contact, t) => {
                if training {
                    Outcome::TouchAndGo
                } else {
                    Outcome::GoAroundTouched
                }
            }
            // After contact a record that never leaves is a landing.
            _ => Outcome::Landing,
        },
        (None, Ending::Climb) => Outcome::GoAround,
        (None, Ending::Record) => Outcome::LandingUnseen,
        (None, Ending::CutShort) => Outcome::Incomplete,
    }
}

/// Whether the roll ended between contact and the next take-off.
fn stopped(ground_speed: &Series, contact: Contact, until_s: f64) -> bool {
    ground_speed
        .between(contact.time_s, until_s)
        .any(|s| s.1 < ROLL_END_KT)
}

/// First moment after contact from which a known height stays above 60 ft for 5 s.
fn airborne_again_s(signals: &Signals, low: &LowPoint, contact: Contact) -> Option<f64> {
    let by_radio = stays_above(&signals.radio, contact.time_s, AIRBORNE_FT, |_| true);
    if !signals.radio.is_empty() {
        return by_radio;
    }
    let level_ft = last_known(&signals.altitude, contact.time_s, 60.0).unwrap_or(low.low_ft);
    // Aprons lie higher than runways: with a switch that says ground, that is no flight.
    let in_air = |t: f64| signals.on_ground.held(t) != Some(1.0);
    stays_above(
        &signals.altitude,
        contact.time_s,
        level_ft + AIRBORNE_FT,
        in_air,
    )
}

fn stays_above(
    series: &Series,
    from_s: f64,
    level: f64,
    in_air: impl Fn(f64) -> bool,
) -> Option<f64> {
    let mut since: Option<f64> = None;
    for (t, value) in series.between(from_s, from_s + RESTART_S) {
        if value > level && in_air(t) {
            let start = *since.get_or_insert(t);
            if t - start >= AIRBORNE_S {
                return Some(start);
            }
        } else {
            since = None;
        }
    }
    None
}
