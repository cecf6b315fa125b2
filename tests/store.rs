//! The store over time: what changes in the fleet folder takes the place of what was loaded, and two
//! writers, a full disk and a damaged file do no harm.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use tempfile::TempDir;

use crate::fleet::{Review, glidetally, stderr, top};
use crate::same_bytes::{assert_same, demo, parquet_files};

pub(crate) fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// Reviews into a folder that may hold earlier reviews.
pub(crate) fn review(fleet: &Path, out: &Path) -> String {
    let output = glidetally(&[
        "review",
        text(fleet),
        "--out",
        text(out),
        "--step-files",
        "4",
    ]);
    let said = stderr(&output);
    assert!(output.status.code().is_some_and(|code| code < 2), "{said}");
    said
}

/// What was reviewed step by step is what a review of the folder as it is now makes.
pub(crate) fn assert_as_new(fleet: &Path, out: &Path) {
    let new = Review::run(fleet, &[]);
    assert_same(new.out.path(), out);
    let verify = glidetally(&["store", "verify", text(out)]);
    assert_eq!(verify.status.code(), Some(0), "{}", stderr(&verify));
}

/// The run that an output says it is.
pub(crate) fn number(out: &Path) -> String {
    let run = fs::read(out.join("share/run.json")).unwrap();
    let run: serde_json::Value = serde_json::from_slice(&run).unwrap();
    run["run"].to_string()
}

/// Share and tables of an output, kept for later.
pub(crate) fn keep(out: &Path, kept: &Path) {
    for part in ["share", "restricted/tables"] {
        copy_folder(&out.join(part), &kept.join(part));
    }
}

/// The review of an earlier run of the store of `out`, made again.
pub(crate) fn as_of(fleet: &Path, out: &Path, number: &str, into: &Path) -> Output {
    let store = out.join("restricted/store");
    let (fleet, into, store) = (text(fleet), text(into), text(&store));
    glidetally(&[
        "report", fleet, "--out", into, "--store", store, "--as-of", number,
    ])
}

#[test]
fn a_changed_file_takes_the_place_of_what_was_loaded_from_it() {
    let folder = demo("40");
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    review(&fleet, &out);
    // A file of one flight gets the content of another; two flights of the fleet change places.
    let mut single: Vec<PathBuf> = parquet_files(&fleet.join("records/tarn-t7"));
    single.retain(|path| fs::metadata(path).unwrap().len() < 60_000);
    let (one, other) = (&single[0], &single[1]);
    let kept = fs::read(one).unwrap();
    fs::copy(other, one).unwrap();
    fs::write(other, kept).unwrap();
    let said = review(&fleet, &out);
    assert!(said.contains("loaded 2 new of"), "{said}");
    assert!(said.contains("are replaced"), "{said}");
    assert_as_new(&fleet, &out);
    assert!(review(&fleet, &out).contains("loaded 0 new of"));
}

#[test]
fn a_changed_row_of_the_flight_list_reads_its_file_again_and_no_other() {
    let folder = demo("40");
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    // The list as text, so that it can be changed here.
    let list = fleet.join("flights.csv");
    to_csv(&fleet.join("flights.parquet"), &list);
    fs::remove_file(fleet.join("flights.parquet")).unwrap();
    review(&fleet, &out);
    let rows = fs::read_to_string(&list).unwrap();
    let purpose = rows.lines().nth(7).unwrap().replace(",line,", ",training,");
    let lines: Vec<&str> = rows
        .lines()
        .enumerate()
        .map(|(i, line)| if i == 7 { purpose.as_str() } else { line })
        .collect();
    assert_ne!(lines.join("\n"), rows.trim_end());
    fs::write(&list, lines.join("\n")).unwrap();
    let stale = glidetally(&["report", text(&fleet), "--out", text(&out)]);
    assert_eq!(stale.status.code(), Some(2));
    assert!(
        stderr(&stale).contains("since 1 flights"),
        "{}",
        stderr(&stale)
    );
    let said = review(&fleet, &out);
    assert!(said.contains("loaded 1 new of"), "{said}");
    assert_as_new(&fleet, &out);
}

