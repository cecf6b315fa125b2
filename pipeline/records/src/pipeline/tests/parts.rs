//! Recordings that lie in several files.

use std::convert::Infallible;
use std::path::Path;

use super::super::*;
use super::outcomes;
use crate::fleet::open;

/// A fleet whose recordings have a part of 1 Hz and, if it so says, an optional one of 4 Hz.
fn fleet(records: &str) -> tempfile::TempDir {
    let root = tempfile::tempdir().expect("temporary folder");
    let toml = format!(
        "[records]\n{records}\n[[map]]\npressure_altitude_ft = {{ column = \"ALT\" }}\n\
         [[map]]\ncas_kt = {{ column = \"IAS\" }}\n"
    );
    std::fs::write(root.path().join("fleet.toml"), toml).expect("written");
    root
}

const TWO: &str = "parts = [\"_1hz\", \"_4hz\"]";

/// Writes one part: the column at `rate_hz` for each id, from `start_s` on for a minute.
fn part(root: &Path, name: &str, column: &str, rate_hz: u32, ids: &[&str], start_s: f64) {
    let named = ids != [""];
    let mut text = format!("{}time_s,{column}\n", if named { "flight_id," } else { "" });
    for id in ids {
        for k in 0..60 * rate_hz {
            let time_s = start_s + f64::from(k) / f64::from(rate_hz);
            let id = if named {
                format!("{id},")
            } else {
                String::new()
            };
            text.push_str(&format!("{id}{time_s},{}\n", 200 + name.len() as u32 + k));
        }
    }
    let path = root.join("records").join(name);
    std::fs::create_dir_all(path.parent().expect("in a folder")).expect("made");
    std::fs::write(path, text).expect("written");
}

fn refusals(root: &Path) -> Vec<String> {
    let fleet = open(root).expect("opens");
    let files = input_files(&fleet).expect("has files");
    let mut seen = Vec::new();
    let mut sink = |outcome: Outcome| {
        if let Outcome::Quarantined(row) = outcome {
            seen.push(format!("{}: {}: {}", row.file, row.reason, row.detail));
        }
        Ok::<(), Infallible>(())
    };
    prepare_files(&fleet, &files, &files, &mut sink, &|_| {}).expect("the sink takes all");
    seen
}

fn hashes(root: &Path) -> Vec<(String, String)> {
    let files = input_files(&open(root).expect("opens")).expect("has files");
    let both = files.into_iter().map(|f| (f.relative, f.content_hash));
    both.collect()
}

#[test]
fn two_rates_become_one_flight() {
    for (records, low, high) in [
        (TWO, "x7_1hz.csv", "x7_4hz.csv"),
        ("parts = [\"1hz/\", \"4hz/\"]", "1hz/x7.csv", "4hz/x7.csv"),
    ] {
        let root = fleet(records);
        part(root.path(), low, "ALT", 1, &[""], 0.0);
        part(root.path(), high, "IAS", 4, &[""], 0.25);
        assert_eq!(outcomes(root.path()), ["x7"]);
        let fleet = open(root.path()).expect("opens");
        let files = input_files(&fleet).expect("has files");
        assert_eq!(files[0].relative, format!("records/{low}"));
        let [file] = files.as_slice() else {
            panic!("one input")
        };
        assert_eq!(file.files().count(), 2);
        let mut quality = Vec::new();
        let mut sink = |outcome: Outcome| {
            if let Outcome::Flight(flight) = outcome {
                quality = flight.quality;
            }
            Ok::<(), Infallible>(())
        };
        prepare_files(&fleet, &files, &files, &mut sink, &|_| {}).expect("taken");
        for parameter in ["pressure_altitude_ft", "cas_kt"] {
            assert!(
                quality
                    .iter()
                    .any(|row| row.parameter == parameter && row.coverage > 0.9),
                "{parameter}: {quality:?}"
            );
        }
    }
}

