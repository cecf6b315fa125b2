//! What a store is spared and what is taken from it: rules that have not changed, small files, flights to be
//! erased, earlier states, moved records.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use crate::fleet::{glidetally, planted_rules, stderr};
use crate::same_bytes::{assert_same, demo, parquet_files};
use crate::store::{assert_as_new, copy_folder, keep, number, review, text};
use crate::table::read;

fn store(arguments: &[&str], out: &Path) -> String {
    let mut all = vec!["store", arguments[0], text(out)];
    all.extend(&arguments[1..]);
    let output = glidetally(&all);
    let said = stderr(&output);
    assert_eq!(output.status.code(), Some(0), "{said}");
    said
}

pub(crate) fn files(out: &Path) -> BTreeSet<PathBuf> {
    let store = out.join("restricted/store");
    let mut files: BTreeSet<PathBuf> = parquet_files(&store).into_iter().collect();
    // The log and the rules of reviews are no tables.
    files.retain(|file| file.extension().is_some_and(|ending| ending == "parquet"));
    files
}

fn as_of(fleet: &Path, out: &Path, number: &str, into: &Path) -> Result<(), String> {
    let output = crate::store::as_of(fleet, out, number, into);
    match output.status.code() {
        Some(0 | 1) => Ok(()),
        _ => Err(stderr(&output)),
    }
}

#[test]
fn only_a_changed_rule_and_what_reads_it_judge_again() {
    let folder = demo("40");
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    let rules = fleet.join("rules");
    copy_folder(Path::new(planted_rules()), &rules);
    let said = review(&fleet, &out);
    assert!(said.contains("by 8 rules"), "{said}");
    let change = |from: &str, to: &str| {
        let path = rules.join("unstable_500.toml");
        let old = fs::read_to_string(&path).unwrap();
        let new = old.replacen(from, to, 1);
        assert_ne!(old, new, "{from}");
        fs::write(path, new).unwrap();
    };
    // Its words alone judge nothing again.
    change("title    = \"", "title    = \"Gate: ");
    assert!(review(&fleet, &out).contains("by 0 rules"));
    // unstable_and_landed reads it.
    change("version  = 1", "version  = 2");
    let said = review(&fleet, &out);
    assert!(said.contains("by 2 rules"), "{said}");
    assert_as_new(&fleet, &out);
    // A rule that leaves takes its results along, and no other judges for it.
    fs::remove_file(rules.join("high_at_15nm.toml")).unwrap();
    fs::remove_file(rules.join("high_at_15nm.test.toml")).unwrap();
    let said = review(&fleet, &out);
    assert!(said.contains("by 0 rules"), "{said}");
    assert_as_new(&fleet, &out);
    let rows = read(&out.join("restricted/tables/measurements.csv"));
    assert!(rows.iter().all(|row| row["rule"] != "high_at_15nm"));
}

#[test]
fn a_compacted_store_says_the_same_with_fewer_files() {
    let folder = demo("40");
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    fs::write(fleet.join("records/cut.parquet"), b"PAR1").unwrap();
    fs::write(fleet.join("records/other.parquet"), b"PAR1 other").unwrap();
    review(&fleet, &out);
    let before = number(&out);
    let kept = folder.path().join("kept");
    keep(&out, &kept);
    let many = files(&out).len();
    assert!(store(&["compact"], &out).contains("put together into"));
    assert!(store(&["compact"], &out).contains("nothing to put together"));
    let said = review(&fleet, &out);
    assert!(
        said.contains("loaded 0 new of") && said.contains("judged 0 approaches"),
        "{said}"
    );
    assert_as_new(&fleet, &out);
    let quarantine = "restricted/tables/quarantine.csv";
    let refused = |folder: &Path| fs::read(folder.join(quarantine)).unwrap();
    assert!(refused(&kept) == refused(&out));
    // The review from before reads its own files; cutting history leaves those.
    let then = folder.path().join("then");
    as_of(&fleet, &out, &before, &then).unwrap();
    store(&["collect", "--history"], &out);
    as_of(&fleet, &out, &before, &then).unwrap();
    assert_same(&kept, &then);
    let dry = store(
        &["collect", "--history", "--before", "999", "--dry-run"],
        &out,
    );
    assert!(dry.contains("would be removed"), "{dry}");
    as_of(&fleet, &out, &before, &then).unwrap();
    store(&["collect", "--history", "--before", "999"], &out);
    let few = files(&out).len();
    assert!(few * 2 < many, "{many} files became {few}");
    let refused = as_of(&fleet, &out, &before, &then).unwrap_err();
    assert!(refused.contains("can no longer be read"), "{refused}");
    assert_as_new(&fleet, &out);
    // A compacted store goes on like any other.
    let gone = parquet_files(&fleet.join("records/corvan-c20")).remove(0);
    let other = parquet_files(&fleet.join("records/brae-r3")).remove(0);
    fs::rename(&other, &gone).unwrap();
    review(&fleet, &out);
    assert_as_new(&fleet, &out);
}