#[test]
fn a_changed_aircraft_type_touches_its_own_flights_only() {
    let folder = demo("40");
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    review(&fleet, &out);
    let path = fleet.join("aircraft/brae-r3.toml");
    let limits = fs::read_to_string(&path).unwrap();
    let changed = limits.replacen("vapp_over_vref_kt = ", "vapp_over_vref_kt = 1", 1);
    assert_ne!(limits, changed);
    fs::write(&path, changed).unwrap();
    let said = review(&fleet, &out);
    let files = parquet_files(&fleet.join("records/brae-r3")).len();
    assert!(said.contains(&format!("loaded {files} new of")), "{said}");
    assert_as_new(&fleet, &out);
}

#[test]
fn a_changed_map_touches_its_own_files_only() {
    let folder = demo("40");
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    review(&fleet, &out);
    let path = fleet.join("fleet.toml");
    let toml = fs::read_to_string(&path).unwrap();
    // Of the flights of one recorder, speeds of a tenth more.
    let brae = toml
        .find("\"airspeed_knots\"")
        .expect("a column of its own");
    let changed = format!("{}, scale = 1.1{}", &toml[..brae + 16], &toml[brae + 16..]);
    fs::write(&path, changed).unwrap();
    let stale = glidetally(&["report", text(&fleet), "--out", text(&out)]);
    let files = parquet_files(&fleet.join("records/brae-r3")).len();
    let told = format!("maps have changed since {files} files");
    assert!(stderr(&stale).contains(&told), "{}", stderr(&stale));
    let said = review(&fleet, &out);
    assert!(said.contains(&format!("loaded {files} new of")), "{said}");
    assert_as_new(&fleet, &out);
}

#[test]
fn a_copy_is_told_once_and_takes_over_when_the_original_goes() {
    let folder = demo("40");
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    let original = parquet_files(&fleet.join("records/corvan-c20")).remove(0);
    let copy = original.with_file_name("zz-later.parquet");
    review(&fleet, &out);
    fs::copy(&original, &copy).unwrap();
    assert!(review(&fleet, &out).contains("1 refused"));
    assert!(review(&fleet, &out).contains("loaded 0 new of"));
    // The original is written anew with other flights of its own: the copy's are free.
    let other = parquet_files(&fleet.join("records/brae-r3")).remove(0);
    fs::rename(&other, &original).unwrap();
    let said = review(&fleet, &out);
    assert!(!said.contains("loaded 0 new of"), "{said}");
    let approaches = fs::read_to_string(out.join("restricted/tables/approaches.csv")).unwrap();
    let mut ids: Vec<&str> = approaches
        .lines()
        .skip(1)
        .map(|line| line.split_once(",").unwrap().0)
        .collect();
    let count = ids.len();
    ids.dedup();
    assert!(count >= 20 && ids.len() <= count, "{count}");
    assert!(review(&fleet, &out).contains("loaded 0 new of"));
}

