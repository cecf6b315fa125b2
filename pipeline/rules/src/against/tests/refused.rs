//! What cannot be compared is refused, with what to do.

use std::fs;
use std::path::Path;

use super::*;
use crate::store::{rows_to_batch, writer_properties};
use parquet::arrow::ArrowWriter;

fn said(error: Result<impl std::fmt::Debug, AgainstError>, words: &[&str]) {
    let text = error.unwrap_err().to_string();
    for word in words {
        assert!(text.contains(word), "no `{word}` in: {text}");
    }
}

#[test]
fn a_later_review_and_one_without_months_are_refused() {
    let before = risen().reviewed();
    said(
        not_newer(&before, Some("2026-02")),
        &["is of 2026-03, later than 2026-02", "--month"],
    );
    not_newer(&before, Some("2026-03")).unwrap();
    let empty = Made::default().reviewed();
    said(
        not_newer(&empty, Some("2026-03")),
        &["has no month", "flight list"],
    );
}

#[test]
fn another_fleet_is_refused() {
    let mut other = quiet();
    for row in &mut other.trend_monthly {
        row.group = "QXXX".into();
    }
    let compared = |now: &Made| against(&quiet().reviewed(), &now.marks(), &now.tables());
    said(
        compared(&other),
        &["another fleet", "no aircraft type and no airport"],
    );
    // Where no place has a name, the rules have to do.
    for row in &mut other.trend_monthly {
        row.group = "unknown".into();
    }
    compared(&other).unwrap();
    other.marks = Some(run(&[("/rules", json!([rule("wide", "z")]))]));
    said(compared(&other), &["no rule and no group"]);
}

fn write<T: serde::Serialize + serde::de::DeserializeOwned>(
    folder: &Path,
    table: &str,
    rows: &[T],
) {
    let batch = rows_to_batch(table, rows).unwrap();
    let file = fs::File::create(folder.join(format!("{table}.parquet"))).unwrap();
    let mut writer = ArrowWriter::try_new(file, batch.schema(), Some(writer_properties())).unwrap();
    writer.write(&batch).unwrap();
    writer.close().unwrap();
}

/// A share folder as a review writes it, as far as it is read.
fn written(made: &Made, run_json: &str) -> tempfile::TempDir {
    let folder = tempfile::TempDir::new().unwrap();
    let tables = folder.path().join("share/tables");
    fs::create_dir_all(&tables).unwrap();
    fs::write(folder.path().join("share/run.json"), run_json).unwrap();
    write(&tables, "trend_monthly", &made.trend_monthly);
    write(&tables, "trend_slope", &made.trend_slope);
    write(&tables, "hotspots", &made.hotspots);
    write(&tables, "training_topics", &made.training_topics);
    write(&tables, "interventions", &made.interventions);
    folder
}

const RUN: &str = r#"{"program": {"name": "glidetally", "version": "0.9.0"}, "run": 7, "month": null,
    "rules_hash": "pack", "rules": [], "thresholds": {"min_flights": 10, "governing_gate_ft": 500.0, "flags": {}}}"#;

#[test]
fn the_output_folder_and_its_share_folder_read_alike() {
    let made = Made {
        hotspots: vec![place(None, "QCOV", "watch")],
        training_topics: vec![topic(Some(1))],
        ..quiet()
    };
    let folder = written(&made, RUN);
    let whole = read_review(folder.path()).unwrap();
    let share = read_review(&folder.path().join("share")).unwrap();
    assert_eq!(whole.tables(), share.tables());
    assert_eq!(whole.tables(), made.tables());
    assert_eq!(
        (whole.marks.run, whole.marks.version.as_str()),
        (7, "0.9.0")
    );
}

#[test]
fn a_folder_without_a_review_is_refused() {
    let folder = tempfile::TempDir::new().unwrap();
    said(
        read_review(folder.path()),
        &["no review in", "share/run.json"],
    );
    fs::write(folder.path().join("run.json"), RUN).unwrap();
    said(read_review(folder.path()), &["no review in"]);
}

#[test]
fn a_run_json_of_another_kind_is_refused() {
    for (text, words) in [
        ("[]", "cannot be compared with"),
        ("{", "cannot be compared with"),
        (
            &RUN.replace("governing_gate_ft", "gate"),
            "missing field `governing_gate_ft`",
        ),
    ] {
        let folder = written(&quiet(), text);
        said(read_review(folder.path()), &[words, "run.json", "--as-of"]);
    }
}

#[test]
fn tables_that_are_missing_damaged_or_of_another_version_are_refused() {
    let folder = written(&quiet(), RUN);
    let tables = folder.path().join("share/tables");
    // A table of fewer columns.
    write(&tables, "trend_monthly", &[topic(None)]);
    said(
        read_review(folder.path()),
        &[
            "trend_monthly.parquet has no column rule, ",
            "version 0.9.0",
            "--as-of 7",
        ],
    );
    fs::write(tables.join("trend_monthly.parquet"), "none").unwrap();
    said(
        read_review(folder.path()),
        &["trend_monthly.parquet", "all tables"],
    );
    fs::remove_file(tables.join("trend_monthly.parquet")).unwrap();
    said(read_review(folder.path()), &["cannot open", "all tables"]);
}
