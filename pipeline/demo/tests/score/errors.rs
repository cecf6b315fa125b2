//! What cannot be scored says which file, and what to do.

use std::fs;

use demo::{ScoreError, score};

use crate::cases;
use crate::world::Says::Known;
use crate::world::World;

fn message(world: &World) -> String {
    world.score().unwrap_err().to_string()
}

#[test]
fn missing_tables_say_what_was_expected() {
    let (_folder, fleet, out) = cases().write();
    let error = score(&out, &out).unwrap_err().to_string();
    assert!(
        error.contains("truth/approaches.parquet` is missing"),
        "{error}"
    );
    assert!(
        error.contains("only fleets written by `glidetally demo write`"),
        "{error}"
    );
    let error = score(&fleet, &fleet).unwrap_err().to_string();
    assert!(
        error.contains("finished `glidetally review FLEET --out OUT`"),
        "{error}"
    );
    for (table, is_truth) in [
        (fleet.join("truth/rules.parquet"), true),
        (out.join("restricted/tables/gates.parquet"), false),
    ] {
        let bytes = fs::read(&table).unwrap();
        fs::remove_file(&table).unwrap();
        let error = score(&fleet, &out).unwrap_err();
        assert_eq!(
            matches!(error, ScoreError::NoTruth { .. }),
            is_truth,
            "{error}"
        );
        assert_eq!(
            matches!(error, ScoreError::NoReview { .. }),
            !is_truth,
            "{error}"
        );
        fs::write(&table, &bytes[..bytes.len() / 2]).unwrap();
        let error = score(&fleet, &out).unwrap_err();
        assert!(matches!(error, ScoreError::Parquet { .. }), "{error}");
        assert!(
            error.to_string().contains(table.to_str().unwrap()),
            "{error}"
        );
        fs::write(&table, bytes).unwrap();
    }
    score(&fleet, &out).unwrap();
}

#[test]
fn a_table_of_another_form_names_its_column() {
    let (_folder, fleet, out) = cases().write();
    let events = out.join("restricted/tables/events.parquet");
    fs::copy(out.join("restricted/tables/gates.parquet"), &events).unwrap();
    let error = score(&fleet, &out).unwrap_err().to_string();
    assert!(
        error.contains("events.parquet` has no column `worst_unit`, only flight_id,"),
        "{error}"
    );
}

#[test]
fn words_that_are_not_known_are_refused() {
    let mut world = cases();
    world.measurements[3].status = "perhaps".into();
    let error = message(&world);
    assert!(
        error.contains("column `status` says `perhaps`, expected event, clear"),
        "{error}"
    );
}

#[test]
fn rows_that_come_twice_are_refused() {
    let mut world = cases();
    world.measurements.push(world.measurements[0].clone());
    let error = message(&world);
    assert!(
        error.contains("two rows for approach 1 of flight found and high"),
        "{error}"
    );
    let mut world = cases();
    world.know("quiet", 1, "high", Known(0.0, 100.0, 5.0));
    assert!(message(&world).contains("rules.parquet` has two rows"));
    let mut world = cases();
    world.fly_only("quiet", 1);
    assert!(message(&world).contains("two rows for approach 1 of flight quiet"));
}

#[test]
fn rows_about_unknown_approaches_are_refused() {
    let mut world = cases();
    world.know("nobody", 4, "high", Known(0.0, 100.0, 5.0));
    let error = message(&world);
    assert!(
        error.contains("speaks of approach 4 of flight nobody, which"),
        "{error}"
    );
    let mut world = cases();
    world.judge("quiet", 2, "high", "clear", None);
    assert!(message(&world).contains("approaches.parquet` does not have"));
}

#[test]
fn a_review_of_another_fleet_is_refused() {
    let mut world = cases();
    for found in &mut world.found {
        found.flight_id.push('x');
    }
    let error = world.score().unwrap_err();
    assert!(matches!(error, ScoreError::Unrelated { .. }), "{error}");
}
