//! Same inputs, same bytes: whatever the threads, and however the records are cut into files.

use std::fs;
use std::path::{Path, PathBuf};

use arrow::array::{AsArray, RecordBatch};
use arrow::compute::{cast, concat_batches};
use arrow::datatypes::DataType;
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use tempfile::TempDir;

use crate::fleet::{Review, glidetally, stderr};

pub(crate) const TABLES: [&str; 31] = [
    "share/tables/spreads",
    "share/tables/gate_criteria",
    "share/tables/go_arounds",
    "share/tables/rates",
    "share/tables/trend_monthly",
    "share/tables/hotspots",
    "share/tables/trend_slope",
    "share/tables/training_topics",
    "share/tables/interventions",
    "share/tables/precision",
    "share/tables/recovery",
    "share/tables/against",
    "restricted/tables/second_look",
    "restricted/tables/examples",
    "share/tables/coverage",
    "restricted/tables/approaches",
    "restricted/tables/events",
    "restricted/tables/measurements",
    "restricted/tables/gates",
    "restricted/tables/quality",
    "restricted/tables/headers",
    "restricted/tables/checkpoints",
    "restricted/tables/lever_moves",
    "restricted/tables/losses",
    "restricted/tables/arrivals",
    "share/tables/energy_outcomes",
    "share/tables/decisive_checkpoint",
    "share/tables/loss_rates",
    "share/tables/shortcuts",
    "share/tables/recoverability",
    "restricted/tables/suspect",
];

pub(crate) fn assert_same(a: &Path, b: &Path) {
    for table in TABLES {
        for ending in ["parquet", "csv"] {
            let name = format!("{table}.{ending}");
            let (left, right) = (
                fs::read(a.join(&name)).unwrap(),
                fs::read(b.join(&name)).unwrap(),
            );
            assert!(left == right, "{name} differs");
        }
    }
}

pub(crate) fn demo(flights: &str) -> TempDir {
    let folder = TempDir::new().unwrap();
    let fleet = folder.path().join("fleet");
    let output = glidetally(&[
        "demo",
        "write",
        fleet.to_str().unwrap(),
        "--flights",
        flights,
        "--months",
        "3",
        "--seed",
        "7",
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

/// Every Parquet file below a folder, by path.
pub(crate) fn parquet_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files.extend(parquet_files(&path));
        } else {
            files.push(path);
        }
    }
    files.sort();
    files
}

pub(crate) fn write(path: &Path, batch: &RecordBatch) {
    let file = fs::File::create(path).unwrap();
    let mut writer = ArrowWriter::try_new(file, batch.schema(), None).unwrap();
    writer.write(batch).unwrap();
    writer.close().unwrap();
}

/// Cuts a file of many flights into files of one flight each, named so that they sort backwards.
fn cut_by_flight(file: &Path, into: &Path, taken: &mut usize) -> bool {
    let reader = ParquetRecordBatchReaderBuilder::try_new(fs::File::open(file).unwrap()).unwrap();
    let schema = reader.schema().clone();
    let batches: Vec<RecordBatch> = reader.build().unwrap().map(Result::unwrap).collect();
    let all = concat_batches(&schema, &batches).unwrap();
    let Some(ids) = ["flight_id", "FLT", "flight"]
        .iter()
        .find_map(|name| all.column_by_name(name))
    else {
        return false;
    };
    let ids = cast(ids, &DataType::Utf8).unwrap();
    let ids = ids.as_string::<i32>();
    let mut from = 0;
    for to in 1..=all.num_rows() {
        if to == all.num_rows() || ids.value(to) != ids.value(from) {
            *taken += 1;
            let name = format!("{:04}.parquet", 9999 - *taken);
            write(&into.join(name), &all.slice(from, to - from));
            from = to;
        }
    }
    true
}

#[test]
fn file_layout_changes_nothing() {
    let folder = demo("40");
    let fleet = folder.path().join("fleet");
    let as_written = Review::run(&fleet, &[]);
    assert_eq!(as_written.exit(), Some(0), "{}", stderr(&as_written.output));
    let cut = fleet.join("records/cut/deeper");
    fs::create_dir_all(&cut).unwrap();
    let mut taken = 0;
    for file in parquet_files(&fleet.join("records")) {
        if cut_by_flight(&file, &cut, &mut taken) {
            fs::remove_file(&file).unwrap();
        }
    }
    assert!(taken > 20, "{taken} flights came in files of many");
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
    let runs = |out: &Path| {
        fs::read_dir(out.join("restricted/store/runs"))
            .unwrap()
            .count()
    };
    let published = runs(first.out.path());
    let output = glidetally(&[
        "review",
        fleet.to_str().unwrap(),
        "--out",
        first.out.path().to_str().unwrap(),
    ]);
    assert!(
        stderr(&output).contains("loaded 0 new of"),
        "{}",
        stderr(&output)
    );
    assert_eq!(
        runs(first.out.path()),
        published,
        "a run with nothing new publishes nothing"
    );
    let after: Vec<_> = TABLES
        .iter()
        .map(|table| fs::read(first.out.path().join(format!("{table}.parquet"))).unwrap())
        .collect();
    assert!(before == after);
}

#[test]
fn the_stages_one_by_one_are_the_review() {
    let folder = demo("30");
    let fleet = folder.path().join("fleet");
    let review = Review::run(&fleet, &[]);
    let out = TempDir::new().unwrap();
    let stage = |name: &str| {
        let out = out.path().to_str().unwrap();
        glidetally(&[name, fleet.to_str().unwrap(), "--out", out])
    };
    assert_eq!(stage("load").status.code(), Some(0));
    let early = stage("report");
    assert_eq!(early.status.code(), Some(2), "nothing was judged yet");
    assert!(stderr(&early).contains("detect"), "{}", stderr(&early));
    for name in ["detect", "summarise", "report"] {
        let output = stage(name);
        assert_eq!(output.status.code(), Some(0), "{name}: {}", stderr(&output));
    }
    assert_same(review.out.path(), out.path());
    let report = fs::read_to_string(out.path().join("share/report.html")).unwrap();
    assert_eq!(report, review.report());
}
