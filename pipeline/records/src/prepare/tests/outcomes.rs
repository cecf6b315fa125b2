use super::flown::{Corner, LANDING, add, fleet, fly, runway, state};
use super::*;
use crate::derive::Segment;
use crate::testing::{channel, sampled};

/// Down to 200 ft at 410 s, away, round, and the landing of [`LANDING`].
fn go_around_corners() -> Vec<Corner> {
    let mut corners = vec![
        (0.0, 20.0, 0.0, 6_000.0),
        (410.0, 0.6, 0.0, 200.0),
        (440.0, -1.0, 0.0, 700.0),
        (520.0, -5.0, 0.0, 3_000.0),
        (560.0, -5.0, 2.0, 3_000.0),
        (880.0, 12.0, 2.0, 3_000.0),
        (920.0, 12.0, 0.0, 3_000.0),
    ];
    corners.extend_from_slice(&LANDING[1..]);
    corners
}

#[test]
fn a_go_around_and_then_a_landing() {
    let mut raw = fly(&runway(), &go_around_corners());
    add(&mut raw, "on_ground", |t| state(t >= 1_310.0));
    // Thrust rises from 398 s while the aircraft still sinks, and is reduced in the climb.
    add(&mut raw, "n1_1_pct", |t| match t {
        t if t < 398.0 => 45.0,
        t if t < 404.0 => 45.0 + 8.0 * (t - 398.0),
        t if t < 500.0 => 93.0,
        _ => 50.0,
    });
    let flight = prepare(raw, &fleet()).unwrap();
    assert_eq!(outcomes_of(&flight), ["go_around", "landing"]);
    let (first, second) = (&flight.approaches[0], &flight.approaches[1]);

    assert_eq!(first.row.end_s, 398.0);
    assert!(!first.row.go_around_from_low_point);
    // 6,000 ft less 398 s at 5,800 ft in 410 s.
    assert!((first.row.go_around_height_ft.unwrap() - 369.8).abs() < 2.0);
    assert!((first.row.lowest_height_ft.unwrap() - 200.0).abs() < 1.0);
    assert_eq!(first.row.height_source, "other_landing");
    assert_eq!(first.row.runway.as_deref(), Some("09"));
    assert_eq!(first.row.start_s, 0.0);
    let missed = first
        .columns
        .segment
        .iter()
        .filter(|s| **s == Segment::Missed)
        .count();
    assert_eq!(missed, 61);
    assert_eq!(first.columns.grid.time(first.columns.grid.n - 1), 458.0);

    // The second begins at the end of the climb: 30 ft below its top at 3,000 ft.
    assert!(
        (second.row.start_s - 519.0).abs() <= 1.0,
        "{}",
        second.row.start_s
    );
    assert_eq!(second.row.height_source, "landing_roll");
    assert!((second.row.lowest_height_ft.unwrap()).abs() < 1.0);
    assert_eq!(second.row.end_s, 1_310.0);
    assert!(second.row.go_around_height_ft.is_none());
    // 0.3 NM beyond the threshold.
    assert!((second.row.touchdown_distance_ft.unwrap() - 1_823.0).abs() < 10.0);
    assert_ne!(first.row.approach_key, second.row.approach_key);
}

#[test]
fn without_thrust_a_go_around_begins_at_the_low_point_and_toga_comes_first() {
    let mut raw = fly(&runway(), &go_around_corners());
    add(&mut raw, "on_ground", |t| state(t >= 1_310.0));
    let flight = prepare(raw.clone(), &fleet()).unwrap();
    let row = &flight.approaches[0].row;
    assert!(row.go_around_from_low_point);
    assert_eq!(row.end_s, 410.0);
    add(&mut raw, "toga", |t| state((400.0..430.0).contains(&t)));
    let row = &prepare(raw, &fleet()).unwrap().approaches[0].row;
    assert!(!row.go_around_from_low_point);
    assert_eq!(row.end_s, 400.0);
}

#[test]
fn thrust_carried_before_is_not_the_rise() {
    let mut raw = fly(&runway(), &go_around_corners());
    add(&mut raw, "on_ground", |t| state(t >= 1_310.0));
    // Idle, then thrust for a stabilised approach at 360 s, then away at 399 s.
    add(&mut raw, "n1_1_pct", |t| match t {
        t if t < 360.0 => 30.0,
        t if t < 368.0 => 30.0 + 4.0 * (t - 360.0),
        t if t < 399.0 => 62.0 + (t / 4.0).sin(),
        t if t < 404.0 => 62.0 + 6.0 * (t - 399.0),
        t if t < 500.0 => 92.0,
        _ => 50.0,
    });
    let row = &prepare(raw, &fleet()).unwrap().approaches[0].row;
    assert!((row.end_s - 399.0).abs() <= 1.0, "{}", row.end_s);
    assert!(!row.go_around_from_low_point);
}

