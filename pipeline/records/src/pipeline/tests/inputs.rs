//! What the records folder may hold besides sound Parquet files.

use std::convert::Infallible;
use std::fmt::Write as _;
use std::fs::File;
use std::path::Path;
use std::time::{Duration, SystemTime};

use arrow::array::{Array, ArrayRef, AsArray};
use arrow::compute::cast;
use arrow::datatypes::{DataType, Float64Type};
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;

use super::super::*;
use super::{outcomes, write};
use crate::fleet::open;

/// A cell as text that gives the same number again.
fn cell(column: &ArrayRef, row: usize) -> String {
    if column.is_null(row) {
        return String::new();
    }
    if column.data_type().is_numeric() {
        let number = cast(column, &DataType::Float64).expect("a number");
        return number.as_primitive::<Float64Type>().value(row).to_string();
    }
    let text = cast(column, &DataType::Utf8).expect("text");
    text.as_string::<i32>().value(row).to_owned()
}

/// Writes a Parquet file again as CSV.
fn as_csv(from: &Path, to: &Path) {
    let builder =
        ParquetRecordBatchReaderBuilder::try_new(File::open(from).expect("opens")).expect("reads");
    let names: Vec<String> = builder
        .schema()
        .fields()
        .iter()
        .map(|f| f.name().clone())
        .collect();
    let mut text = names.join(",");
    text.push('\n');
    for batch in builder.build().expect("reads") {
        let batch = batch.expect("sound");
        for row in 0..batch.num_rows() {
            let slice = batch.slice(row, 1);
            let cells: Vec<String> = slice.columns().iter().map(|c| cell(c, 0)).collect();
            writeln!(text, "{}", cells.join(",")).expect("written");
        }
    }
    std::fs::write(to, text).expect("written");
}

/// Every outcome in full, without the name of the file.
fn told(root: &Path, ending: &str) -> Vec<String> {
    let fleet = open(root).expect("opens");
    let files = input_files(&fleet).expect("has files");
    let mut told = Vec::new();
    let mut sink = |outcome: Outcome| {
        told.push(format!("{outcome:?}").replace(ending, ""));
        Ok::<(), Infallible>(())
    };
    prepare_files(&fleet, &files, &files, &mut sink, &|_| {}).expect("the sink takes all");
    told
}

#[test]
fn real_flights_are_the_same_from_csv_as_from_parquet() {
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/data/real");
    let surveillance = data.join("surveillance");
    let mut tracks: Vec<_> = std::fs::read_dir(&surveillance)
        .expect("there")
        .map(|entry| entry.expect("read").path())
        .collect();
    tracks.sort();
    let sources = [data.join("recorder.parquet"), tracks.swap_remove(0)];
    let [parquet, csv] = [(); 2].map(|()| {
        let root = tempfile::tempdir().expect("temporary folder");
        std::fs::create_dir(root.path().join("records")).expect("made");
        for table in ["fleet.toml", "runways_open.csv"] {
            std::fs::copy(data.join(table), root.path().join(table)).expect("copied");
        }
        root
    });
    for from in &sources {
        let name = Path::new(from.file_name().expect("a file"));
        let records = |root: &tempfile::TempDir| root.path().join("records").join(name);
        std::fs::copy(from, records(&parquet)).expect("copied");
        as_csv(from, &records(&csv).with_extension("csv"));
    }
    let [parquet, csv] = [told(parquet.path(), ".parquet"), told(csv.path(), ".csv")];
    assert_eq!(parquet.len(), 2);
    assert!(parquet.iter().all(|flight| flight.starts_with("Flight(")));
    assert!(parquet == csv, "CSV and Parquet give different flights");
}

#[test]
fn many_flights_in_one_table_of_text() {
    let root = tempfile::tempdir().expect("temporary folder");
    let mut text = "flight_id,time_s,pressure_altitude_ft\n".to_owned();
    for (id, seconds) in [("m1", 20_000), ("m2", 30), ("m1", 5), ("m3", 30)] {
        for second in 0..seconds {
            writeln!(text, "{id},{second},5000").expect("written");
        }
    }
    std::fs::create_dir(root.path().join("records")).expect("made");
    std::fs::write(root.path().join("records/many.CSV"), text).expect("written");
    assert_eq!(
        outcomes(root.path()),
        ["records/many.CSV: flight in pieces", "m2", "m3"]
    );
}

