//! A whole channel that another one contradicts: mapped with a wrong unit, scale or sign.
//!
//! Vertical speed is compared with the slope of pressure altitude, ground speed with the movement of the
//! position, over windows so long that lags and steps of the recorder average out. A channel that is
//! elsewhere for the whole flight is refused: all of it becomes unknown, and nothing is scaled right.
//!
//! It goes before every other check: a value in the wrong unit is often out of the plausible range too,
//! and what then is left of the channel looks true.

mod moments;

use crate::airfield::rough_distance_nm;
use crate::catalogue::Catalogue;
use crate::flight::RawFlight;
use crate::series::{Series, median};

use super::Tallies;
use super::limits::{ALTITUDE_RATE_FT_S, POSITION_SPEED_KT};
use moments::{Moment, Windows, change, mean, plausible, readings};

/// With fewer moments nothing is said: damage of a minute or two must not decide. Judgement.
const LEAST_MOMENTS: usize = 6;
/// Radio altitude speaks in the last two or three minutes only. Judgement.
const LEAST_RADIO_MOMENTS: usize = 4;

/// A climb or descent this fast is clear of drift and of turbulence. Judgement.
const CLEAR_FPM: f64 = 300.0;
/// Largest ratio between vertical speed and the slope of a height, either way. Pressure heights are off
/// by as much as the air's absolute temperature is, a fifth on the coldest days; the smallest mistakes
/// of a map are a factor of two (a scale off by one bit) and 3.3 (feet and metres). Judgement between the two.
const VERTICAL_RATIO: f64 = 1.5;
/// Share of the moments in which climb must be climb: a speed without its sign is right in climbs only.
/// Judgement.
const SIGNS: f64 = 0.75;

/// Movement this fast is flight, kt. Judgement.
const CLEAR_KT: f64 = 60.0;
/// Largest ratio between ground speed and movement, either way. A turn at 3° a second shortens the straight
/// line of a window by a tenth; kilometres for knots make 1.85. Judgement between the two; statute miles,
/// 1.15, pass.
const GROUND_RATIO: f64 = 1.3;

/// Makes whole channels unknown that their witness contradicts all through the flight.
pub(super) fn refuse(flight: &mut RawFlight, catalogue: &Catalogue, tallies: &mut Tallies) {
    if let Some((name, reason)) = vertical(flight, catalogue) {
        take(flight, tallies, name, reason);
    }
    if let Some(reason) = over_ground(flight, catalogue) {
        take(flight, tallies, "ground_speed_kt", reason);
    }
}

fn take(flight: &mut RawFlight, tallies: &mut Tallies, name: &str, reason: String) {
    if let Some(channel) = flight.channels.get_mut(name) {
        channel.value.fill(f64::NAN);
        tallies.entry(name.to_owned()).or_default().refused = Some(reason);
    }
}

/// How often a channel is compared with its witness, and what comes of it.
struct Verdict {
    count: usize,
    ratio: f64,
    same_sign: f64,
    most: f64,
}

impl Verdict {
    fn of(moments: &[Moment], most: f64) -> Self {
        let alike = moments.iter().filter(|m| m.said * m.seen > 0.0).count();
        Self {
            count: moments.len(),
            ratio: median(moments.iter().map(|m| m.said / m.seen).collect()),
            same_sign: alike as f64 / moments.len() as f64,
            most,
        }
    }

    /// Whether both say the same; false where there is nothing to compare.
    fn agrees(&self) -> bool {
        (1.0 / self.most..=self.most).contains(&self.ratio) && self.same_sign >= SIGNS
    }

    fn contradicts(&self, least: usize) -> bool {
        self.count >= least && !self.agrees()
    }

    fn reason(&self, witness: &str) -> String {
        let Self { ratio, most, .. } = self;
        let decimals = match ratio.abs() {
            r if r >= 10.0 => 0,
            r if r >= 0.1 => 2,
            _ => 4,
        };
        format!(
            "refused: {ratio:.decimals$} times the {witness}, expected {:.2} to {most:.2}; same sign in \
             {:.0} % of {} moments; check unit, scale and sign of both in the parameter map",
            1.0 / most,
            100.0 * self.same_sign,
            self.count
        )
    }
}

