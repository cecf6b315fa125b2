//! Same inputs, same bytes: whatever the threads, and however the records are cut into files.

use std::fs;
use std::path::Path;

use tempfile::TempDir;

use crate::fleet::{Review, glidetally, stderr};

const TABLES: [&str; 9] = [
    "share/tables/rates",
    "share/tables/trend_monthly",
    "share/tables/hotspots",
    "share/tables/coverage",
    "restricted/tables/approaches",
    "restricted/tables/events",
    "restricted/tables/measurements",
    "restricted/tables/gates",
    "restricted/tables/quality",
];

fn assert_same(a: &Path, b: &Path) {
    for table in TABLES {
        for ending in ["parquet", "csv"] {
            let name = format!("{table}.{ending}");
            let (left, right) = (fs::read(a.join(&name)).unwrap(), fs::read(b.join(&name)).unwrap());
            assert!(left == right, "{name} differs");
        }
    }
}

fn demo(flights: &str) -> TempDir {
    let folder = TempDir::new().unwrap();
    let fleet = folder.path().join("fleet");
    let output = glidetally(&[
        "demo", "write", fleet.to_str().unwrap(), "--flights", flights, "--months", "3", "--seed", "7",
    ]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    folder
}

#[test]
fn threads_change_nothing() {
    let fleet = demo("60");
    let fleet = fleet.path().join("fleet");
    let one = Review::run(&fleet, &["--threads", "1"]);
    let many = Review::run(&fleet, &["--threads", "5"]);
    assert_same(one.out.path(), many.out.path());
    assert_eq!(one.report(), many.report());
}

#[test]
fn file_layout_changes_nothing() {
    let folder = demo("40");
    let fleet = folder.path().join("fleet");
    let as_written = Review::run(&fleet, &[]);
    // The same records under other names and one folder deeper are met in another order.
    let deeper = fleet.join("records").join("deeper");
    let files: Vec<_> = fs::read_dir(fleet.join("records"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.is_file())
        .collect();
    assert!(!files.is_empty());
    fs::create_dir(&deeper).unwrap();
    for (number, file) in files.iter().rev().enumerate() {
        let single = !file.file_stem().unwrap().to_string_lossy().contains("part");
        // One-flight files are named after their flight; only files of many may be renamed.
        let name = if single {
            file.file_name().unwrap().to_owned()
        } else {
            format!("{number:04}.parquet").into()
        };
        fs::rename(file, deeper.join(name)).unwrap();
    }
    let moved = Review::run(&fleet, &[]);
    assert_same(as_written.out.path(), moved.out.path());
}

#[test]
fn a_second_review_finds_nothing_new_and_gives_the_same_bytes() {
    let folder = demo("30");
    let fleet = folder.path().join("fleet");
    let first = Review::run(&fleet, &[]);
    let before: Vec<_> = TABLES
        .iter()
        .map(|table| fs::read(first.out.path().join(format!("{table}.parquet"))).unwrap())
        .collect();
    let runs = |out: &Path| fs::read_dir(out.join("restricted/store/runs")).unwrap().count();
    let published = runs(first.out.path());
    let output = glidetally(&[
        "review", fleet.to_str().unwrap(), "--out", first.out.path().to_str().unwrap(),
    ]);
    assert!(stderr(&output).contains("loaded 0 new of"), "{}", stderr(&output));
    assert_eq!(runs(first.out.path()), published, "a run with nothing new publishes nothing");
    let after: Vec<_> = TABLES
        .iter()
        .map(|table| fs::read(first.out.path().join(format!("{table}.parquet"))).unwrap())
        .collect();
    assert!(before == after);
}
