//! A small fleet, written and looked at from outside.

#![allow(clippy::unwrap_used)] // a step that fails is a test that fails

use arrow::array::{Array, AsArray};
use arrow::datatypes::{Float32Type, Float64Type, Int16Type, Int64Type};
use arrow::record_batch::RecordBatch;
use demo::{DemoError, Options, Profile, Summary, write};
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::path::{Path, PathBuf};

fn small(flights: usize) -> Options {
    Options {
        flights,
        months: 3,
        single_files: 12,
        damaged: Some(0.0),
        ..Options::default()
    }
}

fn write_with(threads: usize, out: &Path, options: &Options) -> Summary {
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .unwrap();
    pool.install(|| write(out, options, &|_, _| {})).unwrap()
}

fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut open = vec![folder.to_owned()];
    while let Some(here) = open.pop() {
        for entry in fs::read_dir(&here).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else {
                found.insert(
                    path.strip_prefix(folder).unwrap().to_owned(),
                    fs::read(&path).unwrap(),
                );
            }
        }
    }
    found
}

fn read(path: &Path) -> Vec<RecordBatch> {
    let builder = ParquetRecordBatchReaderBuilder::try_new(File::open(path).unwrap()).unwrap();
    builder.build().unwrap().map(Result::unwrap).collect()
}

#[test]
fn the_number_of_threads_changes_no_byte() {
    let folder = tempfile::tempdir().unwrap();
    let options = small(110);
    write_with(1, &folder.path().join("one"), &options);
    write_with(4, &folder.path().join("four"), &options);
    let one = files(&folder.path().join("one"));
    assert_eq!(one, files(&folder.path().join("four")));
    assert!(one.len() > 15, "{} files", one.len());
    write_with(
        2,
        &folder.path().join("other"),
        &Options { seed: 2, ..options },
    );
    assert_ne!(one, files(&folder.path().join("other")));
    // Nothing unfinished is left beside them.
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 3);
}

#[test]
fn a_damaged_fleet_is_the_same_fleet_where_it_was_spared() {
    let folder = tempfile::tempdir().unwrap();
    let whole = small(150);
    let damaged = Options {
        damaged: Some(0.5),
        ..whole.clone()
    };
    write_with(1, &folder.path().join("whole"), &whole);
    write_with(1, &folder.path().join("one"), &damaged);
    write_with(4, &folder.path().join("four"), &damaged);
    let files_of = |name: &str| files(&folder.path().join(name));
    let (whole, one) = (files_of("whole"), files_of("one"));
    assert_eq!(one, files_of("four"));

    // Nothing of it shows where nothing is damaged.
    let in_folder = |path: &&PathBuf| path.to_string_lossy().contains("/damaged/");
    assert_eq!(whole.keys().filter(in_folder).count(), 0);
    let truth = |name: &str, table: &str| read(&folder.path().join(name).join("truth").join(table));
    assert!(truth("whole", "damages.parquet").is_empty());
    assert_eq!(
        truth("whole", "rules.parquet"),
        truth("one", "rules.parquet")
    );

    let mut kinds = BTreeSet::new();
    let mut hit = BTreeSet::new();
    for batch in truth("one", "damages.parquet") {
        let text = |name: &str| batch[name].as_string::<i32>().clone();
        let (flight, kind, file) = (text("flight_id"), text("kind"), text("file"));
        for row in 0..batch.num_rows() {
            hit.insert(flight.value(row).to_owned());
            kinds.insert(kind.value(row).to_owned());
            let path = Path::new(file.value(row));
            assert!(one.contains_key(path), "{path:?}");
            let cut = kind.value(row) == "truncated_file";
            assert_eq!(!one[path].ends_with(b"PAR1"), cut, "{path:?}");
        }
    }
    assert!((50..100).contains(&hit.len()), "{} flights", hit.len());
    assert!(kinds.len() >= 9, "{kinds:?}");
    let copies = one
        .keys()
        .filter(|path| path.to_string_lossy().contains(" (1).parquet"));
    assert!(copies.count() > 0);
    // Records of flights that were spared are the same bytes.
    let singles = whole
        .iter()
        .filter(|(path, _)| path.starts_with("records/tarn-t7/single"));
    let mut spared = 0;
    for (path, bytes) in singles {
        let id = path.file_stem().unwrap().to_string_lossy().into_owned();
        if !hit.contains(&id) {
            spared += 1;
            assert_eq!(&one[path], bytes);
        }
    }
    assert!(spared > 0);
}

