//! How far a result may move when airspeed and altitude are sampled every other second.
//!
//! Between two samples a channel is taken as a straight line. In the coarse record the line spans [`INTERVAL_S`],
//! and passes the sample that was left out in its middle by no more than the channel moves in half of that: its
//! greatest rate of change there times half the interval. The highest value of a second loses no more. As much
//! again is left to the zero of heights, which comes from the same altitudes, and to the moment at which a height
//! is crossed. So a measure may move by the rate of change times the interval.

use super::rewrite::Flight;

/// From one sample to the next where every other one was left out.
pub(crate) const INTERVAL_S: f64 = 2.0;
/// What counts as there: the stretch that a moment lies in, one more for the moment itself to move, and the lag of
/// the channel.
const AROUND_S: f64 = 2.0 * INTERVAL_S + 1.0;
/// Feet of height that a knot² of true airspeed is worth: 1 / 2 g.
const FT_PER_KT2: f64 = (1852.0 / 3600.0) * (1852.0 / 3600.0) / (2.0 * 9.806_65 * 0.3048);
/// Air at 15,000 ft, above all gates, is thinner than at sea level by 1 / 0.63: true airspeed squared is greater
/// than calibrated airspeed squared by as much.
const THINNEST: f64 = 1.0 / 0.63;

/// How far a channel moves within the interval somewhere around a moment, and its greatest value there.
fn moves(flight: &Flight, parameter: &str, at_s: f64) -> (f64, f64) {
    let times = flight.time_ms.iter().map(|ms| *ms as f64 / 1000.0);
    let samples = times.zip(flight.parameter(parameter));
    let near: Vec<(f64, f64)> = samples
        .filter_map(|(t, value)| Some((t, (*value)?)))
        .filter(|(t, _)| (t - at_s).abs() <= AROUND_S)
        .collect();
    let rate = near
        .windows(2)
        .map(|pair| ((pair[1].1 - pair[0].1) / (pair[1].0 - pair[0].0)).abs())
        .fold(0.0, f64::max);
    let greatest = near
        .iter()
        .map(|(_, value)| value.abs())
        .fold(0.0, f64::max);
    (rate * INTERVAL_S, greatest)
}

/// Of an airspeed at a moment, in knots.
pub(crate) fn of_speed_kt(flight: &Flight, at_s: f64) -> f64 {
    moves(flight, "cas_kt", at_s).0 / units(flight).1
}

/// Of the deciding measure of a rule at a moment; none for rules that count criteria or look at outcomes.
pub(crate) fn of_measure(rule: &str, flight: &Flight, at_s: f64) -> Option<f64> {
    let (foot, knot) = units(flight);
    let (height, _) = moves(flight, "pressure_altitude_ft", at_s);
    let (speed, fastest) = moves(flight, "cas_kt", at_s);
    let (height_ft, speed_kt, fastest_kt) = (height / foot, speed / knot, fastest / knot);
    match rule {
        "flap_limit_exceeded" | "flap_selection_margin" => Some(speed_kt),
        "high_at_15nm" => Some(height_ft),
        "energy_excess_10nm" | "energy_excess_20nm" => {
            let kinetic_ft = FT_PER_KT2 * THINNEST * 2.0 * fastest_kt * speed_kt;
            Some(height_ft + kinetic_ft)
        }
        _ => None,
    }
}

/// A foot and a knot in the units that the recorder of the flight has for them.
fn units(flight: &Flight) -> (f64, f64) {
    match flight.kind.as_str() {
        "tarn-t7" => (0.3048, 1852.0 / 3600.0),
        _ => (1.0, 1.0),
    }
}
