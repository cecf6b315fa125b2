//! A whole channel that another one contradicts: mapped with a wrong unit, scale or sign.
//!
//! Vertical speed is compared with the slope of pressure altitude, ground speed with the movement of the
//! position, over windows so long that lags and steps of the recorder average out. A channel that is
//! elsewhere for the whole flight is refused: all of it becomes unknown, and nothing is scaled right.
//!
//! It goes before every other check: a value in the wrong unit is often out of the plausible range too,
//! and what then is left of the channel looks true.

use crate::airfield::rough_distance_nm;
use crate::catalogue::Catalogue;
use crate::flight::{Channel, RawFlight};
use crate::series::{Series, median, resolution};

use super::Tallies;
use super::limits::{ALTITUDE_RATE_FT_S, POSITION_RATE_NM_S};

/// Movement is looked at over this long: lags are a few seconds. Judgement.
const WINDOW_S: f64 = 30.0;
/// And over this long where a step of the recorder is large against what is looked for.
const LONG_WINDOW_S: f64 = 60.0;
/// A movement of this many steps of the recorder is known to a quarter at worst, and the median of
/// several far better.
const CLEAR_STEPS: f64 = 4.0;
/// This share of a window has to be known.
const KNOWN_SHARE: f64 = 0.8;
/// With fewer moments nothing is said: damage of a minute or two must not decide. Judgement.
const LEAST_MOMENTS: usize = 6;

/// A climb or descent this fast is clear of drift and of turbulence. Judgement.
const CLEAR_FPM: f64 = 300.0;
/// Largest ratio between vertical speed and the slope of pressure altitude, either way. Pressure heights are
/// off by as much as the air's absolute temperature is, a fifth on the coldest days; the smallest mistakes of a map
/// are a factor of two (a scale off by one bit) and 3.3 (feet and metres). Judgement between the two.
const VERTICAL_RATIO: f64 = 1.5;
/// Share of the moments in which climb must be climb: a speed without its sign is right in climbs only.
const SIGNS: f64 = 0.75;

/// Movement this fast is flight, kt. Judgement.
const CLEAR_KT: f64 = 60.0;
/// Largest ratio between ground speed and movement, either way. A turn at 3° a second shortens the straight
/// line of a window by a tenth; kilometres for knots make 1.85. Judgement between the two; statute miles,
/// 1.15, pass.
const GROUND_RATIO: f64 = 1.3;

/// One window: what the channel says on average, and what its witness says.
struct Moment {
    said: f64,
    seen: f64,
}

/// Makes whole channels unknown that their witness contradicts all through the flight.
pub(super) fn refuse(flight: &mut RawFlight, catalogue: &Catalogue, tallies: &mut Tallies) {
    let name = "vertical_speed_fpm";
    let moments = climbs(flight, catalogue, name);
    let refused = reason(&moments, "slope of pressure altitude", VERTICAL_RATIO);
    take(flight, tallies, name, refused);
    let name = "ground_speed_kt";
    let moments = legs(flight, catalogue, name);
    let refused = reason(&moments, "movement of the position", GROUND_RATIO);
    take(flight, tallies, name, refused);
}

/// Why a channel is refused; none where it agrees, or where too little is known to say.
fn reason(moments: &[Moment], witness: &str, most: f64) -> Option<String> {
    if moments.len() < LEAST_MOMENTS {
        return None;
    }
    let ratio = median(moments.iter().map(|m| m.said / m.seen).collect());
    let alike = moments.iter().filter(|m| m.said * m.seen > 0.0).count();
    let share = alike as f64 / moments.len() as f64;
    if (1.0 / most..=most).contains(&ratio) && share >= SIGNS {
        return None;
    }
    let decimals = match ratio.abs() {
        r if r >= 10.0 => 0,
        r if r >= 0.1 => 2,
        _ => 4,
    };
    Some(format!(
        "refused: {ratio:.decimals$} times the {witness}, expected {:.2} to {most:.2}; same sign in {:.0} % \
         of {} moments; check unit, scale and sign of both in the parameter map",
        1.0 / most,
        100.0 * share,
        moments.len()
    ))
}

fn take(flight: &mut RawFlight, tallies: &mut Tallies, name: &str, refused: Option<String>) {
    if let (Some(channel), Some(reason)) = (flight.channels.get_mut(name), refused) {
        channel.value.fill(f64::NAN);
        tallies.entry(name.to_owned()).or_default().refused = Some(reason);
    }
}

