//! The energy story against what was really flown, by other code: classes at the checkpoints, the
//! checkpoint that decides, and what each configuration loses.

use std::collections::BTreeMap;

use serde::Deserialize;

use crate::fleet::top;
use crate::sample_fleet::review;
use crate::table::{Row, number};
use crate::truth::{Damage, Truth, head, truth};

#[derive(Debug, Deserialize)]
struct Checkpoint {
    flight_id: String,
    approach_no: i32,
    checkpoint: String,
    height_ft: f32,
    cas_kt: f32,
    direct_nm: f32,
    air_distance_to_gate_nm: Option<f32>,
    energy_excess_ft: f32,
    loss_needed_ft_per_nm: Option<f32>,
    energy_class: Option<String>,
}

#[derive(Debug, Deserialize)]
struct Loss {
    flight_id: String,
    approach_no: i32,
    configuration: String,
    drag_ft_per_nm: f32,
    shear_ft_per_nm: f32,
}

/// (flight, approach, what).
type Place = (String, i32, String);

fn place(row: &Row, column: &str) -> Place {
    (
        row["flight_id"].clone(),
        row["approach_no"].parse().unwrap(),
        row[column].clone(),
    )
}

fn damaged() -> Vec<String> {
    let damages = truth::<Damage>(&top().join("sample-data"), "damages.parquet");
    damages.into_iter().map(|damage| damage.flight_id).collect()
}

#[test]
fn checkpoints_are_as_flown() {
    let damaged = damaged();
    let rows: BTreeMap<Place, Row> = review()
        .restricted("checkpoints")
        .into_iter()
        .map(|row| (place(&row, "checkpoint"), row))
        .collect();
    let (mut compared, mut classed, mut otherwise) = (0, 0, 0);
    let mut faults = Vec::new();
    for flown in truth::<Checkpoint>(&top().join("sample-data"), "checkpoints.parquet") {
        if damaged.contains(&flown.flight_id) {
            continue;
        }
        let key = (
            flown.flight_id.clone(),
            flown.approach_no,
            flown.checkpoint.clone(),
        );
        let Some(row) = rows.get(&key) else {
            faults.push(format!("{key:?} is missing"));
            continue;
        };
        compared += 1;
        let mut close = |column: &str, flown: f32, within: f64| match number(row, column) {
            Some(value) if (value - f64::from(flown)).abs() <= within => {}
            value => faults.push(format!("{key:?} {column}: {value:?} for {flown}")),
        };
        // Altimeters with steps of up to 32 ft, airspeeds of a knot, gusts between two samples.
        close("height_geometric_ft", flown.height_ft, 20.0);
        close("cas_kt", flown.cas_kt, 4.0);
        close("direct_nm", flown.direct_nm, 0.07);
        close("energy_excess_ft", flown.energy_excess_ft, 90.0);
        if let Some(nm) = flown.air_distance_to_gate_nm {
            close("air_distance_to_gate_nm", nm, 0.1);
        }
        if let Some(class) = &flown.energy_class {
            classed += 1;
            otherwise += usize::from(row["energy_class"] != *class && !at_an_edge(&flown));
        }
    }
    assert!(
        compared > 15_000 && classed > 15_000,
        "{compared} {classed}"
    );
    assert!(
        faults.len() * 1_000 <= compared,
        "{} of {compared}: {}",
        faults.len(),
        head(&faults)
    );
    // What is not at the edge of its class is never in another one, but for gusts on the very sample.
    assert!(
        otherwise * 2_000 <= classed,
        "{otherwise} of {classed} in another class"
    );
}

/// Whether a step of the recorders can put it into another class: its excess, or what is needed against
/// any of the losses of the three types.
fn at_an_edge(flown: &Checkpoint) -> bool {
    const LOSSES: [f32; 12] = [
        320.0, 400.0, 430.0, 540.0, 290.0, 370.0, 390.0, 500.0, 340.0, 425.0, 470.0, 570.0,
    ];
    let near = |needed: f32| LOSSES.iter().any(|loss| (needed - loss).abs() <= 12.0);
    (flown.energy_excess_ft.abs() - 300.0).abs() <= 45.0
        || flown.loss_needed_ft_per_nm.is_some_and(near)
}

