//! Fleets made so that the answer is known.

use records::fleet::LossRates;
use records::rows::{ApproachRow, ArrivalRow, CheckpointRow, LeverMoveRow, LossRow};

use super::super::facts::{Gates, Places, facts_of};
use super::*;
use crate::rows::{GateRow, MeasurementRow};

/// A fleet under construction.
#[derive(Default)]
struct Made {
    approaches: Vec<ApproachRow>,
    checkpoints: Vec<CheckpointRow>,
    arrivals: Vec<ArrivalRow>,
    moves: Vec<LeverMoveRow>,
    measurements: Vec<MeasurementRow>,
}

impl Made {
    /// One approach: its class at each checkpoint, and how it ended.
    fn add(&mut self, unstable: Option<bool>, classes: &[(&str, &str)]) -> String {
        let number = self.approaches.len();
        let flight_id = format!("f{number:05}");
        self.approaches.push(ApproachRow {
            approach_key: i64::try_from(number).unwrap(),
            flight_id: flight_id.clone(),
            approach_no: 1,
            aircraft_type: Some("type".to_owned()),
            airport: Some("ZAAA".to_owned()),
            runway: Some("09".to_owned()),
            month: Some("2026-01".to_owned()),
            mass_ratio: Some(0.9),
            ..ApproachRow::default()
        });
        for (checkpoint, class) in classes {
            self.checkpoints.push(CheckpointRow {
                flight_id: flight_id.clone(),
                approach_no: 1,
                checkpoint: (*checkpoint).to_owned(),
                energy_class: Some((*class).to_owned()),
                energy_excess_ft: Some(0.0),
                ..CheckpointRow::default()
            });
        }
        self.measurements.push(MeasurementRow {
            approach_key: i64::try_from(number).unwrap(),
            flight_id: flight_id.clone(),
            approach_no: 1,
            rule: "gate_500".to_owned(),
            rule_version: 1,
            status: match unstable {
                Some(true) => "event",
                Some(false) => "clear",
                None => "not_evaluable",
            }
            .to_owned(),
            reason: None,
            level: None,
            events: 0,
            worst: None,
            worst_s: None,
            stabilised: None,
            stabilised_from: None,
            limits_hash: String::new(),
        });
        flight_id
    }

    fn energy(&self) -> Energy {
        let approaches = &self.approaches;
        let input = EnergyInput {
            approaches,
            checkpoints: &facts_of(approaches, &self.checkpoints),
            arrivals: &self.arrivals,
            lever_moves: &facts_of(approaches, &self.moves),
            measured: &facts_of(approaches, &self.measurements),
            gates: &facts_of(approaches, &[gate()]),
        };
        energy(&input, &SummaryOptions::default())
    }
}

fn gate() -> GateRow {
    GateRow {
        flight_id: "f00000".to_owned(),
        approach_no: 1,
        rule: "gate_500".to_owned(),
        gate_column: "height_aal_ft".to_owned(),
        gate_value: 500.0,
        gate_ft: Some(500.0),
        criterion: "speed".to_owned(),
        gate_s: None,
        value: None,
        lower: None,
        upper: None,
        applies: None,
        robustness: None,
        passed: None,
        held_to_50ft: None,
    }
}

#[test]
fn the_earliest_checkpoint_that_tells_the_end_decides() {
    let mut made = Made::default();
    // At 20 NM the class is drawn without regard to the end, from 10 NM in it tells it, at 5 NM too.
    for number in 0..600 {
        let unstable = number % 10 == 0;
        let far = if number % 3 == 0 {
            "drag"
        } else {
            "on_profile"
        };
        let near = if unstable { "gear" } else { "on_profile" };
        made.add(
            Some(unstable),
            &[("20nm", far), ("10nm", near), ("5nm", near)],
        );
    }
    let energy = made.energy();
    assert_eq!(energy.gate_rule.as_deref(), Some("gate_500"));
    let fleet: Vec<&DecisiveRow> = energy
        .decisive
        .iter()
        .filter(|row| row.group_kind == "fleet")
        .collect();
    let decisive: Vec<&str> = fleet
        .iter()
        .filter(|row| row.decisive)
        .map(|row| row.checkpoint.as_str())
        .collect();
    assert_eq!(decisive, ["10nm"]);
    let of = |checkpoint: &str| {
        fleet
            .iter()
            .find(|row| row.checkpoint == checkpoint)
            .unwrap()
    };
    assert_eq!(of("10nm").auc, Some(1.0));
    assert_eq!(of("10nm").unstable_gear_share, Some(1.0));
    assert_eq!(
        of("20nm").why_not.as_deref(),
        Some("tells no more than chance")
    );
    assert_eq!(of("15nm").auc, None, "nobody has a class there");
    assert!(
        fleet.iter().all(|row| row.checkpoint != "500ft"),
        "the gate itself"
    );
}

