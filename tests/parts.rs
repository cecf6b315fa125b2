//! Recordings in parts, one table for each rate, with many flights a table: what is missing is told, and what comes
//! later or changes takes its place, until all is as if it had been there from the beginning.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use tempfile::TempDir;

use crate::fleet::{Review, glidetally, stderr};
use crate::same_bytes::demo;
use crate::store::{assert_as_new, review, text};
use crate::table::{Row, read};
use crate::two_schemas::rewrite::{Flight, flights, write_second};

/// A demo fleet in the second schema, and the same with airspeeds that are 8 kt too high in one recorder's files.
fn fleets(folder: &Path) -> (PathBuf, PathBuf) {
    let first = folder.join("fleet");
    let (as_flown, faster) = (folder.join("second"), folder.join("faster"));
    let recorded = flights(&first);
    write_second(&recorded, &first, &as_flown);
    let mut changed = flights(&first);
    for flight in changed.iter_mut().filter(|flight| is_brae(flight)) {
        flight.raise("cas_kt", 8.0);
    }
    write_second(&changed, &first, &faster);
    (as_flown, faster)
}

fn is_brae(flight: &Flight) -> bool {
    flight.kind == "brae-r3"
}

fn restricted(out: &Path, table: &str) -> Vec<Row> {
    read(&out.join(format!("restricted/tables/{table}.csv")))
}

fn of_flights(rows: &[Row], ids: &BTreeSet<String>) -> Vec<Row> {
    let wanted = |row: &&Row| ids.contains(&row["flight_id"]);
    rows.iter().filter(wanted).cloned().collect()
}

#[test]
fn a_part_is_missing_then_comes_then_changes() {
    let folder = demo("60");
    let (fleet, faster) = fleets(folder.path());
    let out = TempDir::new().unwrap();
    let out = out.path();
    // The month with the most flights of that recorder.
    let records = fleet.join("records/brae-r3");
    let wanted = |month: &str| -> BTreeSet<String> {
        let all = flights(&folder.path().join("fleet"));
        let of = |f: &Flight| is_brae(f) && f.file == month;
        all.into_iter().filter(of).map(|f| f.id).collect()
    };
    let month = ["2025-01", "2025-02", "2025-03"];
    let month = month
        .iter()
        .max_by_key(|month| wanted(month).len())
        .unwrap();
    let ids = wanted(month);
    assert!(ids.len() >= 2, "{ids:?}");

    let (part, aside) = (
        records.join(format!("{month}_8hz.parquet")),
        folder.path().join("aside"),
    );
    fs::rename(&part, &aside).unwrap();
    review(&fleet, out);
    let refused = restricted(out, "quarantine");
    assert_eq!(refused.len(), 1, "{refused:?}");
    let lead = format!("records/brae-r3/{month}_1hz.parquet");
    assert_eq!(
        (&refused[0]["file"], refused[0]["reason"].as_str()),
        (&lead, "part missing")
    );
    let named = format!("{month}_8hz.parquet is not there");
    assert!(refused[0]["detail"].contains(&named), "{refused:?}");
    let others = restricted(out, "approaches");
    assert!(others.len() > 30 && of_flights(&others, &ids).is_empty());

    fs::rename(&aside, &part).unwrap();
    let said = review(&fleet, out);
    assert!(said.contains("loaded 1 new of"), "{said}");
    assert_eq!(restricted(out, "quarantine"), Vec::<Row>::new());
    let all = restricted(out, "approaches");
    let found: BTreeSet<String> = of_flights(&all, &ids)
        .iter()
        .map(|row| row["flight_id"].clone())
        .collect();
    assert_eq!(found, ids);
    assert_as_new(&fleet, out);
    let gates = of_flights(&restricted(out, "gates"), &ids);

    let changed = format!("{month}_1hz.parquet");
    fs::copy(
        faster.join("records/brae-r3").join(&changed),
        records.join(&changed),
    )
    .unwrap();
    let said = review(&fleet, out);
    assert!(
        said.contains("loaded 1 new of") && said.contains("are replaced"),
        "{said}"
    );
    let after = of_flights(&restricted(out, "gates"), &ids);
    let speeds = |rows: &[Row]| -> Vec<f64> {
        let of = |row: &&Row| row["criterion"] == "speed" && !row["value"].is_empty();
        rows.iter()
            .filter(of)
            .map(|row| row["value"].parse().unwrap())
            .collect()
    };
    let (before, after) = (speeds(&gates), speeds(&after));
    assert!(before.len() >= 2 && before.len() == after.len());
    for (before, after) in before.iter().zip(&after) {
        assert!(
            (after - before - 8.0).abs() < 1e-3,
            "{before} kt, {after} kt"
        );
    }
    assert_as_new(&fleet, out);
    assert!(review(&fleet, out).contains("loaded 0 new of"));
}

#[test]
fn an_optional_part_may_come_later() {
    let folder = demo("60");
    let (fleet, _) = fleets(folder.path());
    let toml = fs::read_to_string(fleet.join("fleet.toml")).unwrap();
    let optional = toml.replacen("rate_hz = 1", "rate_hz = 1\noptional_parts = [\"_8hz\"]", 1);
    assert_ne!(toml, optional);
    fs::write(fleet.join("fleet.toml"), optional).unwrap();
    let whole = Review::run(&fleet, &[]);
    assert_eq!(whole.exit(), Some(0), "{}", stderr(&whole.output));
    let aside = folder.path().join("aside");
    let mut taken = Vec::new();
    for entry in fs::read_dir(fleet.join("records/brae-r3")).unwrap() {
        let path = entry.unwrap().path();
        if text(&path).ends_with("_8hz.parquet") {
            taken.push(path);
        }
    }
    fs::create_dir(&aside).unwrap();
    let place = |path: &Path| aside.join(path.file_name().unwrap());
    for path in &taken {
        fs::rename(path, place(path)).unwrap();
    }
    let out = TempDir::new().unwrap();
    let output = glidetally(&["review", text(&fleet), "--out", text(out.path())]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let loads = |rows: Vec<Row>| -> usize {
        let of = |row: &&Row| row["parameter"] == "normal_accel_g" && row["coverage"] != "0.0";
        rows.iter().filter(of).count()
    };
    let without = loads(restricted(out.path(), "quality"));
    let with = loads(whole.restricted("quality"));
    assert!(without > 0 && without < with, "{without}, {with}");
    for path in &taken {
        fs::rename(place(path), path).unwrap();
    }
    let said = review(&fleet, out.path());
    let told = format!("loaded {} new of", taken.len());
    assert!(!taken.is_empty() && said.contains(&told), "{said}");
    assert_as_new(&fleet, out.path());
}