#[test]
fn measured_losses_are_those_of_the_model() {
    let types: BTreeMap<(String, i32), String> = review()
        .restricted("approaches")
        .into_iter()
        .map(|row| {
            let number = row["approach_no"].parse().unwrap();
            (
                (row["flight_id"].clone(), number),
                row["aircraft_type"].clone(),
            )
        })
        .collect();
    let mut flown: BTreeMap<(String, String), Vec<f64>> = BTreeMap::new();
    for loss in truth::<Loss>(&top().join("sample-data"), "losses.parquet") {
        let Some(kind) = types.get(&(loss.flight_id, loss.approach_no)) else {
            continue;
        };
        let all = f64::from(loss.drag_ft_per_nm + loss.shear_ft_per_nm);
        flown
            .entry((kind.clone(), loss.configuration))
            .or_default()
            .push(all);
    }
    let (mut compared, mut inside) = (0, 0);
    for row in review().shared("loss_rates") {
        let Some(median) = number(&row, "median_ft_per_nm") else {
            continue;
        };
        let key = (row["aircraft_type"].clone(), row["configuration"].clone());
        let Some(model) = flown.get_mut(&key).filter(|model| model.len() >= 30) else {
            continue;
        };
        compared += 1;
        model.sort_by(f64::total_cmp);
        let model_median = model[model.len() / 2];
        let (low, high) = (
            number(&row, "median_low").unwrap(),
            number(&row, "median_high").unwrap(),
        );
        inside += usize::from((low..=high).contains(&model_median));
        // Recorders blur the ends of a stretch: by less than a hundredth of the loss.
        let blur = 0.01 * model_median;
        assert!(
            (low - blur..=high + blur).contains(&model_median),
            "{key:?}: model {model_median}, measured {median} ({low} to {high})"
        );
    }
    assert!(compared >= 9, "{compared} configurations");
    // Intervals of 95 %.
    assert!(inside * 10 >= compared * 8, "{inside} of {compared} inside");
}

#[test]
fn outcomes_and_the_decisive_checkpoint_are_those_of_the_truth() {
    // Unstable at 500 ft by truth, against the class by truth.
    let fleet = top().join("sample-data");
    let unstable: BTreeMap<(String, i32), bool> = truth::<Truth>(&fleet, "rules.parquet")
        .into_iter()
        .filter(|row| row.rule == "unstable_500" && row.evaluable)
        .map(|row| ((row.flight_id, row.approach_no), row.event))
        .collect();
    let mut flown: BTreeMap<(String, String), (f64, f64)> = BTreeMap::new();
    for row in truth::<Checkpoint>(&fleet, "checkpoints.parquet") {
        let (Some(class), Some(event)) = (
            row.energy_class,
            unstable.get(&(row.flight_id, row.approach_no)),
        ) else {
            continue;
        };
        let cell = flown.entry((row.checkpoint, class)).or_default();
        cell.0 += 1.0;
        cell.1 += f64::from(u8::from(*event));
    }
    let mut compared = 0;
    for row in review().shared("energy_outcomes") {
        if row["group_kind"] != "fleet" || row["routing"] != "all" {
            continue;
        }
        let Some(approaches) = number(&row, "approaches").filter(|n| *n >= 50.0) else {
            continue;
        };
        compared += 1;
        let (all, events) = flown[&(row["checkpoint"].clone(), row["energy_class"].clone())];
        // Training flights, damaged records and classes at an edge make the counts differ a little.
        assert!(
            (approaches - all).abs() <= 0.06 * all + 12.0,
            "{row:?}: {all}"
        );
        let share = events / all;
        let (low, high) = (
            number(&row, "ci_low").unwrap(),
            number(&row, "ci_high").unwrap(),
        );
        assert!((low..=high).contains(&share), "{row:?}: {share}");
    }
    assert!(compared >= 12, "{compared} cells");
}
