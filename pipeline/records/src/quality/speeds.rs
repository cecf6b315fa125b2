//! Airspeed and ground speed that stand while the triangle of wind says that they moved.
//!
//! What is recorded apart from the channel at hand gives another view of it: ground speed, track and
//! wind tell the airspeed; airspeed, heading and wind the speed over ground. Only how much these move
//! is used, never what they say.

use crate::atmosphere::tas_kt;
use crate::flight::RawFlight;
use crate::series::Series;

use super::Tallies;
use super::limits::{SPEED_DRIFT_KT_S, SPEED_HELD_S, WIND_AIR_KT, WIND_GROUND_KT};
use super::runs::Run;
use super::settable::Limits;
use super::stuck::stretch;

/// Nulls speeds that stand while another view of them moves.
pub(super) fn remove(flight: &mut RawFlight, limits: &Limits, tallies: &mut Tallies) {
    let views = Views::of(flight);
    let recorded = |speed: &Series, run: &Run| {
        let kt: Vec<f64> = samples(speed, run).map(|s| s.1).collect();
        moved(&kt)
    };
    let through_air = |run: &Run| moved(&views.through_air(run));
    let over_ground = |run: &Run| moved(&views.over_ground(run));
    let mut check = |name: &str, least_kt: f64, moved: &dyn Fn(&Run, f64) -> bool| {
        stretch(flight, limits, tallies, name, SPEED_HELD_S, |run| {
            moved(run, least_kt + SPEED_DRIFT_KT_S * run.held_s())
        });
    };
    check("cas_kt", WIND_AIR_KT, &|run, limit_kt| {
        recorded(&views.tas, run) >= limit_kt || through_air(run) >= limit_kt
    });
    check("tas_kt", WIND_AIR_KT, &|run, limit_kt| {
        recorded(&views.cas, run) >= limit_kt || through_air(run) >= limit_kt
    });
    check("ground_speed_kt", WIND_GROUND_KT, &|run, limit_kt| {
        over_ground(run) >= limit_kt
    });
}

fn series(flight: &RawFlight, name: &str) -> Series {
    Series::of(flight.channels.get(name).filter(|c| !c.holds))
}

/// Samples inside a run.
fn samples<'a>(series: &'a Series, run: &Run) -> impl Iterator<Item = (f64, f64)> + use<'a> {
    series.between(run.from_s, run.to_s)
}

/// What speeds are seen by, as it was before any of them lost a sample.
struct Views {
    cas: Series,
    tas: Series,
    altitude: Series,
    ground_speed: Series,
    track: Series,
    heading: Series,
    wind: Series,
    wind_from: Series,
}

impl Views {
    fn of(flight: &RawFlight) -> Self {
        Self {
            cas: series(flight, "cas_kt"),
            tas: series(flight, "tas_kt"),
            altitude: series(flight, "pressure_altitude_ft"),
            ground_speed: series(flight, "ground_speed_kt"),
            track: series(flight, "track_true_deg"),
            heading: series(flight, "heading_true_deg"),
            wind: series(flight, "wind_speed_kt"),
            wind_from: series(flight, "wind_from_deg"),
        }
    }

    /// Airspeed that ground speed and wind make, with the track, or with the heading where no track is
    /// recorded; of the samples of a run.
    fn through_air(&self, run: &Run) -> Vec<f64> {
        let by_track = !self.track.is_empty();
        let angle = if by_track { &self.track } else { &self.heading };
        let through_air = |(t, kt): (f64, f64)| {
            let (ahead, aside) = self.wind_along(angle, t)?;
            Some(if by_track {
                (kt + ahead).hypot(aside)
            } else {
                ahead + (kt * kt - aside * aside).max(0.0).sqrt()
            })
        };
        samples(&self.ground_speed, run)
            .filter_map(through_air)
            .collect()
    }

    /// Ground speed that airspeed and wind make: true airspeed as recorded, else from airspeed and altitude in
    /// standard air.
    fn over_ground(&self, run: &Run) -> Vec<f64> {
        let recorded = !self.tas.is_empty();
        let speed = if recorded { &self.tas } else { &self.cas };
        let over_ground = |(t, kt): (f64, f64)| {
            let tas_kt = match recorded {
                true => kt,
                false => tas_kt(kt, self.altitude.held(t)?, 0.0),
            };
            let (ahead, aside) = self.wind_along(&self.heading, t)?;
            Some((tas_kt - ahead).hypot(aside))
        };
        samples(speed, run).filter_map(over_ground).collect()
    }

    /// Wind from ahead of an angle, and from the side of it.
    fn wind_along(&self, angle: &Series, t: f64) -> Option<(f64, f64)> {
        let off = (self.wind_from.held(t)? - angle.held(t)?).to_radians();
        let (aside, ahead) = off.sin_cos();
        let wind_kt = self.wind.held(t)?;
        Some((wind_kt * ahead, wind_kt * aside))
    }
}

/// How far apart begin, middle and end of a stretch are, each a mean of three: single gusts do not
/// count.
fn moved(kt: &[f64]) -> f64 {
    if kt.len() < 6 {
        return 0.0;
    }
    let last = kt.len() - 3;
    let means = [0, last / 2, last].map(|at| kt[at..at + 3].iter().sum::<f64>() / 3.0);
    let high = means.iter().copied().fold(f64::MIN, f64::max);
    high - means.iter().copied().fold(f64::MAX, f64::min)
}
