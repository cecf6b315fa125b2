mod arrived;
mod settable;

use super::*;

fn clean(
    flight: &mut RawFlight,
    catalogue: &Catalogue,
    aircraft: Option<&AircraftType>,
) -> Vec<QualityRow> {
    super::clean(flight, catalogue, aircraft, &Limits::default()).report(flight)
}
use crate::testing::{channel, real_flight, sampled};

fn flight(channels: Vec<(&str, Channel)>) -> RawFlight {
    RawFlight {
        channels: channels
            .into_iter()
            .map(|(name, c)| (name.to_owned(), c))
            .collect(),
        ..RawFlight::default()
    }
}

fn row<'a>(rows: &'a [QualityRow], name: &str) -> &'a QualityRow {
    rows.iter().find(|r| r.parameter == name).unwrap()
}

fn unknown(flight: &RawFlight, name: &str) -> Vec<usize> {
    let value = &flight.channels[name].value;
    (0..value.len()).filter(|&i| value[i].is_nan()).collect()
}

#[test]
fn a_real_recorder_flight_needs_no_cleaning() {
    // Cruise there holds the airspeed for 12 s and the ground speed for minutes.
    let mut raw = real_flight("recorder.parquet");
    let before = raw.channels["cas_kt"].clone();
    let rows = clean(&mut raw, &Catalogue::default(), None);
    for r in &rows {
        assert_eq!(
            (r.spikes, r.stale, r.out_of_range, r.gaps, r.stuck_s),
            (0, 0, 0, 0, 0.0),
            "{}",
            r.parameter
        );
        assert_eq!((r.coverage, r.action.as_str()), (1.0, "none"));
    }
    assert_eq!(raw.channels["cas_kt"], before);
    let track = &raw.channels["track_true_deg"].value;
    assert!(track.iter().all(|t| (0.0..360.0).contains(t)));
}

#[test]
fn jumps_back_to_the_cruise_level_are_found_in_real_tracks() {
    // Counted by hand in the files: lone samples at 15,175, 16,300 and 16,725 ft during the
    // approach and two at 24,000 ft on the runway; one at 23,175 ft in the other track.
    for (file, spikes) in [("06bb6662fe", 5), ("079f694f61", 1), ("223c55f113", 0)] {
        let mut raw = real_flight(&format!("surveillance/{file}.parquet"));
        let rows = clean(&mut raw, &Catalogue::default(), None);
        assert_eq!(row(&rows, "pressure_altitude_ft").spikes, spikes, "{file}");
    }
}

#[test]
fn frozen_speed_and_position_are_found_in_real_tracks() {
    // 079f694f61 repeats its position from 1,467 s and 133 kt from 1,469 s to the end, 1,642 s;
    // 134 s of cruise at a constant 361 kt before that are true.
    let mut raw = real_flight("surveillance/079f694f61.parquet");
    let rows = clean(&mut raw, &Catalogue::default(), None);
    assert_eq!(row(&rows, "ground_speed_kt").stuck_s, 173.0);
    let speed = unknown(&raw, "ground_speed_kt");
    let time = &raw.channels["ground_speed_kt"].time_s;
    assert!(speed.iter().all(|&i| time[i] > 1469.0));
    let last_fix = raw.channels["latitude_deg"]
        .value
        .iter()
        .rposition(|v| !v.is_nan())
        .unwrap();
    assert_eq!(time[last_fix], 1467.0);
}

#[test]
fn values_out_of_range_are_counted_and_unknown() {
    let mut raw = flight(vec![(
        "cas_kt",
        channel(vec![0.0, 1.0, 2.0, 3.0], vec![140.0, 999.0, -5.0, 141.0]),
    )]);
    let rows = clean(&mut raw, &Catalogue::default(), None);
    assert_eq!(row(&rows, "cas_kt").out_of_range, 2);
    assert_eq!(unknown(&raw, "cas_kt"), [1, 2]);
    assert_eq!(row(&rows, "cas_kt").action, "2 samples set to unknown");
}

#[test]
fn a_spike_goes_and_a_touchdown_stays() {
    let mut cas = sampled(60.0, 1.0, |t| 150.0 - 0.2 * t);
    cas.value[30] += 45.0;
    let mut accel = sampled(60.0, 0.125, |_| 1.0);
    accel.value[240] = 1.9;
    let mut raw = flight(vec![("cas_kt", cas), ("normal_accel_g", accel)]);
    let rows = clean(&mut raw, &Catalogue::default(), None);
    assert_eq!(unknown(&raw, "cas_kt"), [30]);
    assert_eq!(row(&rows, "cas_kt").spikes, 1);
    assert!(unknown(&raw, "normal_accel_g").is_empty());
}

