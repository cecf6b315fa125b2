//! A map that lacks the unit of vertical speed: refused as a whole, sink rate from altitude instead.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use tempfile::TempDir;

use crate::fleet::{Review, glidetally, stderr};
use crate::table::{Row, number};

const WITH_UNIT: &str = r#"{ column = "VS_MS", unit = "m/s" }"#;
const WITHOUT: &str = r#"{ column = "VS_MS" }"#;
/// The aircraft type whose recorder writes metres a second.
const TYPE: &str = "tarn-t7";

fn fleet(folder: &Path) -> std::path::PathBuf {
    let fleet = folder.join("fleet");
    let path = fleet.to_str().unwrap();
    let size = ["--profile", "exact", "--flights", "120", "--seed", "31"];
    let written = glidetally(&[&["demo", "write", path][..], &size[..]].concat());
    assert_eq!(written.status.code(), Some(0), "{}", stderr(&written));
    fleet
}

/// Replaces a part of the map that must be there.
fn remap(fleet: &Path, from: &str, to: &str) {
    let file = fleet.join("fleet.toml");
    let text = fs::read_to_string(&file).unwrap();
    assert!(text.contains(from), "{from} in {text}");
    fs::write(&file, text.replace(from, to)).unwrap();
}

fn review(fleet: &Path) -> Review {
    let review = Review::run(fleet, &[]);
    assert_eq!(review.exit(), Some(0), "{}", stderr(&review.output));
    review
}

fn keyed<'a>(rows: &'a [Row], columns: &[&str]) -> BTreeMap<Vec<String>, &'a Row> {
    let key = |row: &Row| columns.iter().map(|c| row[*c].clone()).collect();
    rows.iter().map(|row| (key(row), row)).collect()
}

fn refusals(rows: &[Row]) -> Vec<&Row> {
    let refused = |row: &&Row| row["action"].contains("refused: ");
    rows.iter().filter(refused).collect()
}

#[test]
fn a_vertical_speed_without_its_unit_changes_no_event_and_says_why() {
    let folder = TempDir::new().unwrap();
    let fleet = fleet(folder.path());
    let right = review(&fleet);
    assert_eq!(refusals(&right.restricted("quality")), Vec::<&Row>::new());
    remap(&fleet, WITH_UNIT, WITHOUT);
    let wrong = review(&fleet);

    let approaches = right.restricted("approaches");
    let concerned = approaches.iter().filter(|row| row["aircraft_type"] == TYPE);
    let flights: Vec<&str> = concerned.map(|row| row["flight_id"].as_str()).collect();
    assert!(flights.len() >= 20, "{flights:?}");
    let quality = wrong.restricted("quality");
    let refused = refusals(&quality);
    assert_eq!(refused.len(), flights.len(), "{refused:?}");
    for row in refused {
        assert_eq!(row["parameter"], "vertical_speed_fpm");
        assert!(flights.contains(&row["flight_id"].as_str()), "{row:?}");
        assert_eq!(number(row, "coverage"), Some(0.0));
        let reason = &row["action"];
        assert!(reason.contains("slope of pressure altitude"), "{reason}");
    }
    // What it would have shown says nothing: no rule is asked about it.
    assert_eq!(wrong.restricted("suspect"), Vec::<Row>::new());

    let place = ["flight_id", "approach_no"];
    let others = wrong.restricted("approaches");
    let (before, after) = (keyed(&approaches, &place), keyed(&others, &place));
    assert_eq!(before.len(), after.len());
    for (key, row) in &before {
        for column in [
            "outcome", "airport", "runway", "start_s", "end_s", "cleaned",
        ] {
            assert_eq!(row[column], after[key][column], "{key:?} {column}");
        }
    }
    let event = ["flight_id", "approach_no", "rule"];
    let (before, after) = (right.restricted("events"), wrong.restricted("events"));
    assert!(
        before
            .iter()
            .any(|e| flights.contains(&e["flight_id"].as_str()))
    );
    let (before, after) = (keyed(&before, &event), keyed(&after, &event));
    let names = |events: &BTreeMap<Vec<String>, &Row>| events.keys().cloned().collect::<Vec<_>>();
    assert_eq!(names(&before), names(&after));
    sink_rates(&right, &wrong, &flights);
}

/// At the gates the sink rate from altitude is the recorded one, but for gusts and steps of altitude.
fn sink_rates(right: &Review, wrong: &Review, flights: &[&str]) {
    let gate = ["flight_id", "approach_no", "rule", "criterion"];
    let (before, after) = (right.restricted("gates"), wrong.restricted("gates"));
    let (before, after) = (keyed(&before, &gate), keyed(&after, &gate));
    assert_eq!(before.len(), after.len());
    let mut differences = Vec::new();
    for (key, row) in &before {
        if row["criterion"] != "sink" || !flights.contains(&row["flight_id"].as_str()) {
            continue;
        }
        let (was, is) = (number(row, "value"), number(after[key], "value"));
        assert_eq!(was.is_some(), is.is_some(), "{key:?}");
        differences.extend(was.zip(is).map(|(was, is)| (was - is).abs()));
    }
    assert!(differences.len() >= 20, "{}", differences.len());
    differences.sort_by(f64::total_cmp);
    // Steps of a metre over four seconds are 50 ft/min either way; temperature and gusts come on top.
    assert!(
        differences[differences.len() / 2] <= 60.0,
        "{differences:?}"
    );
    assert!(
        differences[differences.len() - 1] <= 300.0,
        "{differences:?}"
    );
}

#[test]
fn an_altitude_without_its_unit_is_outvoted_by_radio_altitude_and_the_flight_quarantined() {
    let folder = TempDir::new().unwrap();
    let fleet = fleet(folder.path());
    let right = review(&fleet).restricted("approaches");
    remap(
        &fleet,
        r#"{ column = "ALT_M", unit = "m" }"#,
        r#"{ column = "ALT_M" }"#,
    );
    let wrong = Review::run(&fleet, &[]);
    assert_eq!(wrong.exit(), Some(1), "{}", stderr(&wrong.output));
    let quarantine = wrong.restricted("quarantine");
    let concerned = right
        .iter()
        .filter(|row| row["aircraft_type"] == TYPE)
        .count();
    assert_eq!(quarantine.len(), concerned, "{quarantine:?}");
    for row in &quarantine {
        assert_eq!(row["reason"], "no altitude");
        let detail = &row["detail"];
        let start = "pressure_altitude_ft was refused: ";
        assert!(detail.starts_with(start), "{detail}");
        assert!(detail.contains("radio altitude"), "{detail}");
    }
    let others = wrong.restricted("approaches");
    assert!(others.iter().all(|row| row["aircraft_type"] != TYPE));
}