#[test]
fn outcomes_count_known_verdicts_only() {
    let mut made = Made::default();
    for number in 0..40 {
        made.add(Some(number % 4 == 0), &[("10nm", "drag")]);
    }
    for _ in 0..40 {
        made.add(None, &[("10nm", "drag")]);
    }
    for _ in 0..12 {
        made.add(Some(false), &[("10nm", "on_profile")]);
    }
    let energy = made.energy();
    let row = |class: &str| {
        let mut rows = energy.outcomes.iter();
        rows.find(|row| {
            row.group_kind == "fleet" && row.routing == "all" && row.energy_class == class
        })
        .unwrap()
    };
    assert_eq!(
        (row("drag").approaches, row("drag").unstable),
        (Some(40), Some(10))
    );
    assert_eq!(row("drag").unstable_share, Some(0.25));
    assert_eq!(row("on_profile").approaches, Some(12));
}

#[test]
fn a_small_class_takes_another_with_it() {
    let mut made = Made::default();
    for _ in 0..50 {
        made.add(Some(false), &[("10nm", "on_profile")]);
    }
    for _ in 0..20 {
        made.add(Some(false), &[("10nm", "clean")]);
    }
    for _ in 0..3 {
        made.add(Some(true), &[("10nm", "beyond")]);
    }
    let shown: Vec<String> = made
        .energy()
        .outcomes
        .into_iter()
        .filter(|row| row.group_kind == "fleet" && row.approaches.is_some())
        .map(|row| row.energy_class)
        .collect();
    assert_eq!(shown, ["on_profile"]);
}

fn loss(number: usize, configuration: &str, loss_ft_per_nm: f64, thrust_pct: f64) -> LossRow {
    LossRow {
        flight_id: format!("f{number:05}"),
        approach_no: 1,
        configuration: configuration.to_owned(),
        air_nm: 3.0,
        loss_ft_per_nm,
        thrust_pct,
        cas_kt: 200.0,
    }
}

#[test]
fn losses_are_calibrated_at_idle_and_put_checkpoints_into_other_classes() {
    let mut made = Made::default();
    let mut losses = Vec::new();
    for number in 0_u32..30 {
        made.add(Some(false), &[]);
        let at = usize::try_from(number).unwrap();
        losses.push(loss(at, "clean", 340.0 + f64::from(number % 3), 28.0));
        // Not at idle: would make the clean loss look small.
        if number >= 20 {
            losses.push(loss(at, "flap", 100.0, 45.0));
        }
        if number < 5 {
            losses.push(loss(at, "gear", 700.0, 28.0));
        }
    }
    let table = LossRates {
        clean: 300.0,
        speedbrake: 450.0,
        flap: 400.0,
        gear: 550.0,
    };
    let tables: LossTable = [("type".to_owned(), table)].into();
    let options = SummaryOptions::default();
    let measured = loss_rates(
        &made.approaches,
        &facts_of(&made.approaches, &losses),
        &tables,
        &options,
    );
    let names: Vec<&str> = measured
        .iter()
        .map(|row| row.configuration.as_str())
        .collect();
    assert_eq!(names, ["clean", "gear"], "flap was never seen at idle");
    assert_eq!(measured[0].median_ft_per_nm, Some(341.0));
    assert_eq!(measured[0].approaches, Some(30));
    assert!(measured[1].suppressed.is_some(), "five flights");
    let calibrated = calibrate(&measured, &tables);
    assert_eq!(calibrated["type"].clean, 341.0);
    assert_eq!(calibrated["type"].gear, 550.0, "too few: the table stays");

    let mut checkpoints = vec![CheckpointRow {
        flight_id: "f00000".to_owned(),
        approach_no: 1,
        energy_excess_ft: Some(600.0),
        loss_needed_ft_per_nm: Some(330.0),
        energy_class: Some("drag".to_owned()),
        drag_in_use: Some("none".to_owned()),
        ..CheckpointRow::default()
    }];
    let unknown = CheckpointRow {
        energy_class: None,
        ..checkpoints[0].clone()
    };
    checkpoints.push(unknown);
    reclassify(
        &mut checkpoints,
        &Places::new(&made.approaches),
        &calibrated,
    );
    assert_eq!(checkpoints[0].energy_class.as_deref(), Some("clean"));
    assert_eq!(checkpoints[0].cheapest_drag.as_deref(), Some("clean"));
    assert_eq!(checkpoints[0].loss_available_ft_per_nm, Some(341.0));
    assert_eq!(checkpoints[1].energy_class, None, "unknown stays unknown");
}