#[test]
fn a_folder_with_something_in_it_is_refused_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("mine.txt"), "mine").unwrap();
    let error = write(folder.path(), &small(2), &|_, _| {}).unwrap_err();
    assert!(matches!(error, DemoError::NotEmpty { .. }), "{error}");
    assert!(error.to_string().contains("not an empty folder"), "{error}");
    assert_eq!(files(folder.path()).len(), 1);
    let empty = folder.path().join("empty");
    fs::create_dir(&empty).unwrap();
    write(&empty, &small(2), &|_, _| {}).unwrap();
    assert!(empty.join("truth/rules.parquet").exists());
}

#[test]
fn options_out_of_range_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("fleet");
    let error = write(
        &out,
        &Options {
            months: 0,
            ..small(3)
        },
        &|_, _| {},
    )
    .unwrap_err();
    assert!(error.to_string().starts_with("months must be"), "{error}");
    assert!(!out.exists());
}

#[test]
fn truth_says_one_thing_about_each_approach_and_rule() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("fleet");
    let summary = write_with(2, &out, &small(160));
    assert_eq!(summary.flights, 160);
    assert!(summary.approaches >= 160);
    let mut keys = BTreeSet::new();
    let mut rows = 0;
    let mut rules = BTreeSet::new();
    for batch in read(&out.join("truth/rules.parquet")) {
        let text = |name: &str| batch[name].as_string::<i32>().clone();
        let (flight, rule) = (text("flight_id"), text("rule"));
        let approach = batch["approach_no"].as_primitive::<arrow::datatypes::Int32Type>();
        let (evaluable, event) = (batch["evaluable"].as_boolean(), batch["event"].as_boolean());
        let margin = batch["margin"].as_primitive::<Float32Type>();
        let band = batch["band"].as_primitive::<Float32Type>();
        for row in 0..batch.num_rows() {
            rows += 1;
            rules.insert(rule.value(row).to_owned());
            keys.insert((
                flight.value(row).to_owned(),
                approach.value(row),
                rule.value(row).to_owned(),
            ));
            assert!(
                evaluable.value(row) || !event.value(row),
                "an event that nobody could see"
            );
            if margin.is_valid(row) && rule.value(row) != "unstable_and_landed" {
                assert_eq!(
                    margin.value(row) > 0.0,
                    event.value(row),
                    "{}",
                    rule.value(row)
                );
                assert!(band.value(row) > 0.0);
            }
        }
    }
    assert_eq!(keys.len(), rows);
    // Eight rules, and eight criteria at each of two gates.
    assert_eq!(rules.len(), 24);
    assert_eq!(rows as u64, 24 * summary.approaches);
}

#[test]
fn records_are_continuous_and_end_on_the_ground_where_truth_says_landing() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("fleet");
    write_with(2, &out, &small(60));
    let mut landed = BTreeSet::new();
    for batch in read(&out.join("truth/approaches.parquet")) {
        let (flight, outcome) = (
            batch["flight_id"].as_string::<i32>(),
            batch["outcome"].as_string::<i32>(),
        );
        landed.extend(
            (0..batch.num_rows())
                .filter(|row| outcome.value(*row) == "landing")
                .map(|row| flight.value(row).to_owned()),
        );
    }
    let mut seen = 0;
    for (name, _) in files(&out)
        .iter()
        .filter(|(name, _)| name.starts_with("records/corvan-c20"))
    {
        let batches = read(&out.join(name));
        let mut last: Option<(String, f64, f32, f32)> = None;
        let mut ended = Vec::new();
        for batch in &batches {
            let flight = batch["flight_id"].as_string::<i32>();
            let time = batch["time_s"].as_primitive::<Float64Type>();
            let altitude = batch["pressure_altitude_ft"].as_primitive::<Float32Type>();
            let speed = batch["ground_speed_kt"].as_primitive::<Float32Type>();
            for row in 0..batch.num_rows() {
                let now = (
                    flight.value(row).to_owned(),
                    time.value(row),
                    altitude.value(row),
                    speed.value(row),
                );
                if let Some(before) = last.take() {
                    if before.0 == now.0 {
                        assert!((now.1 - before.1 - 1.0).abs() < 1e-9);
                        // 4,000 ft/min is 67 ft a second, and a step of altitude either side.
                        assert!((now.2 - before.2).abs() < 75.0, "{before:?} {now:?}");
                        assert!((now.3 - before.3).abs() < 9.0, "{before:?} {now:?}");
                    } else {
                        ended.push(before);
                    }
                }
                last = Some(now);
            }
        }
        ended.extend(last);
        for (flight, _, _, speed) in ended {
            seen += 1;
            assert_eq!(
                speed < 40.0,
                landed.contains(&flight),
                "{flight} ends at {speed} kt"
            );
        }
    }
    assert!(seen > 25);
}