#[test]
fn another_key_gives_other_ids_and_loads_everything_again() {
    let folder = demo("20");
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    let toml = fs::read_to_string(fleet.join("fleet.toml")).unwrap();
    let toml = toml.replacen("rekey = false", "rekey = true", 1);
    fs::write(fleet.join("fleet.toml"), toml).unwrap();
    review(&fleet, &out);
    let ids = || fs::read_to_string(out.join("restricted/tables/approaches.csv")).unwrap();
    let before = ids();
    assert!(review(&fleet, &out).contains("loaded 0 new of"));
    fs::write(fleet.join("privacy.key"), [7; 32]).unwrap();
    let refused = glidetally(&["report", text(&fleet), "--out", text(&out)]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(
        stderr(&refused).contains("privacy key"),
        "{}",
        stderr(&refused)
    );
    assert!(!review(&fleet, &out).contains("loaded 0 new of"));
    assert_ne!(before, ids());
    assert_eq!(before.lines().count(), ids().lines().count());
    assert_as_new(&fleet, &out);
}

#[test]
fn an_earlier_review_can_be_made_again_to_the_same_bytes() {
    let folder = demo("40");
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    let held_back = parquet_files(&fleet.join("records/brae-r3")).remove(0);
    let aside = folder.path().join("aside.parquet");
    fs::rename(&held_back, &aside).unwrap();
    // A refused file, that is taken away later.
    let refused = fleet.join("records/cut.parquet");
    fs::write(&refused, b"PAR1").unwrap();
    review(&fleet, &out);
    let kept = folder.path().join("kept");
    keep(&out, &kept);
    let number = number(&out);

    // Since then: another month of data, other rules, another title, another smallest cell.
    fs::remove_file(&refused).unwrap();
    fs::rename(&aside, &held_back).unwrap();
    copy_folder(&top().join("rules"), &fleet.join("rules"));
    for entry in fs::read_dir(fleet.join("rules")).unwrap() {
        let path = entry.unwrap().path();
        if !text(&path).contains("unstable_500") && path.is_file() {
            fs::remove_file(path).unwrap();
        }
    }
    let toml = fs::read_to_string(fleet.join("fleet.toml")).unwrap();
    let toml = toml.replacen("title = \"Invented demo fleet\"", "title = \"Another\"", 1);
    let toml = toml.replacen("min_flights = 10", "min_flights = 20", 1);
    assert!(toml.contains("Another") && toml.contains("min_flights = 20"));
    fs::write(fleet.join("fleet.toml"), toml).unwrap();
    review(&fleet, &out);
    let now = fs::read(out.join("share/run.json")).unwrap();
    assert_ne!(now, fs::read(kept.join("share/run.json")).unwrap());

    let then = folder.path().join("then");
    let as_of = |number: &str| as_of(&fleet, &out, number, &then);
    let output = as_of(&number);
    assert_eq!(output.status.code(), Some(1), "{}", stderr(&output));
    assert_same(&kept, &then);
    for file in [
        "share/run.json",
        "share/report.html",
        "restricted/tables/quarantine.csv",
    ] {
        let read = |folder: &Path| fs::read(folder.join(file)).unwrap();
        assert!(read(&kept) == read(&then), "{file} differs");
    }
    let load = as_of("1");
    assert_eq!(load.status.code(), Some(2));
    let said = stderr(&load);
    assert!(
        said.contains("run 1 of the store is no review") && said.contains(&number),
        "{said}"
    );
    let never = stderr(&as_of("99"));
    assert!(never.contains("there is no run 99"), "{never}");
}

/// Fifty times, two processes load into one store, half of their files the same.
#[test]
fn two_writers_load_every_flight_once() {
    const ROUNDS: usize = 50;
    let folder = demo("24");
    let fleet = folder.path().join("fleet");
    let records = parquet_files(&fleet.join("records"));
    let undisturbed = Review::run(&fleet, &[]);
    let halves: Vec<PathBuf> = ["one", "other"]
        .iter()
        .map(|name| {
            let part = folder.path().join(name);
            copy_folder(&fleet, &part);
            part
        })
        .collect();
    let third = records.len() / 3;
    for (number, record) in records.iter().enumerate() {
        let relative = record.strip_prefix(&fleet).unwrap();
        if number < third {
            fs::remove_file(halves[1].join(relative)).unwrap();
        } else if number >= 2 * third {
            fs::remove_file(halves[0].join(relative)).unwrap();
        }
    }
    let mut raced = 0;
    for round in 0..ROUNDS {
        let out = TempDir::new().unwrap();
        let store = out.path().join("store");
        let writers: Vec<_> = halves
            .iter()
            .enumerate()
            .map(|(i, half)| {
                Command::new(env!("CARGO_BIN_EXE_glidetally"))
                    .args(["load", text(half), "--step-files", "2", "-v", "--out"])
                    .arg(out.path().join(format!("out{i}")))
                    .arg("--store")
                    .arg(&store)
                    .stderr(Stdio::piped())
                    .stdout(Stdio::null())
                    .spawn()
                    .unwrap()
            })
            .collect();
        for writer in writers {
            let done = writer.wait_with_output().unwrap();
            let said = stderr(&done);
            assert_eq!(done.status.code(), Some(0), "round {round}: {said}");
            raced += said.matches("another process was first").count();
        }
        let output = glidetally(&[
            "review",
            text(&fleet),
            "--out",
            text(&out.path().join("whole")),
            "--store",
            text(&store),
        ]);
        let said = stderr(&output);
        assert!(said.contains("loaded 0 new of"), "round {round}: {said}");
        assert_same(undisturbed.out.path(), &out.path().join("whole"));
    }
    println!("{raced} races in {ROUNDS} rounds");
    assert!(raced > 0, "the two never met");
}

#[test]
fn a_full_disk_is_told_and_leaves_nothing_half() {
    let folder = demo("20");
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    // No file may grow beyond 32 KiB: writing fails as it does on a full disk.
    let limited = Command::new("sh")
        .args(["-c", "trap '' XFSZ; ulimit -f 64; exec \"$@\"", "sh"])
        .arg(env!("CARGO_BIN_EXE_glidetally"))
        .args(["review", text(&fleet), "--out", text(&out)])
        .output()
        .unwrap();
    let said = stderr(&limited);
    assert_eq!(limited.status.code(), Some(2), "{said}");
    assert!(
        said.contains("cannot write") && said.contains("samples"),
        "{said}"
    );
    assert!(!out.join("share").exists());
    let left = glidetally(&["store", "collect", text(&out), "--older-than", "0"]);
    assert_eq!(left.status.code(), Some(0), "{}", stderr(&left));
    let store = out.join("restricted/store");
    assert_eq!(parquet_files(&store).len(), 0, "half a file was left");
    review(&fleet, &out);
    assert_as_new(&fleet, &out);
}

#[test]
fn a_damaged_store_is_found_by_looking() {
    let folder = demo("20");
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    review(&fleet, &out);
    let log = glidetally(&["store", "log", text(&out), "--format", "csv"]);
    let log = String::from_utf8(log.stdout).unwrap();
    let runs = fs::read_dir(out.join("restricted/store/runs")).unwrap();
    assert_eq!(log.lines().count(), runs.count() + 1, "{log}");
    let samples = parquet_files(&out.join("restricted/store/samples")).remove(0);
    let mut bytes = fs::read(&samples).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    fs::write(&samples, bytes).unwrap();
    let verify = glidetally(&["store", "verify", text(&out)]);
    assert_eq!(verify.status.code(), Some(1));
    let said = String::from_utf8(verify.stdout).unwrap();
    let name = samples.file_name().unwrap().to_str().unwrap();
    assert!(
        said.contains(name) && said.contains("not what was written"),
        "{said}"
    );
    let nowhere = glidetally(&["store", "status", text(&fleet)]);
    assert_eq!(nowhere.status.code(), Some(2));
    assert!(
        stderr(&nowhere).contains("is no store"),
        "{}",
        stderr(&nowhere)
    );
}

pub(crate) fn copy_folder(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let place = to.join(path.file_name().unwrap());
        if path.is_dir() {
            copy_folder(&path, &place);
        } else {
            fs::copy(&path, place).unwrap();
        }
    }
}

fn to_csv(parquet: &Path, csv: &Path) {
    use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
    let file = fs::File::open(parquet).unwrap();
    let reader = ParquetRecordBatchReaderBuilder::try_new(file)
        .unwrap()
        .build()
        .unwrap();
    let mut writer = arrow::csv::WriterBuilder::new()
        .with_header(true)
        .build(fs::File::create(csv).unwrap());
    for batch in reader {
        writer.write(&batch.unwrap()).unwrap();
    }
}
