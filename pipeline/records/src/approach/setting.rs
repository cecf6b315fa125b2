//! What else tells where height zero is, to check a pressure setting against.
//!
//! A setting comes from a list, typed or copied; one that is 10 hPa off moves every height by 270 ft
//! and looks like any other. Radio altitude over the runway is a height of its own, and so is the
//! glide path while it is followed. The first is good enough to take its place, the second only to
//! doubt it: path angle and crossing height come from a table too.

use crate::airfield::{Landed, path_height_ft};
use crate::atmosphere::{FT_PER_NM, isa_temperature_k, pressure_altitude_from_qnh_ft};
use crate::series::{Series, median};

use super::heights::{Level, QNH_ERROR_FT, slope_ft};
use super::outcome::Arrival;
use super::signals::Signals;

/// Half a wide runway and the position error.
const PAVEMENT_NM: f64 = 0.04;
/// The runway is flown over within this of the low point.
const OVER_RUNWAY_S: f64 = 180.0;
/// Higher up radio altimeters err by more than a setting does.
const RADIO_FT: f64 = 1_200.0;
/// Error of a radio altimeter as a share of the height, and at the least.
const RADIO_SHARE: f64 = 0.04;
const RADIO_ERROR_FT: f64 = 10.0;
/// Where the air's temperature is not known, pressure height errs by this share on top.
const TEMPERATURE_SHARE: f64 = 0.05;
/// Fewer samples make no median.
const RADIO_SAMPLES: usize = 3;
const PATH_SAMPLES: usize = 15;
/// Path and position are compared on this stretch: farther out the beam is wide, closer in the
/// antennas' own places count.
const PATH_NM: std::ops::Range<f64> = 1.2..5.0;
/// On the centreline, and close to the path.
const PATH_OFFSET_NM: f64 = 0.15;
const PATH_DOTS: f64 = 1.2;
/// Standard error of a level from the path: the table's angle, antennas, needle.
const PATH_ERROR_FT: f64 = 25.0;
/// Two levels contradict each other beyond this many of their joint standard errors.
const CONTRADICTION: f64 = 3.0;

/// A level of the threshold from another source than pressure settings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Witness {
    pub(crate) level: Level,
    /// In words, for the note.
    pub(crate) what: &'static str,
    /// Whether it may give the heights itself.
    pub(crate) serves: bool,
}

impl Witness {
    /// Whether it contradicts a setting that puts the threshold at this pressure altitude.
    pub(crate) fn contradicts(&self, zero_ft: f64) -> bool {
        let error_ft = self.level.uncertainty_ft.hypot(QNH_ERROR_FT);
        (zero_ft - self.level.zero_ft).abs() > CONTRADICTION * error_ft
    }
}

/// The best witness of one approach.
pub(crate) fn witness(
    signals: &Signals,
    arrival: &Arrival,
    landed: &Landed<'_>,
) -> Option<Witness> {
    over_runway(signals, arrival, landed).or_else(|| on_path(signals, arrival, landed))
}

