//! A map proposed for a record that nobody described, and used as it is.

use std::fs;

use tempfile::TempDir;

use crate::fleet::{Review, glidetally, real, stderr};

#[test]
fn a_proposed_map_is_accepted_by_a_review() {
    let fleet = TempDir::new().unwrap();
    let records = fleet.path().join("records");
    fs::create_dir(&records).unwrap();
    fs::copy(real("recorder.parquet"), records.join("recorder.parquet")).unwrap();
    let map = fleet.path().join("fleet.toml");
    let arguments = [
        "inspect",
        records.to_str().unwrap(),
        "--map",
        map.to_str().unwrap(),
    ];
    let output = glidetally(&arguments);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let shown = String::from_utf8(output.stdout).unwrap();
    for word in [
        "weight_kg",
        "scale = 0.5",
        "twice the attitude is recorded",
        "drift_as_recorded",
    ] {
        assert!(shown.contains(word), "no `{word}` in:\n{shown}");
    }
    let review = Review::run(fleet.path(), &[]);
    assert_eq!(review.exit(), Some(0), "{}", stderr(&review.output));
    assert_eq!(review.restricted("approaches").len(), 1);

    // A map that somebody edited is never written over.
    let written = fs::read(&map).unwrap();
    let again = glidetally(&arguments);
    assert_eq!(again.status.code(), Some(2));
    assert!(
        stderr(&again).contains("does not exist yet"),
        "{}",
        stderr(&again)
    );
    assert_eq!(fs::read(&map).unwrap(), written);
}

#[test]
fn the_sample_records_are_taken_by_their_proposed_maps() {
    let sample = crate::fleet::top().join("sample-data");
    let fleet = TempDir::new().unwrap();
    let records = fleet.path().join("records");
    fs::create_dir(&records).unwrap();
    for (from, to) in [
        ("corvan-c20/2025-01.parquet", "c.parquet"),
        ("tarn-t7/2025-02.parquet", "t.parquet"),
        (
            "tarn-t7/single/0178338e93b3fbf3.parquet",
            "0178338e93b3fbf3.parquet",
        ),
        ("brae-r3/2025-01.parquet", "b.parquet"),
    ] {
        fs::copy(sample.join("records").join(from), records.join(to)).unwrap();
    }
    let map = fleet.path().join("fleet.toml");
    let types = sample.join("aircraft");
    let output = glidetally(&[
        "inspect",
        records.to_str().unwrap(),
        "--map",
        map.to_str().unwrap(),
        "--aircraft",
        types.to_str().unwrap(),
    ]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let review = Review::run(fleet.path(), &[]);
    assert_eq!(review.exit(), Some(0), "{}", stderr(&review.output));
    assert!(review.restricted("quarantine").is_empty());
    assert!(review.restricted("approaches").len() > 10);
}

#[test]
fn a_path_that_is_not_there_is_named() {
    let output = glidetally(&["inspect", "no-such-folder"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        stderr(&output).contains("no-such-folder"),
        "{}",
        stderr(&output)
    );
}