/// Which of vertical speed and pressure altitude is refused, and why. Where radio altitude goes with
/// vertical speed and not with pressure altitude, it is the altitude.
fn vertical(flight: &RawFlight, catalogue: &Catalogue) -> Option<(&'static str, String)> {
    let speed = readings(flight, catalogue, "vertical_speed_fpm");
    let pressure = plausible(flight, catalogue, "pressure_altitude_ft");
    let said = |from_s: f64, to_s: f64| mean(&speed, from_s, to_s);
    let verdict = Verdict::of(&climbs(&speed, said, &pressure), VERTICAL_RATIO);
    if !verdict.contradicts(LEAST_MOMENTS) {
        return None;
    }
    let radio = plausible(flight, catalogue, "radio_altitude_ft");
    let third = Verdict::of(&climbs(&speed, said, &radio), VERTICAL_RATIO);
    let slope = |from_s: f64, to_s: f64| slope_fpm(&pressure, from_s, to_s);
    let altitude = Verdict::of(&climbs(&speed, slope, &radio), VERTICAL_RATIO);
    let outvoted = third.count >= LEAST_RADIO_MOMENTS
        && third.agrees()
        && altitude.contradicts(LEAST_RADIO_MOMENTS);
    Some(if outvoted {
        let witness = "slope of radio altitude, with which vertical speed agrees";
        ("pressure_altitude_ft", altitude.reason(witness))
    } else {
        let witness = "slope of pressure altitude";
        ("vertical_speed_fpm", verdict.reason(witness))
    })
}

/// What is said, and the slope of a height, ft/min, wherever that clearly climbs or descends.
fn climbs(speed: &Series, said: impl Fn(f64, f64) -> Option<f64>, height: &Series) -> Vec<Moment> {
    let windows = Windows::of(&[&height.value], CLEAR_FPM / 60.0);
    windows.moments(speed, said, |from_s, to_s| {
        let ft = change(height, from_s, to_s)?.abs();
        let flown = (windows.least..=ALTITUDE_RATE_FT_S * windows.window_s).contains(&ft);
        slope_fpm(height, from_s, to_s).filter(|_| flown)
    })
}

fn slope_fpm(height: &Series, from_s: f64, to_s: f64) -> Option<f64> {
    Some(change(height, from_s, to_s)? * 60.0 / (to_s - from_s))
}

/// Why ground speed is refused.
fn over_ground(flight: &RawFlight, catalogue: &Catalogue) -> Option<String> {
    let speed = readings(flight, catalogue, "ground_speed_kt");
    let latitude = plausible(flight, catalogue, "latitude_deg");
    let longitude = plausible(flight, catalogue, "longitude_deg");
    // A degree is 60 NM; one of longitude less.
    let places: [&[f64]; 2] = [&latitude.value, &longitude.value];
    let windows = Windows::of(&places, CLEAR_KT / 3600.0 / 60.0);
    // Between the two samples at which longitude leaps by 360° the place is wrong: one window of many.
    let at = |t: f64| Some((latitude.linear(t)?, longitude.linear(t)?));
    // A speed that stands may be stuck, which other checks find sample by sample.
    let said = |from_s: f64, to_s: f64| {
        mean(&speed, from_s, to_s).filter(|_| speed.holds || moves(&speed, from_s, to_s))
    };
    let moments = windows.moments(&speed, said, |from_s, to_s| {
        at(0.5 * (from_s + to_s))?;
        let nm = rough_distance_nm(at(from_s)?, at(to_s)?);
        let flown =
            (60.0 * windows.least..=POSITION_SPEED_KT / 3600.0 * windows.window_s).contains(&nm);
        flown.then_some(nm * 3600.0 / windows.window_s)
    });
    let verdict = Verdict::of(&moments, GROUND_RATIO);
    let contradicted = verdict.contradicts(LEAST_MOMENTS);
    contradicted.then(|| verdict.reason("movement of the position"))
}

/// Whether two known values of a window differ.
fn moves(series: &Series, from_s: f64, to_s: f64) -> bool {
    let values: Vec<f64> = series.between(from_s, to_s).map(|s| s.1).collect();
    values.windows(2).any(|pair| pair[0] != pair[1])
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may fail where it stands")]
mod tests;
