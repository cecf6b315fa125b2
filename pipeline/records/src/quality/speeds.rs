//! Airspeed and ground speed that stand while the triangle of wind says that they moved.
//!
//! What is recorded apart from the channel at hand gives another view of it: ground speed, track and
//! wind tell the airspeed; airspeed, heading and wind the speed over ground. Only how much these move
//! is used, never what they say.

use crate::atmosphere::tas_kt;
use crate::flight::RawFlight;
use crate::series::{Series, pairs_of};

use super::Tallies;
use super::limits::{SPEED_DRIFT_KT_S, SPEED_HELD_S, WIND_AIR_KT, WIND_GROUND_KT};
use super::runs::{Run, Steps, runs_of};
use super::settable::Limits;
use super::stuck::stretch;

/// Nulls speeds that stand while another view of them moves.
pub(super) fn remove(flight: &mut RawFlight, limits: &Limits, tallies: &mut Tallies) {
    // Most speeds never stand so long, and nobody asks for a view of them. All are views of the flight as it was.
    let wanted = SPEEDS.map(|name| stands(flight, name));
    let view =
        |wanted: bool, of: &dyn Fn() -> Series| if wanted { of() } else { Series::default() };
    let [cas_stands, tas_stands, ground_stands] = wanted;
    let tas = view(cas_stands, &|| series(flight, "tas_kt"));
    let cas = view(tas_stands, &|| series(flight, "cas_kt"));
    let through_air = view(cas_stands || tas_stands, &|| through_air(flight));
    let over_ground = view(ground_stands, &|| over_ground(flight));
    let views = [
        ([&tas, &through_air], WIND_AIR_KT),
        ([&cas, &through_air], WIND_AIR_KT),
        ([&over_ground, &over_ground], WIND_GROUND_KT),
    ];
    for (name, (views, least_kt)) in SPEEDS.into_iter().zip(views) {
        stretch(flight, limits, tallies, name, SPEED_HELD_S, |run| {
            let limit_kt = least_kt + SPEED_DRIFT_KT_S * run.held_s();
            views.iter().any(|view| moved(view, run) >= limit_kt)
        });
    }
}

const SPEEDS: [&str; 3] = ["cas_kt", "tas_kt", "ground_speed_kt"];

/// Whether a speed stands long enough to be asked about.
fn stands(flight: &RawFlight, name: &str) -> bool {
    let channel = flight.channels.get(name).filter(|c| !c.holds);
    channel.is_some_and(|channel| {
        let known = Steps::of(channel).known;
        let runs = runs_of(channel, &known);
        runs.iter().any(|(run, _)| run.held_s() >= SPEED_HELD_S)
    })
}

fn series(flight: &RawFlight, name: &str) -> Series {
    Series::of(flight.channels.get(name).filter(|c| !c.holds))
}

/// As recorded, else from airspeed and altitude in standard air.
fn true_airspeed(flight: &RawFlight) -> Series {
    let tas = series(flight, "tas_kt");
    if !tas.is_empty() {
        return tas;
    }
    let (cas, altitude) = (
        series(flight, "cas_kt"),
        series(flight, "pressure_altitude_ft"),
    );
    let of = |t: f64, kt: f64| altitude.held(t).map(|ft| tas_kt(kt, ft, 0.0));
    changed(&cas, of)
}

/// Airspeed that ground speed and wind make, with the track, or with the heading where no track is
/// recorded.
fn through_air(flight: &RawFlight) -> Series {
    let ground_speed = series(flight, "ground_speed_kt");
    let track = series(flight, "track_true_deg");
    if !track.is_empty() {
        return along(flight, &ground_speed, &track, |kt, ahead, aside| {
            (kt + ahead).hypot(aside)
        });
    }
    let heading = series(flight, "heading_true_deg");
    along(flight, &ground_speed, &heading, |kt, ahead, aside| {
        ahead + (kt * kt - aside * aside).max(0.0).sqrt()
    })
}

/// Ground speed that airspeed and wind make.
fn over_ground(flight: &RawFlight) -> Series {
    let heading = series(flight, "heading_true_deg");
    along(
        flight,
        &true_airspeed(flight),
        &heading,
        |kt, ahead, aside| (kt - ahead).hypot(aside),
    )
}

/// A speed along an angle, and the wind from ahead and from the side of it, made into another.
fn along(
    flight: &RawFlight,
    speed: &Series,
    angle: &Series,
    third: impl Fn(f64, f64, f64) -> f64,
) -> Series {
    let wind = series(flight, "wind_speed_kt");
    let from = series(flight, "wind_from_deg");
    changed(speed, |t, kt| {
        let off = (from.held(t)? - angle.held(t)?).to_radians();
        let (aside, ahead) = off.sin_cos();
        let wind_kt = wind.held(t)?;
        Some(third(kt, wind_kt * ahead, wind_kt * aside))
    })
}

/// A series sample by sample; those that come out unknown are left out.
fn changed(series: &Series, of: impl Fn(f64, f64) -> Option<f64>) -> Series {
    let pairs = series.time_s.iter().zip(&series.value);
    let known = pairs.filter_map(|(&t, &v)| Some((t, of(t, v)?)));
    let (time_s, value) = pairs_of(known, series.len());
    Series {
        time_s,
        value,
        interval_s: series.interval_s,
        holds: series.holds,
    }
}

/// How far apart begin, middle and end of a stretch are, each a mean of three: single gusts do not
/// count.
fn moved(view: &Series, run: &Run) -> f64 {
    let kt: Vec<f64> = view.between(run.from_s, run.to_s).map(|s| s.1).collect();
    if kt.len() < 6 {
        return 0.0;
    }
    let last = kt.len() - 3;
    let means = [0, last / 2, last].map(|at| kt[at..at + 3].iter().sum::<f64>() / 3.0);
    let high = means.iter().copied().fold(f64::MIN, f64::max);
    high - means.iter().copied().fold(f64::MAX, f64::min)
}
