//! Errors a person can act on: which file, which line or column, what was expected, what to do.

use std::fs;

use tempfile::TempDir;

use crate::fleet::{RECORDER, Review, folder, glidetally, real, stderr};

fn refused(toml: &str, words: &[&str]) {
    let fleet = folder(toml, &[real("recorder.parquet")]);
    let review = Review::run(fleet.path(), &[]);
    let text = stderr(&review.output);
    assert_eq!(review.exit(), Some(2), "{text}");
    for word in words {
        assert!(text.contains(word), "no `{word}` in:\n{text}");
    }
    assert!(
        !review.out.path().join("share").exists(),
        "half an output was left behind"
    );
}

#[test]
fn a_column_that_no_file_has() {
    // The map is chosen by the columns a file has: a file that fits none is refused by name.
    let toml = RECORDER.replace("\"cas_kt\", unit", "\"cas_knots\", unit");
    let fleet = folder(&toml, &[real("recorder.parquet")]);
    let review = Review::run(fleet.path(), &[]);
    let text = stderr(&review.output);
    assert_eq!(review.exit(), Some(1), "{text}");
    let quarantine = review.restricted("quarantine");
    assert_eq!(quarantine.len(), 1);
    let detail = &quarantine[0]["detail"];
    assert!(
        quarantine[0]["file"].contains("recorder.parquet"),
        "{quarantine:?}"
    );
    for word in ["cas_knots", "cas_kt"] {
        assert!(detail.contains(word), "no `{word}` in: {detail}");
    }
}

#[test]
fn a_unit_that_does_not_fit() {
    let toml = RECORDER.replace(
        "column = \"cas_kt\", unit = \"kt\"",
        "column = \"cas_kt\", unit = \"degC\"",
    );
    refused(&toml, &["fleet.toml:", "degC", "cas_kt"]);
}

#[test]
fn a_key_that_does_not_exist() {
    refused(
        &RECORDER.replace("[records]", "[recods]"),
        &["fleet.toml:", "recods", "records"],
    );
}

#[test]
fn a_parameter_that_no_rule_can_read() {
    let rules = TempDir::new().unwrap();
    let text = fs::read_to_string(crate::fleet::top().join("rules/high_at_15nm.toml")).unwrap();
    fs::write(
        rules.path().join("high_at_15nm.toml"),
        text.replace(
            "height_over_rule_of_three_ft",
            "height_over_rule_of_tree_ft",
        ),
    )
    .unwrap();
    let fleet = folder(RECORDER, &[real("recorder.parquet")]);
    let review = Review::run(fleet.path(), &["--rules", rules.path().to_str().unwrap()]);
    let text = stderr(&review.output);
    assert_eq!(review.exit(), Some(2), "{text}");
    for word in [
        "high_at_15nm.toml:17:",
        "height_over_rule_of_tree_ft",
        "height_over_rule_of_three_ft",
    ] {
        assert!(text.contains(word), "no `{word}` in:\n{text}");
    }
}

#[test]
fn a_runway_table_that_is_named_but_missing() {
    let toml = format!("[fleet]\nrunways = \"nowhere.csv\"\n{RECORDER}");
    refused(&toml, &["nowhere.csv", "runways"]);
}

#[test]
fn no_runway_table_is_told_and_the_run_goes_on() {
    let fleet = folder(RECORDER, &[real("recorder.parquet")]);
    let review = Review::run(fleet.path(), &[]);
    assert_eq!(review.exit(), Some(0));
    assert!(
        stderr(&review.output).contains("runways.csv"),
        "{}",
        stderr(&review.output)
    );
}

#[test]
fn an_empty_folder() {
    let fleet = TempDir::new().unwrap();
    let review = Review::run(fleet.path(), &[]);
    let text = stderr(&review.output);
    assert_eq!(review.exit(), Some(2), "{text}");
    assert!(text.contains(".parquet"), "{text}");
    assert!(text.contains(fleet.path().to_str().unwrap()), "{text}");
}

#[test]
fn a_truncated_file_is_quarantined_and_the_others_go_on() {
    let fleet = folder(RECORDER, &[real("recorder.parquet")]);
    let bytes = fs::read(real("recorder.parquet")).unwrap();
    fs::write(
        fleet.path().join("records/cut.parquet"),
        &bytes[..bytes.len() / 2],
    )
    .unwrap();
    let review = Review::run(fleet.path(), &[]);
    assert_eq!(review.exit(), Some(1), "{}", stderr(&review.output));
    assert_eq!(review.restricted("approaches").len(), 1);
    let quarantine = review.restricted("quarantine");
    assert_eq!(quarantine.len(), 1);
    assert!(
        quarantine[0]["file"].contains("cut.parquet"),
        "{quarantine:?}"
    );
    assert_eq!(quarantine[0]["stage"], "read");
}

