//! How the runway was met, as the row of a made-up flight says it.

use super::flown::{LANDING, add, fleet, fly, runway, state};
use super::*;
use crate::fleet::AircraftType;
use crate::testing::sampled;

/// `LANDING` with radio altitude four times a second, down at 2.5 ft/s to 1 ft on the ground, and a
/// jolt at the contact.
fn landing() -> RawFlight {
    let mut raw = fly(&runway(), LANDING);
    add(&mut raw, "on_ground", |t| state(t >= 1_311.0));
    add(&mut raw, "cas_kt", |t| 140.0 - 0.5 * (t - 1_300.0));
    let mut put = |name: &str, step_s: f64, f: &dyn Fn(f64) -> f64| {
        let mut channel = sampled(560.0, step_s, |t| f(t + 900.0));
        channel.time_s.iter_mut().for_each(|t| *t += 900.0);
        raw.channels.insert(name.to_owned(), channel);
    };
    put("radio_altitude_ft", 0.25, &|t| {
        (1.0 + 2.5 * (1_310.5 - t)).clamp(1.0, 2_500.0)
    });
    put("normal_accel_g", 0.125, &|t| {
        if t == 1_310.5 { 1.35 } else { 1.0 }
    });
    raw
}

fn row(raw: RawFlight) -> ApproachRow {
    prepare(raw, &fleet()).unwrap().approaches[0].row.clone()
}

#[test]
fn sink_is_the_slope_of_radio_altitude_and_the_threshold_is_crossed_at_its_height() {
    let row = row(landing());
    assert_eq!(row.end_s, 1_310.5);
    assert!((row.touchdown_sink_fpm.unwrap() - 150.0).abs() < 1e-6);
    assert_eq!(row.bounces, Some(0));
    // 50 ft and 140 kt over the threshold at 1,300 s; altitude is recorded in whole feet.
    assert!((row.threshold_height_ft.unwrap() - 50.0).abs() < 1.0);
    assert!((row.threshold_cas_kt.unwrap() - 140.0).abs() < 0.1);
    assert_eq!(row.go_around_energy_excess_ft, None);
}

#[test]
fn barometric_altitude_never_makes_a_sink() {
    let mut raw = landing();
    raw.channels.remove("radio_altitude_ft");
    let row = row(raw);
    assert_eq!(row.touchdown_sink_fpm, None);
    assert_eq!(row.bounces, None);
    assert!(row.threshold_height_ft.is_some());
}

#[test]
fn a_bounce_is_counted_on_the_row() {
    let mut raw = landing();
    add(&mut raw, "on_ground", |t| {
        state((1_311.0..1_313.0).contains(&t) || t >= 1_317.0)
    });
    let radio = raw.channels.get_mut("radio_altitude_ft").unwrap();
    for (t, ft) in radio.time_s.iter().zip(&mut radio.value) {
        if (1_313.0..1_317.0).contains(t) {
            *ft = 12.0;
        }
    }
    let row = row(raw);
    assert_eq!((row.outcome.as_str(), row.bounces), ("landing", Some(1)));
}

/// Away at 400 ft, 1.1 NM before the threshold: on the path there at `350 + 50` ft, so that what is
/// left over is speed energy alone: 0.04427 · (160² − 143²) = 228 ft, by true speeds in the order of 1 %
/// above the calibrated ones.
#[test]
fn energy_at_the_go_around_is_what_was_left_over() {
    let one_nm_ft = 50.0 + 1.1 * 318.43;
    let corners = [
        (0.0, 20.0, 0.0, 6_000.0),
        (410.0, 1.1, 0.0, one_nm_ft),
        (440.0, -0.4, 0.0, 900.0),
        (520.0, -5.0, 0.0, 3_000.0),
        (560.0, -5.0, 2.0, 3_000.0),
    ];
    let mut raw = fly(&runway(), &corners);
    raw.header.qnh_hpa = Some(1_004.3);
    raw.header.aircraft_type = Some("corvan-c20".to_owned());
    // An airspeed that never moves would be taken for stuck.
    add(&mut raw, "cas_kt", |t| 160.0 + (t - 410.0).rem_euclid(5.0));
    add(&mut raw, "vapp_kt", |_| 143.0);
    add(&mut raw, "toga", |t| state(t >= 410.0));
    let aircraft: AircraftType = toml::from_str(include_str!(
        "../../../../../rules/aircraft/corvan-c20.toml"
    ))
    .unwrap();
    let mut fleet = fleet();
    fleet.aircraft.insert("corvan-c20".to_owned(), aircraft);
    let row = prepare(raw, &fleet).unwrap().approaches[0].row.clone();
    assert_eq!(row.outcome, "go_around");
    let height_ft = row.go_around_height_ft.unwrap();
    let expected = 0.04427 * 1.02 * (160.0_f64.powi(2) - 143.0_f64.powi(2)) + height_ft - one_nm_ft;
    let excess = row.go_around_energy_excess_ft.unwrap();
    assert!((excess - expected).abs() < 15.0, "{excess} {expected}");
    assert_eq!(
        (row.touchdown_sink_fpm, row.threshold_height_ft),
        (None, None)
    );
}