/// Radio altitude over the pavement, the lower half of the samples: low down it errs least.
fn over_runway(signals: &Signals, arrival: &Arrival, landed: &Landed<'_>) -> Option<Witness> {
    let low = &arrival.low;
    let (from_s, to_s) = (low.near_s, low.low_s + OVER_RUNWAY_S);
    let mut levels: Vec<(f64, f64)> = signals
        .radio
        .between(from_s, to_s)
        .filter(|s| (0.0..=RADIO_FT).contains(&s.1))
        .filter_map(|(t, radio_ft)| {
            let fix = signals.track.at(t)?;
            let (along, offset) = landed.frame.place(fix.latitude_deg, fix.longitude_deg);
            let over = offset.abs() <= PAVEMENT_NM
                && (-landed.end.length_ft / FT_PER_NM..=0.0).contains(&along);
            let altitude_ft = signals.altitude.linear(t).filter(|_| over)?;
            let height_ft = radio_ft * pressure_share(&signals.temperature, t, altitude_ft);
            Some((radio_ft, altitude_ft - height_ft - slope_ft(landed, along)))
        })
        .collect();
    levels.sort_by(|a, b| a.0.total_cmp(&b.0));
    levels.truncate(levels.len().div_ceil(2).max(RADIO_SAMPLES));
    if levels.len() < RADIO_SAMPLES {
        return None;
    }
    let radio_ft = median(levels.iter().map(|l| l.0).collect());
    let mut share = RADIO_SHARE;
    if signals.temperature.is_empty() {
        share += TEMPERATURE_SHARE;
    }
    Some(Witness {
        level: Level {
            zero_ft: median(levels.iter().map(|l| l.1).collect()),
            source: "radio_altitude",
            uncertainty_ft: RADIO_ERROR_FT.hypot(share * radio_ft),
        },
        what: "radio altitude over the runway",
        serves: true,
    })
}

/// The height of the glide path, and of the aircraft in it, against pressure altitude.
fn on_path(signals: &Signals, arrival: &Arrival, landed: &Landed<'_>) -> Option<Witness> {
    let end = landed.end;
    let from_s = landed.aligned_from_s?;
    let levels: Vec<f64> = signals
        .glide_path
        .between(from_s, arrival.low.low_s)
        .filter(|s| s.1.abs() <= PATH_DOTS)
        .filter_map(|(t, dots)| {
            let fix = signals.track.at(t)?;
            let (along, offset) = landed.frame.place(fix.latitude_deg, fix.longitude_deg);
            let altitude_ft = signals.altitude.linear(t)?;
            if !PATH_NM.contains(&along) || offset.abs() > PATH_OFFSET_NM {
                return None;
            }
            let height_ft = path_height_ft(end, along, dots);
            let share = pressure_share(&signals.temperature, t, altitude_ft);
            Some(altitude_ft - height_ft * share)
        })
        .collect();
    if levels.len() < PATH_SAMPLES {
        return None;
    }
    let unsure = if signals.temperature.is_empty() {
        TEMPERATURE_SHARE * PATH_NM.end * 0.5 * FT_PER_NM * end.glide_path_deg.to_radians().tan()
    } else {
        0.0
    };
    Some(Witness {
        level: Level {
            zero_ft: median(levels),
            source: "none",
            uncertainty_ft: PATH_ERROR_FT.hypot(unsure),
        },
        what: "the glide path that was followed",
        serves: false,
    })
}

/// Pressure height per true height: standard over actual temperature; 1 where it is not known.
fn pressure_share(temperature: &Series, t: f64, altitude_ft: f64) -> f64 {
    temperature
        .held(t)
        .map_or(1.0, |c| isa_temperature_k(altitude_ft) / (c + 273.15))
}

/// What a flight list's setting contradicts, in words; none where nothing speaks against it.
pub(crate) fn contradiction(
    signals: &Signals,
    arrivals: &[Arrival],
    landed: &[Option<Landed<'_>>],
    levels: &[Option<Level>],
) -> Option<String> {
    let listed_hpa = signals.header_qnh_hpa()?;
    arrivals.iter().zip(landed).zip(levels).find_map(|((arrival, landed), level)| {
        let landed = landed.as_ref()?;
        let zero_ft = pressure_altitude_from_qnh_ft(landed.end.elevation_ft, listed_hpa);
        let by_landing = level
            .filter(|level| matches!(level.source, "landing_roll" | "last_altitudes"))
            .map(|level| Witness {
                level,
                what: "the landing",
                serves: true,
            });
        let witness = by_landing.or_else(|| witness(signals, arrival, landed))?;
        witness.contradicts(zero_ft).then(|| {
            format!(
                "the flight list's {listed_hpa} hPa contradicts {} by {:.0} ft: not used for heights",
                witness.what,
                (zero_ft - witness.level.zero_ft).abs()
            )
        })
    })
}
