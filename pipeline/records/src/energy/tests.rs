//! Against arithmetic that can be done by hand, and the trade facts.

use std::collections::BTreeMap;

use super::moment::last_crossing;
use super::*;
use crate::atmosphere::{FT_PER_KT2, FT_PER_NM, tas_kt};
use crate::derive::{Segment, derive};
use crate::fleet::LossRates;
use crate::testing::corvan;
use crate::timebase::Grid;

const RATES: LossRates = LossRates {
    clean: 330.0,
    speedbrake: 480.0,
    flap: 430.0,
    gear: 580.0,
};

/// An approach at 180 kt TAS and over ground from `from_nm` in, sea level, standard day, one sample a
/// second; heights and the rest by distance.
fn flown(from_nm: f64, fill: &dyn Fn(f64) -> Vec<(&'static str, f64)>) -> Columns {
    let n = (from_nm / 0.05) as usize + 1;
    let mut columns: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    for k in 0..n {
        let distance = from_nm - 0.05 * k as f64;
        let mut values = vec![
            ("distance_to_threshold_nm", distance),
            ("along_nm", distance),
            ("offset_nm", 0.0),
            ("tas_kt", 180.0),
            ("ground_speed_kt", 180.0),
            ("gross_mass_kg", 60_000.0),
            ("flap_lever", 0.0),
            ("gear_down", 0.0),
            ("speedbrake", 0.0),
            ("n1_1_pct", 30.0),
        ];
        let own = fill(distance);
        values.retain(|(name, _)| own.iter().all(|(other, _)| other != name));
        values.extend(own);
        for (name, value) in values {
            columns.entry(name.to_owned()).or_default().push(value);
        }
    }
    let height = columns["height_aal_ft"].clone();
    columns.insert("pressure_altitude_ft".to_owned(), height);
    let mut columns = Columns {
        grid: Grid {
            start_s: 0.0,
            step_s: 1.0,
            n,
        },
        segment: vec![Segment::Approach; n],
        columns,
    };
    derive(&mut columns, Some(&corvan()), &Frame::default());
    columns
}

fn told(columns: &Columns) -> Story {
    story(("f", 1), columns, Some(&corvan()), &Frame::default())
}

#[test]
fn checkpoints_stand_where_they_are_named() {
    // 5,500 ft at 20 NM is 500 ft above 300 ft per NM less 1,000 ft: common practice, no source.
    let columns = flown(25.0, &|d| {
        vec![("height_aal_ft", 275.0 * d), ("cas_kt", 200.0)]
    });
    let story = told(&columns);
    let names: Vec<&str> = story
        .checkpoints
        .iter()
        .map(|row| row.checkpoint.as_str())
        .collect();
    assert_eq!(
        names,
        [
            "20nm", "15nm", "10nm", "7nm", "5nm", "4nm", "1000ft", "3nm", "500ft"
        ]
    );
    let far = &story.checkpoints[0];
    assert!((far.distance_nm.unwrap() - 20.0).abs() < 1e-9);
    assert!((far.height_over_plan_ft.unwrap() - 500.0).abs() < 1e-6);
    assert_eq!(far.drag_in_use.as_deref(), Some("none"));
    assert_eq!(far.detour_nm, Some(0.0));
    let low = &story.checkpoints[6];
    assert!((low.height_aal_ft.unwrap() - 1_000.0).abs() < 1e-6);
}

#[test]
fn the_loss_needed_leads_to_vapp_at_the_gate() {
    let columns = flown(25.0, &|d| {
        vec![("height_aal_ft", 330.0 * d), ("cas_kt", 178.0)]
    });
    let row = &told(&columns).checkpoints[2];
    assert_eq!(row.checkpoint, "10nm");
    // The path is at 1,000 ft where 950 ft of it are left above the 50 ft crossing height.
    let gate_nm = 950.0 / (3f64.to_radians().tan() * FT_PER_NM);
    let air_nm = 10.0 - gate_nm;
    assert!((row.air_distance_to_gate_nm.unwrap() - air_nm).abs() < 1e-6);
    let corvan = corvan();
    let vapp = corvan.vref_kt(60_000.0, None) + corvan.speeds.vapp_over_vref_kt;
    let aim = 1_000.0 + FT_PER_KT2 * tas_kt(vapp, 1_000.0, 0.0).powi(2);
    let needed = (3_300.0 + FT_PER_KT2 * 180f64.powi(2) - aim) / air_nm;
    assert!((row.loss_needed_ft_per_nm.unwrap() - needed).abs() < 1e-6);
}

#[test]
fn where_the_gate_was_not_reached_the_wind_of_the_moment_foresees_the_air() {
    let mut columns = flown(12.0, &|d| {
        vec![
            ("height_aal_ft", 330.0 * d),
            ("cas_kt", 178.0),
            ("ground_speed_kt", 150.0),
        ]
    });
    // Broken off at 6 NM.
    for (segment, d) in columns
        .segment
        .iter_mut()
        .zip(&columns.columns["distance_to_threshold_nm"])
    {
        if *d < 6.0 {
            *segment = Segment::Missed;
        }
    }
    let rows = told(&columns).checkpoints;
    assert_eq!(rows.len(), 2, "10 and 7 NM");
    let gate_nm = 950.0 / (3f64.to_radians().tan() * FT_PER_NM);
    let foreseen = (10.0 - gate_nm) * 180.0 / 150.0;
    assert!((rows[0].air_distance_to_gate_nm.unwrap() - foreseen).abs() < 1e-6);
}

#[test]
fn the_class_is_the_cheapest_drag_that_suffices() {
    let class = |excess, needed| energy_class(excess, needed, Some(&RATES));
    assert_eq!(class(-301.0, Some(100.0)), Some(EnergyClass::Low));
    assert_eq!(class(-300.0, Some(100.0)), Some(EnergyClass::OnProfile));
    assert_eq!(class(300.0, Some(900.0)), Some(EnergyClass::OnProfile));
    assert_eq!(class(301.0, Some(330.0)), Some(EnergyClass::Clean));
    assert_eq!(class(301.0, Some(330.1)), Some(EnergyClass::Drag));
    assert_eq!(class(301.0, Some(480.0)), Some(EnergyClass::Drag));
    assert_eq!(class(301.0, Some(480.1)), Some(EnergyClass::Gear));
    assert_eq!(class(301.0, Some(580.1)), Some(EnergyClass::Beyond));
    assert_eq!(class(301.0, None), Some(EnergyClass::Beyond));
    assert_eq!(class(f64::NAN, None), None);
    assert_eq!(energy_class(301.0, Some(330.0), None), None);
    assert_eq!(cheapest_drag(400.0, &RATES), Some(Drag::Flap));
    assert_eq!(cheapest_drag(450.0, &RATES), Some(Drag::Speedbrake));
}

#[test]
fn unknown_drag_is_not_no_drag() {
    let columns = flown(25.0, &|d| {
        vec![
            ("height_aal_ft", 300.0 * d),
            ("cas_kt", 178.0),
            ("speedbrake", f64::NAN),
        ]
    });
    let rows = told(&columns).checkpoints;
    assert_eq!(rows[0].drag_in_use, None);
    assert_eq!(rows[0].loss_available_ft_per_nm, None);
    assert!(
        rows[0].energy_class.is_some(),
        "the class rests on the energy alone"
    );
    // Gear is the strongest: what else is out does not matter.
    let columns = flown(25.0, &|d| {
        vec![
            ("height_aal_ft", 300.0 * d),
            ("cas_kt", 178.0),
            ("speedbrake", f64::NAN),
            ("gear_down", 1.0),
        ]
    });
    assert_eq!(
        told(&columns).checkpoints[0].drag_in_use.as_deref(),
        Some("gear")
    );
}

#[test]
fn a_move_carries_the_limit_of_the_new_position() {
    let columns = flown(25.0, &|d| {
        let lever = if d < 14.0 { 1.0 } else { 0.0 };
        let gear = if d < 6.0 { 1.0 } else { 0.0 };
        vec![
            ("height_aal_ft", 300.0 * d),
            ("cas_kt", 208.0),
            ("flap_lever", lever),
            ("gear_down", gear),
        ]
    });
    let moves = told(&columns).moves;
    assert_eq!(moves.len(), 2);
    let limit = corvan().lever_limit_kt(1.0).unwrap();
    assert_eq!(moves[0].channel, "flap_lever");
    assert_eq!((moves[0].from, moves[0].to), (0.0, 1.0));
    assert_eq!(moves[0].margin_kt, Some(limit - 208.0));
    assert!((moves[0].distance_nm.unwrap() - 13.95).abs() < 1e-9);
    assert_eq!(moves[1].channel, "gear_down");
    assert_eq!(
        moves[1].margin_kt, None,
        "it was selected before it arrived"
    );
}

#[test]
fn losses_are_energy_over_air() {
    // Clean at constant speed down 318 ft per NM: loses that; then level with gear, 177 ft per NM for
    // 10 kt per NM at 200 kt (job of the trade: energy height of the two speeds).
    let columns = flown(25.0, &|d| {
        vec![("height_aal_ft", 318.4 * d), ("cas_kt", 178.0)]
    });
    let losses = told(&columns).losses;
    assert_eq!(losses.len(), 1);
    assert_eq!(losses[0].configuration, "clean");
    assert!((losses[0].loss_ft_per_nm - 318.4).abs() < 1e-6);
    assert!((losses[0].thrust_pct - 30.0).abs() < 1e-9);
    let columns = flown(25.0, &|d| {
        vec![
            ("height_aal_ft", 3_000.0),
            ("tas_kt", 200.0 + 10.0 * (d - 12.0)),
            ("cas_kt", 178.0),
        ]
    });
    let energy = columns.values("energy_height_ft").unwrap();
    let distance = columns.values("distance_to_threshold_nm").unwrap();
    let (a, b) = (k_at(distance, 12.5), k_at(distance, 11.5));
    // 0.08854 · 200 · 10 = 177 over a mile around 200 kt.
    assert!(
        (energy[a] - energy[b] - 177.08).abs() < 0.1,
        "{}",
        energy[a] - energy[b]
    );
}

fn k_at(distance: &[f64], nm: f64) -> usize {
    distance.iter().position(|d| (d - nm).abs() < 1e-6).unwrap()
}

#[test]
fn thrust_ends_a_stretch() {
    let columns = flown(25.0, &|d| {
        let thrust = if d > 12.0 { 30.0 } else { 55.0 };
        vec![
            ("height_aal_ft", 318.4 * d),
            ("cas_kt", 178.0),
            ("n1_1_pct", thrust),
        ]
    });
    let losses = told(&columns).losses;
    assert!(
        (losses[0].air_nm - 12.95).abs() < 0.06,
        "{}",
        losses[0].air_nm
    );
}

#[test]
fn the_last_crossing_counts_and_a_gap_hides_it() {
    let mut columns = flown(25.0, &|d| {
        vec![("height_aal_ft", 300.0 * d), ("cas_kt", 178.0)]
    });
    let height: Vec<f64> = vec![1_200.0, 900.0, 1_100.0, 1_050.0, 950.0, 700.0];
    columns.grid.n = 6;
    columns.segment.truncate(6);
    columns
        .columns
        .insert("height_aal_ft".to_owned(), height.clone());
    let at = last_crossing(&columns, "height_aal_ft", 1_000.0).unwrap();
    assert_eq!(at.k, 3);
    assert!((at.share - 0.5).abs() < 1e-12);
    let mut holed = height;
    holed[3] = f64::NAN;
    columns.columns.insert("height_aal_ft".to_owned(), holed);
    assert_eq!(last_crossing(&columns, "height_aal_ft", 1_000.0), None);
}

#[test]
fn a_held_speed_is_the_longest_stretch_within_three_knots() {
    let columns = flown(25.0, &|d| {
        // Slowing but for five miles at 200 kt, 2 kt up and down.
        let cas = if d > 14.0 {
            200.0 + 10.0 * (d - 14.0)
        } else if d > 9.0 {
            200.0 + 2.0 * (20.0 * d).sin()
        } else {
            200.0 - 10.0 * (9.0 - d)
        };
        vec![("height_aal_ft", 300.0 * d), ("cas_kt", cas)]
    });
    let arrival = &told(&columns).arrivals[0];
    let held = arrival.held_speed_nm.unwrap();
    // Between 198 and 204 kt: the five miles, 0.4 NM before them and 0.2 NM after.
    assert!((held - 5.6).abs() < 0.06, "{held}");
    assert!((arrival.held_speed_kt.unwrap() - 200.0).abs() < 1.0);
    assert_eq!(arrival.track_nm.map(|nm| (nm * 20.0).round()), Some(400.0));
    assert_eq!(
        arrival.from_direction, None,
        "the runway's bearing is not known"
    );
}

#[test]
fn the_speedbrake_moves_too() {
    let columns = flown(25.0, &|d| {
        let brake = if (8.0..12.0).contains(&d) { 0.5 } else { 0.0 };
        vec![
            ("height_aal_ft", 300.0 * d),
            ("cas_kt", 208.0),
            ("speedbrake", brake),
        ]
    });
    let moves = told(&columns).moves;
    let told: Vec<(&str, f64)> = moves
        .iter()
        .map(|row| (row.channel.as_str(), row.to))
        .collect();
    assert_eq!(told, [("speedbrake", 1.0), ("speedbrake", 0.0)]);
    assert_eq!(moves[0].limit_kt, None);
}