/// Bytes and rows of a type's sample files.
fn sample_size(out: &Path, aircraft_type: &str) -> (f64, f64) {
    let folder = out.join("records").join(aircraft_type);
    files(&folder)
        .iter()
        .fold((0.0, 0.0), |sum, (name, bytes)| {
            let rows: usize = read(&folder.join(name))
                .iter()
                .map(RecordBatch::num_rows)
                .sum();
            (sum.0 + bytes.len() as f64, sum.1 + rows as f64)
        })
}

#[test]
fn samples_are_small() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("fleet");
    let options = Options {
        single_files: 0,
        months: 1,
        ..small(140)
    };
    write_with(2, &out, &options);
    for (aircraft_type, most) in [("corvan-c20", 9.0), ("tarn-t7", 9.5), ("brae-r3", 2.3)] {
        let (bytes, rows) = sample_size(&out, aircraft_type);
        assert!(
            rows > 5_000.0 && bytes < most * rows,
            "{aircraft_type}: {rows} rows in {bytes} bytes"
        );
    }
}

#[test]
fn the_third_recorder_has_eight_rows_a_second_and_says_nothing_where_nothing_is_due() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("fleet");
    write_with(2, &out, &small(60));
    let records = out.join("records/brae-r3");
    let mut flights = BTreeSet::new();
    for name in files(&records).keys() {
        for batch in read(&records.join(name)) {
            let flight = batch["flight"].as_string::<i32>();
            let time = batch["elapsed_milliseconds"].as_primitive::<Int64Type>();
            let load = batch["normal_load_g"].as_primitive::<Float32Type>();
            let speed = batch["airspeed_knots"].as_primitive::<Float32Type>();
            let lever = batch["flap_lever_detent"].as_primitive::<Int16Type>();
            for row in 0..batch.num_rows() {
                flights.insert(flight.value(row).to_owned());
                let ms = time.value(row);
                assert_eq!(ms % 125, 0);
                if row > 0 && flight.value(row) == flight.value(row - 1) {
                    assert_eq!(ms - time.value(row - 1), 125);
                }
                assert!(load.is_valid(row));
                assert_eq!(speed.is_valid(row), ms % 1000 == 0);
                assert!(lever.is_null(row) || ms % 4000 == 0);
            }
        }
    }
    assert!(flights.len() >= 3, "{} flights", flights.len());
}

#[test]
fn an_exact_fleet_names_no_lag_and_rounds_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("fleet");
    let options = Options {
        profile: Profile::Exact,
        ..small(20)
    };
    write_with(2, &out, &options);
    let maps = fs::read_to_string(out.join("fleet.toml")).unwrap();
    assert!(maps.contains("[[map]]") && !maps.contains("delay_s"));
    let records = out.join("records/corvan-c20");
    let mut fractions = 0;
    for name in files(&records).keys() {
        for batch in read(&records.join(name)) {
            let altitude = batch["pressure_altitude_ft"].as_primitive::<Float32Type>();
            fractions += altitude
                .iter()
                .flatten()
                .filter(|ft| ft % 4.0 != 0.0)
                .count();
        }
    }
    assert!(fractions > 1000, "{fractions}");
}
