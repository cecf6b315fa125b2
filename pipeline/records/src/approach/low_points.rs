//! Low points of a flight: where an approach came down to.

use crate::airfield::rough_distance_nm;
use crate::atmosphere::pressure_altitude_from_qnh_ft;
use crate::fleet::Runways;

use super::contact::{Contact, LANDING_SPEED_MAX_KT, first_contact};
use super::signals::Signals;
use super::turns::lows;

/// A low point is reached by a descent of at least this.
const DESCENT_FT: f64 = 1_000.0;
/// A climb of this ends it.
const CLIMB_FT: f64 = 500.0;
/// A low point lies below this above the lowest altitude nearby.
const LOW_FT: f64 = 2_500.0;
/// A record that ends in the air below this is taken to have landed.
const UNSEEN_FT: f64 = 300.0;
/// "Nearby" in time: a missed approach returns within this.
const NEARBY_S: f64 = 1_800.0;
/// "Nearby" in place: an approach that is broken off is within this of its airport.
const AIRPORT_NM: f64 = 10.0;
/// Pressure altitude and elevation differ by up to this at the extremes of QNH.
const QNH_SLACK_FT: f64 = 1_000.0;
/// On a 3° path the last 300 ft begin a mile before the threshold.
const UNSEEN_NM: f64 = 1.0;
/// Contact is looked for while the aircraft is within this of its lowest altitude.
const CONTACT_WINDOW_FT: f64 = 300.0;

/// How a low point ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Ending {
    /// With a climb of at least 500 ft, contact or not.
    Climb,
    /// With the record, close to the ground or on it.
    Record,
    /// With the record, still well above the ground.
    CutShort,
}

/// One low point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct LowPoint {
    /// Time of the lowest altitude; the first of equals.
    pub(crate) low_s: f64,
    /// The lowest pressure altitude.
    pub(crate) low_ft: f64,
    /// The search for the start of the approach may go back to here.
    pub(crate) since_s: f64,
    /// Last descent through 300 ft above the lowest altitude.
    pub(crate) near_s: f64,
    /// The low point is over: 300 ft above it again, or the record ends.
    pub(crate) left_s: f64,
    /// First contact with the ground.
    pub(crate) contact: Option<Contact>,
    /// How it ended.
    pub(crate) ending: Ending,
}

/// All low points in time order.
pub(crate) fn low_points(signals: &Signals, runways: &Runways) -> Vec<LowPoint> {
    let altitude = &signals.altitude;
    let mut found = Vec::new();
    let mut since_s = altitude.time_s.first().copied().unwrap_or_default();
    for turn in lows(altitude, CLIMB_FT) {
        let low_ft = altitude.value[turn.low];
        let low_s = altitude.time_s[turn.low];
        let descent_ft = altitude.value[turn.high] - low_ft;
        let band_ft = low_ft + CONTACT_WINDOW_FT;
        let near = (turn.high..turn.low)
            .rev()
            .find(|&i| altitude.value[i] > band_ft);
        let near_s = near.map_or(low_s, |i| altitude.time_s[i]);
        let left = (turn.low..altitude.len()).find(|&i| altitude.value[i] > band_ft);
        let left_s = left.map_or(signals.end_s(), |i| altitude.time_s[i]);
        // The switch may speak after the last altitude: surveillance sends none from the ground.
        let search_to_s = if left.is_some() {
            left_s
        } else {
            f64::INFINITY
        };
        let contact = first_contact(signals, near_s, search_to_s, low_ft);
        let place = Place {
            signals,
            runways,
            qnh_hpa: signals.qnh_hpa(low_s),
            low_s,
            low_ft,
        };
        let ending = match (contact, turn.climbed) {
            (_, Some(_)) => Ending::Climb,
            (Some(_), None) => Ending::Record,
            (None, None) if place.ends_low() => Ending::Record,
            (None, None) => Ending::CutShort,
        };
        let low = contact.is_some() || place.is_low();
        if descent_ft >= DESCENT_FT && low {
            found.push(LowPoint {
                low_s,
                low_ft,
                since_s,
                near_s,
                left_s,
                contact,
                ending,
            });
            since_s = left_s;
        } else if contact.is_some() {
            // A stop on the ground without a descent before it still separates two flights.
            since_s = left_s;
        }
    }
    found
}

