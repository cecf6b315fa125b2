//! What the approach rows say was flown, against what was flown.

use std::collections::{BTreeMap, BTreeSet};

use serde::Deserialize;

use crate::fleet::top;
use crate::sample_fleet::review;
use crate::table::{Row, number};
use crate::truth::{Damage, key, truth};

#[derive(Debug, Deserialize)]
struct Flown {
    flight_id: String,
    approach_no: i32,
    style: String,
    intercept: String,
    first_flap_nm: Option<f32>,
    gear_down_nm: Option<f32>,
    gear_down_height_aal_ft: Option<f32>,
    landing_flap_height_aal_ft: Option<f32>,
    speedbrake_against_thrust_s: f32,
    threshold_height_ft: Option<f32>,
    threshold_cas_kt: Option<f32>,
    touchdown_sink_fpm: Option<f32>,
}

/// Undamaged approaches with their rows.
fn pairs() -> Vec<(Flown, Row)> {
    let fleet = top().join("sample-data");
    let damaged: BTreeSet<String> = truth::<Damage>(&fleet, "damages.parquet")
        .into_iter()
        .map(|damage| damage.flight_id)
        .collect();
    let mut rows: BTreeMap<(String, i32), Row> = review()
        .restricted("approaches")
        .into_iter()
        .map(|row| (key(&row), row))
        .collect();
    let found: Vec<(Flown, Row)> = truth::<Flown>(&fleet, "approaches.parquet")
        .into_iter()
        .filter(|flown| !damaged.contains(&flown.flight_id))
        .map(|flown| {
            let place = (flown.flight_id.clone(), flown.approach_no);
            let row = rows.remove(&place).unwrap_or_else(|| panic!("{place:?}"));
            (flown, row)
        })
        .collect();
    assert!(found.len() > 1_500, "{} approaches", found.len());
    found
}

/// Column, truth, share of those with a truth that must be known, and the errors that 95 of 100 and
/// that all must stay within.
type Check = (&'static str, fn(&Flown) -> Option<f32>, f64, f64, f64);

// The recorder tells of the lever once in one to two seconds, of the gear once in four at the most: a
// quarter of a mile, and what is sunk in it. Threshold height is as good as the altimeter's level, the
// airspeed there as the gusts between two samples.
const CHECKS: [Check; 7] = [
    ("first_flap_nm", |f| f.first_flap_nm, 0.98, 0.2, 0.3),
    ("gear_down_nm", |f| f.gear_down_nm, 0.98, 0.25, 0.3),
    (
        "gear_down_height_aal_ft",
        |f| f.gear_down_height_aal_ft,
        0.98,
        80.0,
        130.0,
    ),
    (
        "landing_flap_height_aal_ft",
        |f| f.landing_flap_height_aal_ft,
        0.98,
        40.0,
        90.0,
    ),
    (
        "speedbrake_against_thrust_s",
        |f| Some(f.speedbrake_against_thrust_s),
        0.99,
        1.0,
        4.0,
    ),
    (
        "threshold_height_ft",
        |f| f.threshold_height_ft,
        0.99,
        6.0,
        20.0,
    ),
    ("threshold_cas_kt", |f| f.threshold_cas_kt, 0.99, 3.0, 9.0),
];

#[test]
fn places_heights_and_seconds_are_those_that_were_flown() {
    let pairs = pairs();
    for (column, flown, least_known, usual, worst) in CHECKS {
        let expected = pairs.iter().filter_map(|(f, row)| Some((flown(f)?, row)));
        let expected: Vec<(f32, &Row)> = expected.collect();
        let mut errors: Vec<f64> = expected
            .iter()
            .filter_map(|(flown, row)| Some((number(row, column)? - f64::from(*flown)).abs()))
            .collect();
        let known = errors.len() as f64 / expected.len() as f64;
        assert!(known >= least_known, "{column}: known for {known:.3}");
        errors.sort_unstable_by(f64::total_cmp);
        let (p95, all) = (errors[errors.len() * 95 / 100], errors[errors.len() - 1]);
        assert!(p95 <= usual && all <= worst, "{column}: {p95} {all}");
        // What did not happen has no value.
        for (f, row) in &pairs {
            assert!(
                flown(f).is_some() || number(row, column).is_none(),
                "{column}: {row:?}"
            );
        }
    }
}

/// Sink is known where the moment of contact is: of the invented recorders one stores normal
/// acceleration eight times a second, and only its firmer touchdowns are felt. The slope over two
/// radio altitudes a second apart is then good to 120 ft/min, and a switch alone says nothing.
#[test]
fn touchdown_sink_is_right_or_unknown() {
    let pairs = pairs();
    let known: Vec<(f64, f64)> = pairs
        .iter()
        .filter_map(|(f, row)| {
            let sink = number(row, "touchdown_sink_fpm")?;
            Some((sink, f64::from(f.touchdown_sink_fpm.expect("a touchdown"))))
        })
        .collect();
    assert!(known.len() >= 50, "{} known", known.len());
    for (sink, flown) in &known {
        assert!((sink - flown).abs() <= 120.0, "{sink} is not {flown}");
    }
    let bias = known.iter().map(|(s, f)| s - f).sum::<f64>() / known.len() as f64;
    assert!(bias.abs() <= 40.0, "{bias}");
    let corvan = |row: &&Row| row["aircraft_type"] == "corvan-c20";
    let slow = pairs.iter().map(|p| &p.1).filter(corvan);
    assert!(
        slow.into_iter()
            .all(|row| row["touchdown_sink_fpm"].is_empty())
    );
}

/// Nobody bounced in the invented fleet, and the recorders are quick enough to say so.
#[test]
fn no_bounces_are_made_up() {
    let pairs = pairs();
    let touched = || pairs.iter().filter(|p| p.0.touchdown_sink_fpm.is_some());
    let zero = touched()
        .filter(|p| number(&p.1, "bounces") == Some(0.0))
        .count();
    let other = touched().filter(|p| number(&p.1, "bounces").is_some_and(|n| n != 0.0));
    assert_eq!(other.count(), 0);
    assert!(zero as f64 >= 0.99 * touched().count() as f64, "{zero}");
}

#[test]
fn the_path_is_met_as_it_was_planned_to_be() {
    let pairs = pairs();
    for (intercept, least) in [("above", 0.9), ("level", 0.9), ("descending", 0.7)] {
        let of: Vec<&Row> = pairs
            .iter()
            .filter(|p| p.0.intercept == intercept)
            .map(|p| &p.1)
            .collect();
        let same = of.iter().filter(|row| row["path_captured"] == intercept);
        let share = same.count() as f64 / of.len() as f64;
        assert!(share >= least, "{intercept}: {share:.3} of {}", of.len());
    }
}

/// Crews who are late with drag, and those who are rushed, show it in what is measured.
#[test]
fn habits_tell_the_styles_apart() {
    let pairs = pairs();
    let mean = |style: &str, column: &str| {
        let of = pairs.iter().filter(|p| p.0.style == style);
        let known: Vec<f64> = of.filter_map(|p| number(&p.1, column)).collect();
        assert!(known.len() >= 20, "{style} {column}: {}", known.len());
        known.iter().sum::<f64>() / known.len() as f64
    };
    for late in ["late_drag", "rushed"] {
        assert!(mean(late, "drag_late_nm") > mean("early_drag", "drag_late_nm") + 1.0);
        let steep = "steep_fast_clean_s";
        assert!(mean(late, steep) > mean("early_drag", steep) + 10.0);
    }
    let high = "high_stowed_s";
    assert!(mean("rushed", high) > 2.0 * mean("planned", high));
}