#[test]
fn a_gust_that_stays_is_no_spike() {
    let cas = sampled(60.0, 1.0, |t| if t < 30.0 { 150.0 } else { 175.0 });
    let mut raw = flight(vec![("cas_kt", cas)]);
    let rows = clean(&mut raw, &Catalogue::default(), None);
    assert_eq!(row(&rows, "cas_kt").spikes, 0);
    assert!(unknown(&raw, "cas_kt").is_empty());
}

#[test]
fn the_old_cruise_level_after_a_long_hole_on_the_ground_is_stale() {
    let altitude = sampled(1_500.0, 1.0, |t| match t {
        t if t < 600.0 => 8_000.0 - 13.0 * t,
        t if t < 620.0 => 200.0,
        // Ten minutes of silence: any level could be reached in that time, but not on the ground.
        t if t < 1_200.0 => f64::NAN,
        _ => 24_000.0,
    });
    let on_ground = sampled(1_500.0, 1.0, |t| f64::from(u8::from(t >= 605.0)));
    let mut raw = flight(vec![
        ("pressure_altitude_ft", altitude),
        ("on_ground", on_ground),
    ]);
    let rows = clean(&mut raw, &Catalogue::default(), None);
    assert_eq!(row(&rows, "pressure_altitude_ft").stale, 301);
    let known = raw.channels["pressure_altitude_ft"].value.iter();
    assert!(known.filter(|v| !v.is_nan()).all(|&v| v <= 8_000.0));
}

#[test]
fn a_repeated_altitude_that_jumps_on_was_stale_and_a_level_segment_was_not() {
    let stale = sampled(200.0, 1.0, |t| match t {
        t if t < 100.0 => 3_000.0 - 12.0 * t,
        t if t < 120.0 => 1_800.0,
        _ => 1_560.0 - 12.0 * (t - 120.0),
    });
    let mut raw = flight(vec![("pressure_altitude_ft", stale)]);
    let rows = clean(&mut raw, &Catalogue::default(), None);
    assert_eq!(row(&rows, "pressure_altitude_ft").stale, 19);
    let level = sampled(200.0, 1.0, |t| 3_000.0 - 12.0 * (t - 100.0).max(0.0));
    let mut raw = flight(vec![("pressure_altitude_ft", level)]);
    let rows = clean(&mut raw, &Catalogue::default(), None);
    assert_eq!(row(&rows, "pressure_altitude_ft").stale, 0);
}

#[test]
fn a_position_frozen_on_final_is_stale_while_altitude_falls() {
    let mut raw = flight(vec![
        (
            "latitude_deg",
            sampled(100.0, 1.0, |t| 48.0 + 0.0005 * t.min(60.0)),
        ),
        ("longitude_deg", sampled(100.0, 1.0, |_| 2.0)),
        (
            "pressure_altitude_ft",
            sampled(100.0, 1.0, |t| 1_500.0 - 12.0 * t),
        ),
    ]);
    let rows = clean(&mut raw, &Catalogue::default(), None);
    assert_eq!(row(&rows, "latitude_deg").stale, 40);
    assert_eq!(row(&rows, "longitude_deg").stale, 40);
    assert_eq!(unknown(&raw, "latitude_deg")[0], 61);
}

#[test]
fn steady_cruise_is_not_stuck_and_a_stuck_sensor_is() {
    // 450 kt northwards: 1/480 of a degree a second.
    let cruise = |moved_kt: f64| {
        flight(vec![
            ("ground_speed_kt", sampled(400.0, 1.0, |_| 450.0)),
            (
                "latitude_deg",
                sampled(400.0, 1.0, |t| 48.0 + moved_kt / 216_000.0 * t),
            ),
            ("longitude_deg", sampled(400.0, 1.0, |_| 2.0)),
            ("cas_kt", sampled(400.0, 1.0, |_| 270.0)),
        ])
    };
    let rows = clean(&mut cruise(450.0), &Catalogue::default(), None);
    assert_eq!(row(&rows, "ground_speed_kt").stuck_s, 0.0);
    assert_eq!(row(&rows, "cas_kt").stuck_s, 0.0);
    let rows = clean(&mut cruise(200.0), &Catalogue::default(), None);
    assert_eq!(row(&rows, "ground_speed_kt").stuck_s, 400.0);
    let mut slowing = cruise(450.0);
    slowing.channels.remove("latitude_deg");
    slowing.channels.insert(
        "ground_speed_kt".to_owned(),
        sampled(400.0, 1.0, |t| 450.0 - 0.5 * t),
    );
    let rows = clean(&mut slowing, &Catalogue::default(), None);
    assert_eq!(row(&rows, "cas_kt").stuck_s, 400.0);
}

#[test]
fn what_loading_noticed_stands_in_the_same_row() {
    let mut raw = flight(vec![("cas_kt", sampled(10.0, 1.0, |_| 150.0))]);
    raw.quality.push(QualityRow {
        parameter: "cas_kt".to_owned(),
        out_of_range: 3,
        action: "3 sentinels read as missing".to_owned(),
        ..QualityRow::default()
    });
    let rows = clean(&mut raw, &Catalogue::default(), None);
    assert_eq!(rows.len(), 1);
    assert_eq!(rows[0].out_of_range, 3);
    assert_eq!(rows[0].action, "3 sentinels read as missing");
}