#[test]
fn a_go_around_from_far_out_still_has_its_runway() {
    let mut corners = go_around_corners();
    corners[1] = (320.0, 5.0, 0.0, 1_700.0);
    corners[2] = (350.0, 3.4, 0.0, 2_300.0);
    let mut raw = fly(&runway(), &corners);
    add(&mut raw, "on_ground", |t| state(t >= 1_310.0));
    let row = &prepare(raw, &fleet()).unwrap().approaches[0].row;
    assert_eq!(
        (row.outcome.as_str(), row.runway.as_deref()),
        ("go_around", Some("09"))
    );
    assert!((row.start_distance_nm.unwrap() - 20.0).abs() < 0.1);
}

/// Touches at 410 s, leaves at 425 s, comes round and lands.
fn touch_corners() -> Vec<Corner> {
    let mut corners = vec![
        (0.0, 20.0, 0.0, 6_000.0),
        (400.0, 0.0, 0.0, 50.0),
        (410.0, -0.3, 0.0, 0.0),
        (425.0, -0.9, 0.0, 0.0),
        (480.0, -3.0, 0.0, 1_500.0),
        (520.0, -3.0, 2.0, 1_500.0),
        (820.0, 12.0, 2.0, 3_000.0),
        (870.0, 12.0, 0.0, 3_000.0),
    ];
    corners.extend_from_slice(&LANDING[1..]);
    corners
}

#[test]
fn a_touch_and_go_in_training_and_a_touched_go_around_on_the_line() {
    let mut raw = fly(&runway(), &touch_corners());
    add(&mut raw, "on_ground", |t| {
        state((410.0..425.0).contains(&t) || t >= 1_310.0)
    });
    let flight = prepare(raw.clone(), &fleet()).unwrap();
    assert_eq!(outcomes_of(&flight), ["go_around_touched", "landing"]);
    // The approach ends where it touched.
    assert_eq!(flight.approaches[0].row.end_s, 410.0);
    assert_eq!(flight.approaches[0].row.height_source, "last_altitudes");
    raw.header.flight_purpose = Some("training".to_owned());
    let flight = prepare(raw, &fleet()).unwrap();
    assert_eq!(outcomes_of(&flight), ["touch_and_go", "landing"]);
    let segments = &flight.approaches[0].columns.segment;
    assert!(segments.contains(&Segment::Missed));
}

#[test]
fn a_bounce_is_one_landing() {
    let mut corners = LANDING.to_vec();
    corners.splice(
        3..3,
        [
            (1_312.0, -0.38, 0.0, 0.0),
            (1_315.0, -0.5, 0.0, 18.0),
            (1_319.0, -0.6, 0.0, 0.0),
        ],
    );
    let mut raw = fly(&runway(), &corners);
    add(&mut raw, "on_ground", |t| {
        state((1_310.0..1_313.0).contains(&t) || t >= 1_319.0)
    });
    let flight = prepare(raw, &fleet()).unwrap();
    assert_eq!(outcomes_of(&flight), ["landing"]);
    assert_eq!(flight.approaches[0].row.end_s, 1_310.0);
}

#[test]
fn a_switch_that_flickers_for_minutes_is_no_take_off() {
    let mut raw = fly(&runway(), LANDING);
    add(&mut raw, "on_ground", |t| {
        state(t >= 1_310.0 && (t as i64 / 7) % 3 != 0)
    });
    let flight = prepare(raw, &fleet()).unwrap();
    assert_eq!(outcomes_of(&flight), ["landing"]);
}

#[test]
fn touchdown_is_the_earliest_of_jolt_radio_altitude_and_switch() {
    let mut raw = fly(&runway(), LANDING);
    add(&mut raw, "on_ground", |t| state(t >= 1_312.0));
    let mut accel = sampled(560.0, 0.125, |_| 1.0);
    accel.time_s.iter_mut().for_each(|t| *t += 900.0);
    for (t, g) in accel.time_s.iter().zip(&mut accel.value) {
        if *t == 1_310.25 {
            *g = 1.42;
        }
    }
    raw.channels.insert("normal_accel_g".to_owned(), accel);
    let row = &prepare(raw.clone(), &fleet()).unwrap().approaches[0].row;
    assert_eq!(row.end_s, 1_310.25);
    assert_eq!(row.touchdown_g, Some(1.42));
    // Position and speed are known once a second: a quarter of one at 98 kt (108 before, 84 after).
    assert!((row.touchdown_uncertainty_ft.unwrap() - 45.0).abs() < 8.0);
    add(&mut raw, "radio_altitude_ft", |t| {
        (50.0 - 5.0 * (t - 1_299.5)).clamp(-10.0, 2_500.0)
    });
    let row = &prepare(raw, &fleet()).unwrap().approaches[0].row;
    assert!((row.end_s - 1_309.5).abs() < 1e-6, "{}", row.end_s);
}