/// Vertical speed and slope of altitude, ft/min, wherever it clearly climbs or descends.
fn climbs(flight: &RawFlight, catalogue: &Catalogue, name: &str) -> Vec<Moment> {
    let altitude = plausible(flight, catalogue, "pressure_altitude_ft");
    let step_ft = CLEAR_STEPS * resolution(&altitude.value);
    let clear_ft = |window_s: f64| CLEAR_FPM / 60.0 * window_s;
    let window_s = window_s(step_ft, clear_ft(WINDOW_S));
    let least_ft = clear_ft(window_s).max(step_ft);
    moments(flight, catalogue, name, window_s, |from_s, to_s| {
        altitude.linear(0.5 * (from_s + to_s))?;
        let ft = altitude.linear(to_s)? - altitude.linear(from_s)?;
        let flown = (least_ft..=ALTITUDE_RATE_FT_S * window_s).contains(&ft.abs());
        flown.then_some(ft * 60.0 / window_s)
    })
}

/// Ground speed and speed of the position, kt, wherever it clearly moves.
fn legs(flight: &RawFlight, catalogue: &Catalogue, name: &str) -> Vec<Moment> {
    let latitude = plausible(flight, catalogue, "latitude_deg");
    let longitude = plausible(flight, catalogue, "longitude_deg");
    let coarsest_deg = resolution(&latitude.value).max(resolution(&longitude.value));
    let step_nm = CLEAR_STEPS * 60.0 * coarsest_deg;
    let clear_nm = |window_s: f64| CLEAR_KT / 3600.0 * window_s;
    let window_s = window_s(step_nm, clear_nm(WINDOW_S));
    let least_nm = clear_nm(window_s).max(step_nm);
    // Between the two samples at which longitude leaps by 360° the place is wrong: one window of many.
    let at = |t: f64| Some((latitude.linear(t)?, longitude.linear(t)?));
    moments(flight, catalogue, name, window_s, |from_s, to_s| {
        at(0.5 * (from_s + to_s))?;
        let nm = rough_distance_nm(at(from_s)?, at(to_s)?);
        let flown = (least_nm..=POSITION_RATE_NM_S * window_s).contains(&nm);
        flown.then_some(nm * 3600.0 / window_s)
    })
}

fn window_s(step: f64, clear: f64) -> f64 {
    if step <= clear {
        WINDOW_S
    } else {
        LONG_WINDOW_S
    }
}

/// The windows in which both are known, side by side.
fn moments(
    flight: &RawFlight,
    catalogue: &Catalogue,
    name: &str,
    window_s: f64,
    seen: impl Fn(f64, f64) -> Option<f64>,
) -> Vec<Moment> {
    let itself = readings(flight, catalogue, name);
    let (Some(&first_s), Some(&last_s)) = (itself.time_s.first(), itself.time_s.last()) else {
        return Vec::new();
    };
    let windows = ((last_s - first_s) / window_s).floor() as usize;
    (0..windows)
        .filter_map(|k| {
            let from_s = first_s + k as f64 * window_s;
            let seen = seen(from_s, from_s + window_s)?;
            let said = mean(&itself, from_s, window_s)?;
            Some(Moment { said, seen })
        })
        .collect()
}

/// Mean over a window, taken every second.
fn mean(series: &Series, from_s: f64, window_s: f64) -> Option<f64> {
    let seconds = window_s as usize;
    let known: Vec<f64> = (0..seconds)
        .filter_map(|k| series.linear(from_s + k as f64 + 0.5))
        .collect();
    let enough = known.len() as f64 >= KNOWN_SHARE * seconds as f64;
    enough.then(|| known.iter().sum::<f64>() / known.len() as f64)
}

/// The values of a witness that are in its plausible range.
fn plausible(flight: &RawFlight, catalogue: &Catalogue, name: &str) -> Series {
    kept(flight.channels.get(name), |v| inside(catalogue, name, v))
}

/// What a channel says, plausible or not; but one value that makes most of what is out of range is a code for
/// "unknown" and no reading.
fn readings(flight: &RawFlight, catalogue: &Catalogue, name: &str) -> Series {
    let channel = flight.channels.get(name);
    let mut outside = kept(channel, |v| !inside(catalogue, name, v)).value;
    outside.sort_unstable_by(f64::total_cmp);
    let most = outside
        .chunk_by(|a, b| a == b)
        .max_by_key(|alike| alike.len());
    let code = most
        .filter(|alike| 2 * alike.len() > outside.len())
        .map(|alike| alike[0]);
    kept(channel, |v| Some(v) != code)
}

fn inside(catalogue: &Catalogue, name: &str, value: f64) -> bool {
    catalogue
        .lookup(name)
        .is_none_or(|p| (p.low..=p.high).contains(&value))
}

fn kept(channel: Option<&Channel>, keep: impl Fn(f64) -> bool) -> Series {
    let all = Series::of(channel);
    let pairs = all.time_s.iter().zip(&all.value);
    let (time_s, value) = pairs
        .filter(|(_, v)| v.is_finite() && keep(**v))
        .unzip();
    Series {
        time_s,
        value,
        interval_s: all.interval_s,
        holds: all.holds,
    }
}