#[test]
fn tables_of_the_fleet_are_no_records() {
    let root = tempfile::tempdir().expect("temporary folder");
    let list = "flight_id,month\nx7,2025-03\n";
    std::fs::write(root.path().join("list.csv"), list).expect("written");
    for (name, text) in [
        ("flown.csv", "tail_id,month,flights\nt1,2025-03,4\n"),
        (
            "interventions.csv",
            "month,airport,what\n2025-03,ZALB,new arrival\n",
        ),
        (
            "verdicts.csv",
            "flight_id,approach_no,rule,verdict\nx7,1,sink,stands\n",
        ),
        ("flights.csv", "a,b\n1,2\n"),
    ] {
        std::fs::write(root.path().join(name), text).expect("written");
    }
    let toml = "[fleet]\nflights = \"list.csv\"\n";
    std::fs::write(root.path().join("fleet.toml"), toml).expect("written");
    write(&root.path().join("x7.parquet"), &[("", 30)], false);
    std::fs::create_dir(root.path().join("deep")).expect("made");
    std::fs::write(root.path().join("deep/flown.csv"), "a,b\n1,2\n").expect("written");
    assert_eq!(
        outcomes(root.path()),
        ["deep/flown.csv: no time column", "x7"]
    );
}

#[cfg(unix)]
#[test]
fn files_that_cannot_be_read_are_quarantined_each_on_its_own() {
    let root = tempfile::tempdir().expect("temporary folder");
    let records = root.path().join("records");
    write(&records.join("good.parquet"), &[("", 30)], false);
    for name in ["a.parquet", "b.csv"] {
        std::os::unix::fs::symlink("nowhere", records.join(name)).expect("linked");
    }
    let expected = [
        "records/a.parquet: unreadable file",
        "records/b.csv: unreadable file",
        "good",
    ];
    assert_eq!(outcomes(root.path()), expected);
    let files = input_files(&open(root.path()).expect("opens")).expect("has files");
    let fault = files[0].fault.as_deref().expect("told");
    assert!(
        fault.ends_with("; check that the file is there and may be read"),
        "{fault}"
    );
    assert_ne!(files[0].content_hash, files[1].content_hash);
}

/// Outcomes of a file that is damaged after it was hashed.
fn after(root: &Path, change: impl Fn(&Path)) -> Vec<String> {
    let fleet = open(root).expect("opens");
    let files = input_files(&fleet).expect("has files");
    change(&files[0].path);
    let mut seen = Vec::new();
    let mut sink = |outcome: Outcome| {
        seen.push(match outcome {
            Outcome::Flight(flight) => flight.flight_id,
            Outcome::Quarantined(row) => format!("{}; {}", row.reason, row.detail),
        });
        Ok::<(), Infallible>(())
    };
    prepare_files(&fleet, &files, &files, &mut sink, &|_| {}).expect("the sink takes all");
    seen
}

#[test]
fn a_file_that_changes_while_it_is_read_is_quarantined() {
    let changed = "file changed while it was read; its bytes are no longer those that the reading \
                   began with; run again when nothing writes to it";
    let rewrite =
        |ids: &'static [(&'static str, usize)], named| move |path: &Path| write(path, ids, named);
    // One flight or many; the many are found changed before the first is handed out.
    let root = tempfile::tempdir().expect("temporary folder");
    write(&root.path().join("a.parquet"), &[("", 30)], false);
    write(&root.path().join("b.parquet"), &[("good", 30)], true);
    assert_eq!(
        after(root.path(), rewrite(&[("", 31)], false)),
        [changed, "good"]
    );
    write(
        &root.path().join("a.parquet"),
        &[("m1", 30), ("m2", 30)],
        true,
    );
    assert_eq!(
        after(root.path(), rewrite(&[("m1", 30), ("m2", 33)], true)),
        [changed, "good"]
    );
    // Cut short: the fault that reading finds is not the cause.
    let cut = |path: &Path| std::fs::write(path, b"PAR1").expect("written");
    assert_eq!(after(root.path(), cut), [changed, "good"]);
    let gone = |path: &Path| std::fs::remove_file(path).expect("removed");
    write(&root.path().join("a.parquet"), &[("", 30)], false);
    assert_eq!(after(root.path(), gone), [changed, "good"]);
}

#[test]
fn a_new_time_of_change_alone_is_no_change() {
    let root = tempfile::tempdir().expect("temporary folder");
    write(
        &root.path().join("a.parquet"),
        &[("m1", 30), ("m2", 30)],
        true,
    );
    let touch = |path: &Path| {
        let file = File::options().write(true).open(path).expect("opens");
        let then = SystemTime::UNIX_EPOCH + Duration::from_secs(1_000_000_000);
        file.set_modified(then).expect("set");
    };
    assert_eq!(after(root.path(), touch), ["m1", "m2"]);
}