#[test]
fn a_record_that_ends_at_200_ft_is_a_landing_not_seen() {
    let mut corners = LANDING[..2].to_vec();
    corners[1] = (1_290.0, 0.5, 0.0, 200.0);
    let mut raw = fly(&runway(), &corners);
    let row = prepare(raw.clone(), &fleet())
        .unwrap()
        .approaches
        .remove(0)
        .row;
    assert_eq!(row.outcome, "landing_unseen");
    assert_eq!(row.runway.as_deref(), Some("09"));
    // Nothing says what 200 ft are: no contact, no QNH.
    assert_eq!(
        (row.height_source.as_str(), row.lowest_height_ft),
        ("none", None)
    );
    // 1004.17 hPa stand 250 ft above the standard pressure (27.3 ft per hPa at sea level).
    raw.header.qnh_hpa = Some(1_004.17);
    let row = prepare(raw, &fleet()).unwrap().approaches.remove(0).row;
    assert_eq!(row.outcome, "landing_unseen");
    assert_eq!(row.height_source, "qnh");
    assert!((row.lowest_height_ft.unwrap() - 200.0).abs() < 5.0);
}

#[test]
fn a_record_that_ends_at_1500_ft_is_incomplete() {
    let corners = [(900.0, 20.0, 0.0, 6_000.0), (1_200.0, 4.6, 0.0, 1_500.0)];
    let mut raw = fly(&runway(), &corners);
    raw.header.qnh_hpa = Some(1_004.17);
    let flight = prepare(raw, &fleet()).unwrap();
    assert_eq!(outcomes_of(&flight), ["incomplete"]);
    assert_eq!(flight.approaches[0].row.end_s, 1_200.0);
}

#[test]
fn cruise_steps_and_spikes_are_no_low_points() {
    let mut altitude = sampled(9_000.0, 1.0, |t| match t {
        t if t < 1_000.0 => 38_000.0,
        t if t < 1_300.0 => 38_000.0 - 10.0 * (t - 1_000.0),
        t if t < 5_000.0 => 35_000.0,
        t if t < 5_300.0 => 35_000.0 + 10.0 * (t - 5_000.0),
        _ => 38_000.0,
    });
    altitude.value[3_000] = 400.0;
    altitude.value[7_000..7_200].fill(600.0);
    let mut raw = RawFlight::default();
    raw.channels
        .insert("pressure_altitude_ft".to_owned(), altitude);
    let speed = sampled(9_000.0, 1.0, |t| 450.0 + (t / 900.0).sin());
    raw.channels.insert("ground_speed_kt".to_owned(), speed);
    // Without radio altitude or position the lowest of the whole record decides: here that is the
    // step itself, so the radio altimeter, silent aloft, is what an operator should map.
    add(&mut raw, "radio_altitude_ft", |_| 8_000.0);
    let flight = prepare(raw, &fleet()).unwrap();
    assert_eq!(outcomes_of(&flight), Vec::<&str>::new());
    let row = flight
        .quality
        .iter()
        .find(|r| r.parameter == "pressure_altitude_ft")
        .unwrap();
    assert_eq!((row.spikes, row.stale), (1, 200));
}

#[test]
fn a_flight_without_altitude_is_refused_and_says_why() {
    let mut raw = RawFlight::default();
    raw.header.flight_id = "f9".to_owned();
    raw.channels.insert(
        "cas_kt".to_owned(),
        channel(vec![0.0, 1.0], vec![140.0, 141.0]),
    );
    let refused = prepare(raw.clone(), &fleet()).unwrap_err();
    assert_eq!(
        (refused.stage.as_str(), refused.reason.as_str()),
        ("prepare", "no altitude")
    );
    assert!(refused.detail.contains("pressure_altitude_ft"));
    let wrong_unit = channel(vec![0.0, 1.0], vec![90_000.0, 91_000.0]);
    raw.channels
        .insert("pressure_altitude_ft".to_owned(), wrong_unit);
    let refused = prepare(raw, &fleet()).unwrap_err();
    assert!(
        refused.detail.contains("all 2 samples"),
        "{}",
        refused.detail
    );
}

#[test]
fn with_no_runway_heights_stand_on_the_end_of_the_record() {
    let mut raw = fly(&runway(), LANDING);
    add(&mut raw, "on_ground", |t| state(t >= 1_310.0));
    let row = prepare(raw, &crate::testing::fleet(Vec::new()))
        .unwrap()
        .approaches
        .remove(0)
        .row;
    assert_eq!(
        (row.airport, row.height_source.as_str()),
        (None, "record_end")
    );
    assert_eq!(row.lowest_height_ft, Some(0.0));
    assert_eq!(row.outcome, "landing");
}
