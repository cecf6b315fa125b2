use super::flown::{LANDING, add, fleet, fly, runway, state};
use super::*;
use crate::derive::Segment;
use crate::fleet::RunwayEnd;

fn landed(end: &RunwayEnd) -> PreparedApproach {
    let mut raw = fly(end, LANDING);
    add(&mut raw, "on_ground", |t| state(t >= 1_310.0));
    let mut flight = prepare(raw, &crate::testing::fleet(vec![end.clone()])).unwrap();
    assert_eq!(outcomes_of(&flight), ["landing"]);
    flight.approaches.remove(0)
}

#[test]
fn the_meridian_and_the_southern_hemisphere_change_nothing() {
    let places = [
        (10.0, 20.0, 90.0),
        (-17.755, 179.98, 90.0), // crosses the 180° meridian on the way in
        (-17.755, -179.98, 270.0),
        (-43.5, 172.5, 23.0),
        (64.1, -21.9, 190.0),
    ];
    for (latitude_deg, longitude_deg, bearing_deg) in places {
        let end = RunwayEnd {
            latitude_deg,
            longitude_deg,
            bearing_deg,
            ..runway()
        };
        let approach = landed(&end);
        assert_eq!(approach.row.runway.as_deref(), Some("09"));
        assert!((approach.row.start_distance_nm.unwrap() - 20.0).abs() < 0.05);
        for t in [900.0, 1_000.0, 1_150.0, 1_290.0] {
            let wanted = 20.0 - 0.05 * (t - 900.0);
            for column in ["distance_to_threshold_nm", "along_nm"] {
                let found = value(&approach, column, t);
                assert!(
                    (found - wanted).abs() < 0.05,
                    "{column} {t} {latitude_deg}: {found}"
                );
            }
            assert!(value(&approach, "offset_nm", t).abs() < 0.01);
        }
    }
}

#[test]
fn guidance_names_the_kind_of_approach() {
    let mut raw = fly(&runway(), LANDING);
    add(&mut raw, "on_ground", |t| state(t >= 1_310.0));
    let kind = |raw: &RawFlight| {
        prepare(raw.clone(), &fleet())
            .unwrap()
            .approaches
            .remove(0)
            .row
            .approach_kind
    };
    assert_eq!(kind(&raw), "unknown");
    add(&mut raw, "vertical_path_dev_dots", |t| {
        0.2 * (t / 20.0).sin()
    });
    assert_eq!(kind(&raw), "rnav");
    add(&mut raw, "localizer_dev_dots", |t| 0.1 * (t / 9.0).sin());
    assert_eq!(kind(&raw), "localizer");
    add(&mut raw, "glide_path_dev_dots", |t| 0.1 * (t / 7.0).sin());
    assert_eq!(kind(&raw), "ils");
    add(&mut raw, "ils_tuned", |_| 0.0);
    assert_eq!(kind(&raw), "rnav");
    // Needles at rest are no guidance.
    for name in [
        "vertical_path_dev_dots",
        "localizer_dev_dots",
        "glide_path_dev_dots",
    ] {
        add(&mut raw, name, |_| 0.0);
    }
    assert_eq!(kind(&raw), "visual");
    // But a receiver that was tuned had something to show.
    add(&mut raw, "ils_tuned", |_| 1.0);
    assert_eq!(kind(&raw), "unknown");
}

#[test]
fn channels_that_are_not_there_are_listed_and_the_others_are_not() {
    let approach = landed(&runway());
    let missing: Vec<&str> = approach.row.missing_columns.split(',').collect();
    for name in [
        "flap_lever",
        "gear_down",
        "cas_kt",
        "vfe_kt",
        "flap_uncertain",
    ] {
        assert!(missing.contains(&name), "{name}");
    }
    for name in [
        "pressure_altitude_ft",
        "height_aal_ft",
        "distance_to_threshold_nm",
    ] {
        assert!(!missing.contains(&name), "{name}");
    }
    assert!(missing.is_sorted());
    let mut raw = fly(&runway(), LANDING);
    add(&mut raw, "on_ground", |t| state(t >= 1_310.0));
    // Known on the roll only: nothing an approach rule could read.
    add(&mut raw, "gear_down", |t| {
        if t > 1_315.0 { 1.0 } else { f64::NAN }
    });
    add(&mut raw, "flap_lever", |_| 3.0);
    let row = prepare(raw, &fleet()).unwrap().approaches.remove(0).row;
    let missing: Vec<&str> = row.missing_columns.split(',').collect();
    assert!(missing.contains(&"gear_down") && !missing.contains(&"flap_lever"));
}

#[test]
fn samples_stand_on_whole_seconds_without_holes() {
    let approach = landed(&runway());
    let grid = approach.columns.grid;
    assert_eq!(approach.row.n_samples, grid.n as i64);
    assert_eq!((grid.start_s, grid.step_s), (900.0, 1.0));
    for column in approach.columns.columns.values() {
        assert_eq!(column.len(), grid.n);
        assert!(column.iter().all(|v| !v.is_infinite()));
    }
    // Below 40 kt the roll is over.
    assert!(grid.time(grid.n - 1) <= 1_342.0);
    let roll = approach
        .columns
        .segment
        .iter()
        .filter(|s| **s == Segment::Roll)
        .count();
    assert!((30..=32).contains(&roll), "{roll}");
}

#[test]
fn circling_from_one_runway_to_another() {
    let other = RunwayEnd {
        ident: "18".to_owned(),
        bearing_deg: 180.0,
        ..runway()
    };
    // Down runway 09's final to 2 NM, north of the field by 3 NM, and south to land on 18.
    let corners = [
        (0.0, 14.0, 0.0, 4_000.0),
        (240.0, 2.0, 0.0, 900.0),
        (280.0, 1.0, -1.5, 900.0),
        (320.0, 0.0, -3.0, 900.0),
        (380.0, 0.0, 0.0, 50.0),
        (390.0, 0.0, 0.3, 0.0),
        (420.0, 0.0, 0.9, 0.0),
        (520.0, 0.0, 1.0, 0.0),
    ];
    let mut raw = fly(&runway(), &corners);
    add(&mut raw, "on_ground", |t| state(t >= 390.0));
    let both = crate::testing::fleet(vec![runway(), other]);
    let row = prepare(raw, &both).unwrap().approaches.remove(0).row;
    assert_eq!(
        (row.runway.as_deref(), row.approach_kind.as_str()),
        (Some("18"), "circling")
    );
    assert!((row.touchdown_distance_ft.unwrap() - 1_823.0).abs() < 10.0);
}
