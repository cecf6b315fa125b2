mod inputs;
mod parts;
mod real;

use std::convert::Infallible;
use std::path::Path;
use std::sync::Arc;

use arrow::array::{ArrayRef, Float64Array, RecordBatch, StringArray};
use parquet::arrow::ArrowWriter;

use super::*;
use crate::fleet::open;

/// A level of its own for every file: copies are another matter.
fn level_ft(path: &Path) -> f64 {
    let name = path.to_string_lossy();
    let sum: u32 = name
        .bytes()
        .zip(1..)
        .map(|(byte, at)| u32::from(byte) * at)
        .sum();
    5_000.0 + f64::from(sum % 10_007)
}

/// A level flight of `n` seconds for each id, in the order given.
fn write(path: &Path, ids: &[(&str, usize)], named: bool) {
    let total: usize = ids.iter().map(|(_, n)| n).sum();
    let time: Vec<f64> = ids
        .iter()
        .flat_map(|(_, n)| (0..*n).map(|i| i as f64))
        .collect();
    let names: Vec<&str> = ids
        .iter()
        .flat_map(|(id, n)| std::iter::repeat_n(*id, *n))
        .collect();
    let mut columns: Vec<(&str, ArrayRef)> = vec![
        ("time_s", Arc::new(Float64Array::from(time))),
        (
            "pressure_altitude_ft",
            Arc::new(Float64Array::from(vec![level_ft(path); total])),
        ),
    ];
    if named {
        columns.push(("flight_id", Arc::new(StringArray::from_iter_values(names))));
    }
    let batch = RecordBatch::try_from_iter(columns).expect("equal lengths");
    std::fs::create_dir_all(path.parent().expect("in a folder")).expect("made");
    let file = std::fs::File::create(path).expect("made");
    let mut writer = ArrowWriter::try_new(file, batch.schema(), None).expect("schema");
    writer.write(&batch).expect("written");
    writer.close().expect("closed");
}

/// Ids of prepared flights, and reasons of refusals, as delivered.
fn outcomes(root: &Path) -> Vec<String> {
    let fleet = open(root).expect("opens");
    let files = input_files(&fleet).expect("has files");
    let mut seen = Vec::new();
    let mut sink = |outcome: Outcome| {
        seen.push(match outcome {
            Outcome::Flight(flight) => flight.flight_id,
            Outcome::Quarantined(row) => format!("{}: {}", row.file, row.reason),
        });
        Ok::<(), Infallible>(())
    };
    let done = prepare_files(&fleet, &files, &files, &mut sink, &|_| {})
        .expect("the sink takes all")
        .done;
    assert_eq!(done.files, files.len());
    assert_eq!(done.flights + done.quarantined, seen.len());
    seen
}

#[test]
fn flights_come_in_the_order_of_paths_and_faults_stay_single() {
    let root = tempfile::tempdir().expect("temporary folder");
    let records = root.path().join("records");
    for i in 0..40 {
        write(
            &records.join(format!("a/f{i:02}.parquet")),
            &[("", 30)],
            false,
        );
    }
    write(
        &records.join("b/many.parquet"),
        &[("m1", 20_000), ("m2", 5), ("m3", 40_000)],
        true,
    );
    write(&records.join("c/f07.parquet"), &[("", 30)], false);
    std::fs::write(records.join("d.parquet"), b"PAR1 no more than this").expect("written");
    let mut expected: Vec<String> = (0..40).map(|i| format!("f{i:02}")).collect();
    expected.extend(["m1", "m2", "m3"].map(str::to_owned));
    expected.push("records/c/f07.parquet: duplicate flight".to_owned());
    expected.push("records/d.parquet: unreadable file".to_owned());
    assert_eq!(outcomes(root.path()), expected);
}