#[test]
fn a_channel_that_falls_silent_has_a_gap() {
    let mut raw = flight(vec![
        (
            "cas_kt",
            sampled(100.0, 1.0, |t| if t < 50.0 { 150.0 - t } else { f64::NAN }),
        ),
        ("pitch_deg", sampled(100.0, 1.0, |t| t / 50.0)),
    ]);
    let rows = clean(&mut raw, &Catalogue::default(), None);
    assert_eq!(
        (row(&rows, "cas_kt").gaps, row(&rows, "pitch_deg").gaps),
        (1, 0)
    );
    assert!((row(&rows, "cas_kt").coverage - 50.0 / 101.0).abs() < 1e-9);
}

#[test]
fn of_altitude_and_vertical_speed_the_one_that_repeats_is_stuck() {
    let stands = |t: f64| {
        if t < 100.0 {
            5_000.0 - 15.0 * t
        } else {
            3_500.0
        }
    };
    let alive = |t: f64| -900.0 + 20.0 * (t / 3.0).sin();
    let judged = |altitude: &dyn Fn(f64) -> f64, sink: &dyn Fn(f64) -> f64| {
        let mut raw = flight(vec![
            ("pressure_altitude_ft", sampled(160.0, 1.0, altitude)),
            ("vertical_speed_fpm", sampled(160.0, 1.0, sink)),
        ]);
        let rows = clean(&mut raw, &Catalogue::default(), None);
        (
            row(&rows, "pressure_altitude_ft").stuck_s,
            row(&rows, "vertical_speed_fpm").stuck_s,
        )
    };
    assert_eq!(judged(&stands, &alive), (60.0, 0.0));
    let frozen = |t: f64| if t < 100.0 { alive(t) } else { -900.0 };
    assert_eq!(judged(&stands, &frozen), (0.0, 60.0));
    // A level segment with a live vertical speed around zero.
    let level = |t: f64| {
        if t < 100.0 {
            alive(t)
        } else {
            30.0 * (t / 3.0).sin()
        }
    };
    assert_eq!(judged(&stands, &level), (0.0, 0.0));
}

#[test]
fn altitude_that_stands_through_a_touchdown_is_stuck() {
    // 12 ft/s down to the runway at 100 s, no vertical speed recorded; altitude stands from 80 s on.
    let landing = |stuck_from_s: f64, step_ft: f64| {
        let height = |t: f64| (12.0 * (100.0 - t)).max(0.0);
        let altitude = move |t: f64| {
            let ft = 500.0 + height(t.min(stuck_from_s));
            (ft / step_ft).round() * step_ft
        };
        flight(vec![
            ("pressure_altitude_ft", sampled(160.0, 1.0, altitude)),
            ("radio_altitude_ft", sampled(160.0, 1.0, height)),
            ("on_ground", sampled(160.0, 1.0, |t| f64::from(t >= 100.0))),
        ])
    };
    let mut stuck = landing(80.0, 1.0);
    let rows = clean(&mut stuck, &Catalogue::default(), None);
    let last = stuck.channels["pressure_altitude_ft"].value.len() - 1;
    let nulled = unknown(&stuck, "pressure_altitude_ft");
    assert_eq!((nulled.first(), nulled.last()), (Some(&81), Some(&last)));
    assert!(row(&rows, "pressure_altitude_ft").stuck_s > 70.0);
    // The roll itself is level, and so is the last step of a coarse recorder.
    for step_ft in [1.0, 100.0] {
        let mut true_one = landing(f64::INFINITY, step_ft);
        clean(&mut true_one, &Catalogue::default(), None);
        assert!(unknown(&true_one, "pressure_altitude_ft").is_empty());
    }
}

#[test]
fn noise_that_swings_both_ways_is_a_spike_too_aloft_only() {
    let flight_of = |ground: f64| {
        let mut accel = sampled(60.0, 0.125, |t| 1.0 + 0.05 * t.sin());
        accel.value[240] = 3.1;
        accel.value[241] = -0.9;
        let ground = sampled(60.0, 1.0, move |_| ground);
        flight(vec![("normal_accel_g", accel), ("on_ground", ground)])
    };
    let mut aloft = flight_of(0.0);
    let rows = clean(&mut aloft, &Catalogue::default(), None);
    assert_eq!(unknown(&aloft, "normal_accel_g"), [240, 241]);
    assert_eq!(row(&rows, "normal_accel_g").spikes, 2);
    let mut rolling = flight_of(1.0);
    clean(&mut rolling, &Catalogue::default(), None);
    assert!(unknown(&rolling, "normal_accel_g").is_empty());
}