/// What is known about height at one low point before any height exists.
struct Place<'a> {
    signals: &'a Signals,
    runways: &'a Runways,
    qnh_hpa: Option<f64>,
    low_s: f64,
    low_ft: f64,
}

impl Place<'_> {
    /// Below 2,500 ft above the lowest altitude nearby, and that lowest was itself near a ground:
    /// by radio altitude, else by the airport below, else by the lowest of the whole record.
    /// A step down in cruise passes the first test, never the second.
    fn is_low(&self) -> bool {
        let nearby = self
            .signals
            .altitude
            .between(self.low_s - NEARBY_S, self.low_s + NEARBY_S)
            .map(|s| s.1)
            .fold(f64::INFINITY, f64::min);
        if self.low_ft - nearby >= LOW_FT {
            return false;
        }
        if let Some(radio_ft) = self.signals.radio.held(self.low_s) {
            return radio_ft < LOW_FT;
        }
        if let Some(height_ft) = self.over_airport_ft(AIRPORT_NM) {
            return height_ft < LOW_FT + self.slack_ft();
        }
        self.low_ft - self.lowest_ft() < LOW_FT
    }

    /// The record ends here below 300 ft, by the best evidence there is.
    fn ends_low(&self) -> bool {
        let slow = |t: f64| {
            self.signals
                .speed_kt(t)
                .is_none_or(|kt| kt < LANDING_SPEED_MAX_KT)
        };
        if !slow(self.low_s) {
            return false;
        }
        if let Some(radio_ft) = self.signals.radio.held(self.low_s) {
            return radio_ft < UNSEEN_FT;
        }
        if let Some(height_ft) = self.over_airport_ft(UNSEEN_NM) {
            return height_ft < UNSEEN_FT + self.slack_ft();
        }
        if let Some(height_ft) = self.over_airport_ft(AIRPORT_NM) {
            return self.qnh_hpa.is_some() && height_ft < UNSEEN_FT;
        }
        // Away from every airport of the table a record ends somewhere on the way: that it is the
        // lowest there only says that the aircraft was descending.
        if self.nearest().is_some() {
            return false;
        }
        self.low_ft - self.lowest_ft() < UNSEEN_FT
    }

    fn slack_ft(&self) -> f64 {
        if self.qnh_hpa.is_some() {
            0.0
        } else {
            QNH_SLACK_FT
        }
    }

    /// Distance and elevation of the nearest runway; none without a position or a table.
    fn nearest(&self) -> Option<(f64, f64)> {
        let fix = self.signals.track.last_before(self.low_s)?;
        if self.low_s - fix.time_s > 60.0 {
            return None;
        }
        let here = (fix.latitude_deg, fix.longitude_deg);
        self.runways
            .ends
            .iter()
            .map(|end| {
                let there = (end.latitude_deg, end.longitude_deg);
                (rough_distance_nm(here, there), end.elevation_ft)
            })
            .min_by(|a, b| a.0.total_cmp(&b.0))
    }

    fn lowest_ft(&self) -> f64 {
        self.signals
            .altitude
            .value
            .iter()
            .copied()
            .fold(f64::INFINITY, f64::min)
    }

    /// Height above the nearest runway within `within_nm` of the low point, on the QNH scale
    /// where QNH is known.
    fn over_airport_ft(&self, within_nm: f64) -> Option<f64> {
        let (distance_nm, elevation_ft) = self.nearest()?;
        let level_ft = match self.qnh_hpa {
            Some(qnh) => pressure_altitude_from_qnh_ft(elevation_ft, qnh),
            None => elevation_ft,
        };
        (distance_nm <= within_nm).then_some(self.low_ft - level_ft)
    }
}