#[test]
fn a_copy_under_another_name_is_refused() {
    let root = tempfile::tempdir().expect("temporary folder");
    let records = root.path().join("records");
    write(&records.join("x7.parquet"), &[("", 30)], false);
    std::fs::copy(records.join("x7.parquet"), records.join("x7 (1).parquet")).expect("copied");
    // The space comes before the point in the order of paths, and the copy's name is longer.
    assert_eq!(
        outcomes(root.path()),
        ["records/x7 (1).parquet: duplicate file", "x7"]
    );
    // The flight list knows better.
    std::fs::write(root.path().join("flights.csv"), "flight_id\nx7 (1)\n").expect("written");
    assert_eq!(
        outcomes(root.path()),
        ["x7 (1)", "records/x7.parquet: duplicate file"]
    );
}

#[test]
fn a_flight_whose_rows_do_not_stand_together_is_refused() {
    let root = tempfile::tempdir().expect("temporary folder");
    let path = root.path().join("records/many.parquet");
    write(
        &path,
        &[("m1", 10), ("m2", 10), ("m1", 10), ("m3", 10)],
        true,
    );
    assert_eq!(
        outcomes(root.path()),
        ["records/many.parquet: flight in pieces", "m2", "m3"]
    );
}

#[test]
fn a_sink_that_fails_stops_the_work() {
    let root = tempfile::tempdir().expect("temporary folder");
    write(&root.path().join("one.parquet"), &[("", 30)], false);
    write(&root.path().join("two.parquet"), &[("", 30)], false);
    let fleet = open(root.path()).expect("opens");
    let files = input_files(&fleet).expect("has files");
    assert_eq!(files[0].relative, "one.parquet");
    assert_eq!(files[0].content_hash.len(), 64);
    let mut taken = 0;
    let mut sink = |_| {
        taken += 1;
        Err("disk full")
    };
    assert_eq!(
        prepare_files(&fleet, &files, &files, &mut sink, &|_| {}),
        Err("disk full")
    );
    assert_eq!(taken, 1);
}

#[test]
fn a_folder_without_records_is_a_clear_error() {
    let root = tempfile::tempdir().expect("temporary folder");
    let fleet = open(root.path()).expect("opens");
    let message = input_files(&fleet).expect_err("nothing there").to_string();
    assert!(
        message.contains("no record (.parquet or .csv) in this folder"),
        "{message}"
    );
}

#[test]
fn a_file_that_names_its_one_flight_and_columns_nobody_asked_for() {
    let root = tempfile::tempdir().expect("temporary folder");
    write(&root.path().join("one.parquet"), &[("x7", 30)], true);
    assert_eq!(outcomes(root.path()), ["x7"]);
    let map = "[[map]]\ncas_kt = { column = \"IAS\", optional = true }\n";
    std::fs::write(root.path().join("fleet.toml"), map).expect("written");
    let fleet = open(root.path()).expect("opens");
    let files = input_files(&fleet).expect("has files");
    let mut sink = |_| Ok::<(), Infallible>(());
    let summary =
        prepare_files(&fleet, &files, &files, &mut sink, &|_| {}).expect("the sink takes all");
    assert_eq!(
        summary.left_out,
        BTreeMap::from([("pressure_altitude_ft".to_owned(), 1)])
    );
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(48))]

    /// Whatever bytes are damaged, each file ends as a flight or as a refusal.
    #[test]
    fn damaged_files_never_stop_the_work(
        damage in proptest::collection::vec((proptest::prelude::any::<u16>(), proptest::prelude::any::<u8>()), 1..8),
        cut in 0..400_usize,
    ) {
        let root = tempfile::tempdir().expect("temporary folder");
        let path = root.path().join("a.parquet");
        write(&path, &[("m1", 300), ("m2", 300)], true);
        write(&root.path().join("b.parquet"), &[("good", 30)], true);
        let mut bytes = std::fs::read(&path).expect("read");
        for (at, value) in damage {
            let length = bytes.len();
            bytes[usize::from(at) % length] = value;
        }
        bytes.truncate(bytes.len() - cut.saturating_sub(300));
        std::fs::write(&path, &bytes).expect("written");
        let seen = outcomes(root.path());
        proptest::prop_assert_eq!(seen.last().map(String::as_str), Some("good"));
        proptest::prop_assert!(seen.len() > 1, "the damaged file left no trace");
    }
}