#[test]
fn a_frontier_lies_where_it_was_put() {
    let mut made = Made::default();
    // Gear taken with 400 ft of excess: stable from 7 NM out, unstable inside.
    for number in 0_u32..80 {
        let distance = 4.0 + 6.0 * f64::from(number) / 80.0;
        let flight_id = made.add(Some(distance < 7.0), &[]);
        let gear = |to: f64, distance_nm: f64| LeverMoveRow {
            flight_id: flight_id.clone(),
            approach_no: 1,
            channel: "gear_lever".to_owned(),
            from: 1.0 - to,
            to,
            distance_nm: Some(distance_nm),
            energy_excess_ft: Some(400.0),
            ..LeverMoveRow::default()
        };
        made.moves.push(gear(1.0, distance));
        // Up and down again later: only the first time counts.
        made.moves.push(gear(0.0, 3.5));
        made.moves.push(gear(1.0, 3.0));
    }
    let rows = made.energy().recoverability;
    assert_eq!(rows.len(), 1);
    assert_eq!(rows[0].limit.as_deref(), Some("frontier"));
    assert_eq!(rows[0].frontier_nm, Some(7.0));
    assert_eq!((rows[0].approaches, rows[0].stable), (Some(80), Some(40)));
}

#[test]
fn an_accident_makes_no_frontier() {
    let mut made = Made::default();
    for number in 0_u32..60 {
        let flight_id = made.add(Some(number % 20 == 3), &[]);
        made.moves.push(LeverMoveRow {
            flight_id,
            approach_no: 1,
            channel: "flap_lever".to_owned(),
            from: 0.0,
            to: 1.0,
            distance_nm: Some(8.0 + 0.1 * f64::from(number)),
            energy_excess_ft: Some(400.0),
            ..LeverMoveRow::default()
        });
    }
    let rows = made.energy().recoverability;
    assert_eq!(rows[0].frontier_nm, None);
    assert_eq!(rows[0].limit.as_deref(), Some("none seen"));
}

#[test]
fn miles_are_taken_from_the_usual_way_of_a_route() {
    let mut made = Made::default();
    let arrive = |made: &mut Made, unstable: bool, track_nm: f64| {
        let flight_id = made.add(Some(unstable), &[("10nm", "on_profile")]);
        made.arrivals.push(ArrivalRow {
            flight_id,
            approach_no: 1,
            from_direction: Some("north".to_owned()),
            from_bearing_deg: Some(0.0),
            track_nm: Some(track_nm),
            held_speed_nm: Some(6.0),
            held_speed_kt: Some(180.0),
        });
    };
    for _ in 0..40 {
        arrive(&mut made, false, 26.0);
    }
    for number in 0..20 {
        arrive(&mut made, number < 5, 23.0);
    }
    for _ in 0..12 {
        arrive(&mut made, false, 29.0);
    }
    let energy = made.energy();
    let row = |routing: &str| {
        let mut rows = energy.shortcuts.iter();
        rows.find(|row| row.routing == routing && row.airport.is_some())
            .unwrap()
    };
    assert_eq!(row("shortened").usual_track_nm, Some(26.0));
    assert_eq!(row("shortened").miles_taken_median_nm, Some(3.0));
    assert_eq!(row("shortened").unstable_share, Some(0.25));
    assert_eq!(row("usual").approaches, Some(40));
    assert_eq!(row("extended").miles_taken_median_nm, Some(-3.0));
    assert_eq!(row("extended").held_speed_share, Some(1.0));
    // The fleet's outcomes stand apart by it.
    let strata: Vec<(&str, Option<i64>)> = energy
        .outcomes
        .iter()
        .filter(|row| row.group_kind == "fleet")
        .map(|row| (row.routing.as_str(), row.approaches))
        .collect();
    let expected = [
        ("all", 72),
        ("shortened", 20),
        ("usual", 40),
        ("extended", 12),
    ];
    assert_eq!(strata, expected.map(|(routing, n)| (routing, Some(n))));
}

#[test]
fn without_a_gate_at_that_height_nothing_is_said() {
    let mut made = Made::default();
    for _ in 0..30 {
        made.add(Some(false), &[("10nm", "drag")]);
    }
    let input = EnergyInput {
        approaches: &made.approaches,
        checkpoints: &facts_of(&made.approaches, &made.checkpoints),
        arrivals: &made.arrivals,
        lever_moves: &facts_of(&made.approaches, &made.moves),
        measured: &facts_of(&made.approaches, &made.measurements),
        gates: &Gates::default(),
    };
    assert_eq!(
        energy(&input, &SummaryOptions::default()),
        Energy::default()
    );
}
