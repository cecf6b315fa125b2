//! Inputs and places that mean no good: huge claims, files of zeros, folders that cannot be written.

use std::fs::{self, File};
use std::path::Path;
use std::process::Command;
use std::sync::Arc;

use arrow::array::{ArrayRef, Float64Array, RecordBatch};
use parquet::arrow::ArrowWriter;
use tempfile::TempDir;

use crate::fleet::{glidetally, stderr};
use crate::same_bytes::demo;
use crate::store::text;
use crate::table::read;

/// A small file that says it is a long flight: every column the same value, 84 million times over.
fn bomb(path: &Path) {
    const ROWS_PER_BATCH: usize = 1 << 20;
    let column = |value: f64| Arc::new(Float64Array::from(vec![value; ROWS_PER_BATCH])) as ArrayRef;
    let names = ["time_s", "cas_kt", "pressure_altitude_ft"];
    let columns = names.map(|name| (name, column(1.0)));
    let batch = RecordBatch::try_from_iter(columns).unwrap();
    let mut writer =
        ArrowWriter::try_new(File::create(path).unwrap(), batch.schema(), None).unwrap();
    for _ in 0..80 {
        writer.write(&batch).unwrap();
        writer.flush().unwrap();
    }
    writer.close().unwrap();
}

#[test]
fn what_is_huge_or_empty_is_refused_within_bounded_memory_and_the_rest_is_loaded() {
    let folder = demo("20");
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    // Columns by their catalogue names: the bomb fits, which is worse than being refused for its columns.
    let toml = fs::read_to_string(fleet.join("fleet.toml")).unwrap();
    let map = "[[map]]\ntime_s = { column = \"time_s\" }\ncas_kt = { column = \"cas_kt\" }\n\
               pressure_altitude_ft = { column = \"pressure_altitude_ft\" }\n";
    fs::write(fleet.join("fleet.toml"), format!("{toml}\n{map}")).unwrap();
    let records = fleet.join("records");
    bomb(&records.join("bomb.parquet"));
    let size = fs::metadata(records.join("bomb.parquet")).unwrap().len();
    assert!(size < 1_000_000, "{size}");
    // Takes no room on the disk: sparse.
    for (name, bytes) in [("zeros.parquet", 10 << 30), ("zeros.csv", 1 << 30)] {
        let file = File::create(records.join(name)).unwrap();
        file.set_len(bytes).unwrap();
    }
    let mut lying = fs::read(records.join("bomb.parquet")).unwrap();
    let length = lying.len();
    lying[length - 8..length - 4].copy_from_slice(&(u32::MAX / 2).to_le_bytes());
    fs::write(records.join("lying.parquet"), lying).unwrap();

    // Addresses are bounded, and with them memory: 4 GiB for program, threads and all.
    let output = Command::new("sh")
        .args(["-c", "ulimit -v 4194304; exec \"$@\"", "sh"])
        .arg(env!("CARGO_BIN_EXE_glidetally"))
        .args(["review", text(&fleet), "--out", text(&out)])
        .output()
        .unwrap();
    let said = stderr(&output);
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.contains("20 flights"), "{said}");
    let refused = read(&out.join("restricted/tables/quarantine.csv"));
    let why = |name: &str| {
        let row = refused.iter().find(|row| row["file"].ends_with(name));
        let row = row.unwrap_or_else(|| panic!("{name} is not refused: {refused:?}"));
        format!("{}: {}", row["reason"], row["detail"])
    };
    assert!(why("bomb.parquet").starts_with("flight too large: one flight of 83886080 rows"));
    assert!(why("lying.parquet").contains("the footer claims"));
    assert!(why("zeros.parquet").contains("not a Parquet file"));
    assert!(why("zeros.csv").contains("zero"), "{}", why("zeros.csv"));
    assert_eq!(refused.len(), 4);
}

/// As a user who may not write there: the superuser may write everywhere. `folder` takes a copy of the binary,
/// as its own folder may be closed to others.
fn unprivileged(folder: &TempDir, arguments: &[&str]) -> std::process::Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_glidetally"));
    let who = Command::new("id").arg("-u").output().unwrap();
    if who.stdout == b"0\n" {
        let copy = folder.path().join("glidetally");
        if !copy.exists() {
            // By another process, so that no child of this one holds it open for writing when it starts.
            let mut cp = Command::new("cp");
            cp.arg(env!("CARGO_BIN_EXE_glidetally")).arg(&copy);
            assert!(cp.status().unwrap().success());
        }
        command = Command::new("setpriv");
        command
            .args(["--reuid=65534", "--regid=65534", "--clear-groups"])
            .arg(copy);
    }
    command.args(arguments).output().unwrap()
}

fn mode(path: &Path, mode: u32) {
    use std::os::unix::fs::PermissionsExt;
    fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
}

#[test]
fn a_folder_that_cannot_be_written_is_told_before_the_work_begins() {
    let folder = demo("20");
    let fleet = folder.path().join("fleet");
    mode(folder.path(), 0o755);
    let closed = folder.path().join("closed");
    fs::create_dir(&closed).unwrap();
    mode(&closed, 0o555);
    let out = closed.join("out");
    let output = unprivileged(&folder, &["review", text(&fleet), "--out", text(&out)]);
    let said = stderr(&output);
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(
        said.contains("closed") && said.contains("ermission denied") && said.contains("--out"),
        "{said}"
    );
    assert!(!said.contains("loaded"), "{said}");
    assert_eq!(fs::read_dir(&closed).unwrap().count(), 0);

    // A finished review whose output may be read only: nothing of it changes.
    let done = folder.path().join("done");
    let output = glidetally(&["review", text(&fleet), "--out", text(&done)]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let before = fs::read(done.join("share/report.html")).unwrap();
    let output = unprivileged(&folder, &["review", text(&fleet), "--out", text(&done)]);
    assert_eq!(output.status.code(), Some(2), "{}", stderr(&output));
    assert!(fs::read(done.join("share/report.html")).unwrap() == before);
}

#[test]
fn a_folder_that_cannot_be_read_is_told_and_its_records_are_loaded_when_it_can() {
    let folder = demo("40");
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    mode(folder.path(), 0o755);
    fs::create_dir(&out).unwrap();
    mode(&out, 0o777);
    let closed = fleet.join("records/brae-r3");
    mode(&closed, 0o000);
    let review = ["review", text(&fleet), "--out", text(&out)];
    let output = unprivileged(&folder, &review);
    assert_eq!(output.status.code(), Some(1), "{}", stderr(&output));
    let refused = read(&out.join("restricted/tables/quarantine.csv"));
    let [row] = refused.as_slice() else {
        panic!("{refused:?}");
    };
    assert_eq!(row["file"], "records/brae-r3");
    assert_eq!(row["reason"], "unreadable folder");
    mode(&closed, 0o755);
    let output = unprivileged(&folder, &review);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    crate::store::assert_as_new(&fleet, &out);
}
