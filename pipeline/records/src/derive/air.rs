//! What the air says: temperature, true airspeed, geometric height, sink, wind, turbulence.

use super::{Columns, Frame, Segment, Work, windows};
use crate::atmosphere;
use crate::timebase::Grid;

const TURBULENCE_S: f64 = 10.0;
const SECONDS_PER_MINUTE: f64 = 60.0;

/// Deviation from standard temperature, K: the median over the approach segment of recorded less
/// standard temperature. None where no temperature is recorded.
pub fn isa_deviation_k(columns: &Columns) -> Option<f64> {
    let temperature = columns.values("static_air_temp_c")?;
    let altitude = columns.values("pressure_altitude_ft")?;
    let mut deviations: Vec<f64> = (0..columns.grid.n)
        .filter(|&k| columns.segment[k] == Segment::Approach)
        .map(|k| temperature[k] + 273.15 - atmosphere::isa_temperature_k(altitude[k]))
        .filter(|d| !d.is_nan())
        .collect();
    if deviations.is_empty() {
        return None;
    }
    let middle = deviations.len() / 2;
    Some(*deviations.select_nth_unstable_by(middle, f64::total_cmp).1)
}

pub(super) fn derive(work: &mut Work, frame: &Frame) {
    let deviation = isa_deviation_k(work.columns);
    let tas = work.each(["cas_kt", "pressure_altitude_ft"], |[cas, altitude]| {
        atmosphere::tas_kt(cas, altitude, deviation.unwrap_or(0.0))
    });
    work.put_unless_recorded("tas_kt", tas);

    let inputs = ["height_aal_ft", "pressure_altitude_ft"];
    let geometric = work.each(inputs, |[height, altitude]| match deviation {
        Some(deviation) => atmosphere::geometric_height_ft(height, altitude - height, deviation),
        None => height,
    });
    work.put("height_geometric_ft", geometric);

    let elevation = frame.threshold_elevation_ft.unwrap_or(f64::NAN);
    let msl = work.each(["height_aal_ft"], |[height]| height + elevation);
    work.put("altitude_msl_ft", msl);

    let sink = sink_rate_fpm(work);
    work.put("sink_rate_fpm", sink);

    let bearing = frame.runway_bearing_deg.unwrap_or(f64::NAN);
    let wind = ["wind_speed_kt", "wind_from_deg"];
    let head = work.each(wind, |[speed, from]| {
        speed * (from - bearing).to_radians().cos()
    });
    let cross = work.each(wind, |[speed, from]| {
        speed * (from - bearing).to_radians().sin()
    });
    work.put("headwind_kt", head);
    work.put("crosswind_kt", cross);

    let length = (TURBULENCE_S / work.columns.grid.step_s).round() as usize;
    let turbulence = windows::trailing_deviation(work.get("normal_accel_g"), length, 1.0);
    work.put("turbulence_g", turbulence);
}

/// Recorded vertical speed smoothed over 3 s, or altitude differences over a window that keeps
/// the noise of the altitude's own resolution below 100 ft/min.
fn sink_rate_fpm(work: &Work) -> Vec<f64> {
    let step_s = work.columns.grid.step_s;
    if work.has("vertical_speed_fpm") {
        let half = (1.0 / step_s).round() as usize;
        let smooth = windows::centred_mean(work.get("vertical_speed_fpm"), half);
        return smooth.into_iter().map(|v| -v).collect();
    }
    let altitude = work.get("pressure_altitude_ft");
    let window_s = (0.6 * resolution_ft(altitude)).clamp(4.0, 20.0);
    let half = (0.5 * window_s / step_s).ceil() as usize;
    let slope = windows::centred_slope(altitude, half);
    slope
        .into_iter()
        .map(|per_sample| -per_sample / step_s * SECONDS_PER_MINUTE)
        .collect()
}

/// Smallest step of the altitude, at least a thousandth of a foot.
fn resolution_ft(altitude_ft: &[f64]) -> f64 {
    let steps = altitude_ft.windows(2).map(|pair| (pair[1] - pair[0]).abs());
    let smallest = steps
        .filter(|step| *step > 1e-3)
        .fold(f64::INFINITY, f64::min);
    if smallest.is_finite() { smallest } else { 1e-3 }
}

/// Distance flown through the air since the start of the columns, NM. A hole in the true airspeed
/// of up to ten seconds is bridged by a straight line; after a longer one the path is unknown
/// there and goes on from where it was.
pub(super) fn air_path_nm(tas_kt: &[f64], grid: &Grid) -> Vec<f64> {
    let bridge = (10.0 / grid.step_s).round() as usize;
    let mut path = vec![f64::NAN; tas_kt.len()];
    let mut flown = 0.0;
    let mut last: Option<usize> = None;
    for k in 0..tas_kt.len() {
        if tas_kt[k].is_nan() {
            continue;
        }
        if let Some(before) = last.filter(|&before| k - before <= bridge) {
            let steps = (k - before) as f64;
            let mean_kt = 0.5 * (tas_kt[before] + tas_kt[k]);
            let leg = mean_kt * steps * grid.step_s / 3600.0;
            for (i, hole) in path[before + 1..k].iter_mut().enumerate() {
                *hole = flown + leg * (i + 1) as f64 / steps;
            }
            flown += leg;
        }
        path[k] = flown;
        last = Some(k);
    }
    path
}