#[test]
fn a_change_of_one_part_changes_the_input() {
    let root = fleet(TWO);
    part(root.path(), "x7_1hz.csv", "ALT", 1, &[""], 0.0);
    let alone = hashes(root.path());
    part(root.path(), "x7_4hz.csv", "IAS", 4, &[""], 0.0);
    let both = hashes(root.path());
    part(root.path(), "x7_4hz.csv", "IAS", 4, &[""], 0.25);
    let other = hashes(root.path());
    assert!([&alone, &both, &other].iter().all(|found| found.len() == 1));
    assert!(alone[0].0 == both[0].0 && both[0].0 == other[0].0);
    assert!(alone[0].1 != both[0].1 && both[0].1 != other[0].1);
}

#[test]
fn a_missing_part_is_told_unless_it_is_optional() {
    let root = fleet(TWO);
    part(root.path(), "x7_4hz.csv", "IAS", 4, &[""], 0.0);
    let told = refusals(root.path());
    assert!(
        told[0].starts_with(
            "records/x7_1hz.csv: part missing: records/x7_1hz.csv is not there, and \
             records/x7_4hz.csv is; "
        ),
        "{told:?}"
    );
    let root = fleet("parts = [\"_1hz\", \"_4hz\"]\noptional_parts = [\"_4hz\"]");
    part(root.path(), "x7_1hz.csv", "ALT", 1, &[""], 0.0);
    assert_eq!(outcomes(root.path()), ["x7"]);
    let root = fleet("parts = [\"_1hz\", \"_4hz\"]\noptional_parts = [\"_1hz\"]");
    let message = open(root.path()).expect_err("refused").to_string();
    assert!(
        message.contains("the first part, `_1hz`, is optional"),
        "{message}"
    );
}

#[test]
fn many_flights_in_each_part() {
    let root = fleet(TWO);
    part(
        root.path(),
        "all_1hz.csv",
        "ALT",
        1,
        &["m1", "m2", "m3"],
        0.0,
    );
    part(
        root.path(),
        "all_4hz.csv",
        "IAS",
        4,
        &["m1", "m3", "m4"],
        0.0,
    );
    let missing = "records/all_1hz.csv: part missing";
    assert_eq!(outcomes(root.path()), ["m1", missing, "m3", missing]);
    part(root.path(), "all_4hz.csv", "IAS", 4, &["m3", "m1"], 0.0);
    let other_order = "records/all_1hz.csv: parts in different order";
    assert_eq!(outcomes(root.path()), [other_order]);
}

#[test]
fn parts_that_do_not_fit_together_are_refused_in_words() {
    let root = fleet(TWO);
    part(root.path(), "a_1hz.csv", "ALT", 1, &[""], 0.0);
    part(root.path(), "a_4hz.csv", "ALT", 4, &[""], 0.0);
    part(root.path(), "b_1hz.csv", "ALT", 1, &[""], 0.0);
    part(root.path(), "b_4hz.csv", "IAS", 4, &[""], 1_000.0);
    let told = refusals(root.path());
    assert!(
        told[0].contains(
            "parameter in two parts: pressure_altitude_ft comes from column `ALT` of \
             records/a_1hz.csv and from column `ALT` of records/a_4hz.csv"
        ),
        "{told:?}"
    );
    assert!(
        told[1].contains("parts without a common time: records/b_1hz.csv lasts 59 s"),
        "{told:?}"
    );
}

#[test]
fn a_copy_of_a_part_is_refused_and_a_mark_that_no_file_bears_is_an_error() {
    let root = fleet(TWO);
    part(root.path(), "x7_1hz.csv", "ALT", 1, &[""], 0.0);
    part(root.path(), "x7_4hz.csv", "IAS", 4, &[""], 0.0);
    let records = root.path().join("records");
    std::fs::copy(records.join("x7_1hz.csv"), records.join("x7_1hz (1).csv")).expect("copied");
    assert_eq!(
        outcomes(root.path()),
        ["records/x7_1hz (1).csv: copy of a part", "x7"]
    );
    let root = fleet(TWO);
    part(root.path(), "x7.csv", "ALT", 1, &[""], 0.0);
    let error = input_files(&open(root.path()).expect("opens")).expect_err("refused");
    assert!(
        error.to_string().contains("no record bears one of them"),
        "{error}"
    );
}