#[test]
fn a_file_without_a_row_does_not_vanish() {
    use arrow::array::RecordBatch;
    use parquet::arrow::ArrowWriter;
    use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;

    let fleet = folder(RECORDER, &[real("recorder.parquet")]);
    let like = fs::File::open(real("recorder.parquet")).unwrap();
    let schema = ParquetRecordBatchReaderBuilder::try_new(like)
        .unwrap()
        .schema()
        .clone();
    let file = fs::File::create(fleet.path().join("records/empty.parquet")).unwrap();
    let mut writer = ArrowWriter::try_new(file, schema.clone(), None).unwrap();
    writer.write(&RecordBatch::new_empty(schema)).unwrap();
    writer.close().unwrap();
    let review = Review::run(fleet.path(), &[]);
    assert_eq!(review.exit(), Some(1), "{}", stderr(&review.output));
    let quarantine = review.restricted("quarantine");
    assert_eq!(quarantine.len(), 1, "{quarantine:?}");
    assert!(
        quarantine[0]["file"].contains("empty.parquet"),
        "{quarantine:?}"
    );
}

#[test]
fn an_output_that_cannot_be_written() {
    let fleet = folder(RECORDER, &[real("recorder.parquet")]);
    let folder = TempDir::new().unwrap();
    let file = folder.path().join("taken");
    fs::write(&file, "a file, not a folder").unwrap();
    let output = glidetally(&[
        "review",
        fleet.path().to_str().unwrap(),
        "--out",
        file.to_str().unwrap(),
    ]);
    let text = stderr(&output);
    assert_eq!(output.status.code(), Some(2), "{text}");
    assert!(text.contains("taken") && text.contains("--out"), "{text}");
}

#[test]
fn a_demo_fleet_never_overwrites() {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("mine.txt"), "keep me").unwrap();
    let output = glidetally(&[
        "demo",
        "write",
        folder.path().to_str().unwrap(),
        "--flights",
        "3",
    ]);
    assert_eq!(output.status.code(), Some(2), "{}", stderr(&output));
    assert_eq!(
        fs::read_to_string(folder.path().join("mine.txt")).unwrap(),
        "keep me"
    );
}

#[test]
fn an_output_among_the_records_is_refused() {
    let fleet = folder(RECORDER, &[real("recorder.parquet")]);
    let out = fleet.path().join("records/out");
    let output = glidetally(&[
        "review",
        fleet.path().to_str().unwrap(),
        "--out",
        out.to_str().unwrap(),
    ]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        stderr(&output).contains("would be read as input"),
        "{}",
        stderr(&output)
    );
}

#[test]
fn a_refused_file_that_comes_again_good_clears_its_refusal() {
    let fleet = folder(RECORDER, &[real("recorder.parquet")]);
    let cut = fleet.path().join("records/cut.parquet");
    let bytes = fs::read(real("surveillance/021b709f90.parquet")).unwrap();
    let toml = fs::read_to_string(fleet.path().join("fleet.toml")).unwrap();
    let tracks = crate::fleet::SURVEILLANCE.split("[[map]]").nth(1).unwrap();
    fs::write(
        fleet.path().join("fleet.toml"),
        format!("{toml}\n[[map]]{tracks}"),
    )
    .unwrap();
    fs::write(&cut, &bytes[..bytes.len() / 2]).unwrap();
    let review = Review::run(fleet.path(), &[]);
    assert_eq!(review.exit(), Some(1), "{}", stderr(&review.output));
    fs::write(&cut, &bytes).unwrap();
    let again = glidetally(&[
        "review",
        fleet.path().to_str().unwrap(),
        "--out",
        review.out.path().to_str().unwrap(),
    ]);
    assert_eq!(again.status.code(), Some(0), "{}", stderr(&again));
    assert!(review.restricted("quarantine").is_empty());
    assert_eq!(review.restricted("approaches").len(), 2);
}

#[test]
fn cells_of_one_or_two_flights_cannot_be_asked_for() {
    refused(
        &format!("{RECORDER}\n[privacy]\nmin_flights = 1\n"),
        &["fleet.toml:", "min_flights", "3"],
    );
}

#[test]
fn a_month_without_an_approach() {
    let fleet = crate::fleet::top().join("sample-data");
    let review = Review::run(&fleet, &["--month", "2031-01"]);
    let text = stderr(&review.output);
    assert_eq!(review.exit(), Some(2), "{text}");
    assert!(
        text.contains("2031-01") && text.contains("2025-01 to 2026-02"),
        "{text}"
    );
}

#[test]
fn a_copy_of_the_shipped_rules_keeps_its_invented_limits() {
    let rules = crate::fleet::top().join("rules");
    let fleet = folder(RECORDER, &[real("recorder.parquet")]);
    let review = Review::run(fleet.path(), &["--rules", rules.to_str().unwrap()]);
    assert_eq!(review.exit(), Some(0), "{}", stderr(&review.output));
    assert!(review.report().contains("invented for the demo"));
    assert!(!review.report().contains("entered by the operator"));
}