#[test]
fn an_erased_flight_leaves_every_state_and_does_not_come_back() {
    let folder = demo("40");
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    review(&fleet, &out);
    let before = number(&out);
    let table = |name: &str| read(&out.join(format!("restricted/tables/{name}.csv")));
    let approaches = table("approaches");
    let id = approaches[0]["flight_id"].clone();
    let wrong = glidetally(&[
        "store",
        "erase",
        text(&out),
        "--flight",
        &id,
        "--flight",
        "nobody",
    ]);
    assert_eq!(wrong.status.code(), Some(2));
    assert!(
        stderr(&wrong).contains("has flight nobody"),
        "{}",
        stderr(&wrong)
    );
    let all = files(&out);
    let dry = store(&["erase", "--flight", &id, "--dry-run"], &out);
    assert!(dry.contains("1 flights would be erased"), "{dry}");
    assert_eq!(files(&out), all);
    let said = store(&["erase", "--flight", &id], &out);
    assert!(said.contains("1 flights erased"), "{said}");
    assert!(
        said.contains(&format!("cannot be made again: {before}")),
        "{said}"
    );
    assert!(store(&["verify"], &out).contains("0 with a problem"));
    // No file of any state, looked into one by one, holds it any more.
    for file in files(&out) {
        assert!(!holds(&file, &id), "{}", file.display());
    }
    assert!(store(&["erase", "--flight", &id], &out).contains("0 flights erased, 0 files"));
    let refused = as_of(&fleet, &out, &before, &folder.path().join("then")).unwrap_err();
    assert!(refused.contains("kind `erase`"), "{refused}");
    let said = review(&fleet, &out);
    assert!(said.contains("loaded 0 new of"), "{said}");
    for name in ["approaches", "measurements", "quality"] {
        let rows = table(name);
        assert!(
            !rows.is_empty() && rows.iter().all(|row| row["flight_id"] != id),
            "{name}"
        );
    }
    // Everything is loaded again, the record is still there: it stays out, and that is said.
    let toml = fs::read_to_string(fleet.join("fleet.toml")).unwrap();
    fs::write(
        fleet.join("fleet.toml"),
        toml.replacen("rate_hz = 1", "rate_hz = 2", 1),
    )
    .unwrap();
    let said = review(&fleet, &out);
    assert!(
        said.contains("1 flights were left out: they have been erased"),
        "{said}"
    );
    assert!(table("approaches").iter().all(|row| row["flight_id"] != id));
    assert!(table("approaches").len() + 3 > approaches.len());
}

#[test]
fn flights_can_be_erased_by_the_ids_of_the_records() {
    let folder = demo("20");
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    let toml = fs::read_to_string(fleet.join("fleet.toml")).unwrap();
    let toml = toml.replacen("rekey = false", "rekey = true", 1);
    fs::write(fleet.join("fleet.toml"), toml).unwrap();
    review(&fleet, &out);
    let table = || read(&out.join("restricted/tables/approaches.csv"));
    let before: BTreeSet<String> = table().iter().map(|row| row["flight_id"].clone()).collect();
    let list = crate::table::parquet_column(&fleet.join("flights.parquet"), "flight_id");
    let given = &list[0];
    assert!(!before.contains(given));
    let wrong = glidetally(&["store", "erase", text(&out), "--flight", given]);
    assert_eq!(wrong.status.code(), Some(2), "{}", stderr(&wrong));
    let said = store(&["erase", "--flight", given, "--fleet", text(&fleet)], &out);
    assert!(said.contains("1 flights erased"), "{said}");
    review(&fleet, &out);
    let after: BTreeSet<String> = table().iter().map(|row| row["flight_id"].clone()).collect();
    assert_eq!(before.difference(&after).count(), 1);
    assert!(after.is_subset(&before));
}

/// Whether a Parquet file has this flight in a column of flight ids.
pub(crate) fn holds(file: &Path, id: &str) -> bool {
    let rows = crate::table::parquet_column(file, "flight_id");
    rows.iter().any(|row| row == id)
}

#[test]
fn a_moved_file_is_followed() {
    let folder = demo("40");
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    review(&fleet, &out);
    // A whole folder gets another name; then one file of many flights alone.
    fs::rename(fleet.join("records/brae-r3"), fleet.join("records/archive")).unwrap();
    let said = review(&fleet, &out);
    assert!(said.contains(" 0 refused"), "{said}");
    assert_as_new(&fleet, &out);
    let one = parquet_files(&fleet.join("records/archive")).remove(0);
    let other = one.with_file_name("renamed.parquet");
    fs::rename(&one, &other).unwrap();
    review(&fleet, &out);
    assert_as_new(&fleet, &out);
    // A copy under the old name is a copy.
    fs::copy(&other, &one).unwrap();
    assert!(review(&fleet, &out).contains("1 refused"));
    assert!(review(&fleet, &out).contains("loaded 0 new of"));
}
