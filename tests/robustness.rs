//! The flip test of a review: narrow verdicts are less sure than wide ones, by the truth of an invented
//! fleet; and what it writes depends on neither threads nor how often it was asked for.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use tempfile::TempDir;

use crate::fleet::{Review, glidetally, planted_rules, stderr};
use crate::same_bytes::assert_same;
use crate::table::{Row, number};
use crate::truth::{Truth, key, truth};

struct Flipped {
    folder: TempDir,
    review: Review,
}

impl Flipped {
    fn fleet(&self) -> PathBuf {
        self.folder.path().join("fleet")
    }
}

/// Deviations on both sides of every limit.
fn flipped() -> &'static Flipped {
    static FLIPPED: OnceLock<Flipped> = OnceLock::new();
    FLIPPED.get_or_init(|| {
        let folder = TempDir::new().unwrap();
        let fleet = folder.path().join("fleet");
        let path = fleet.to_str().unwrap();
        let size = ["--flights", "400", "--months", "2", "--seed", "41"];
        let write = ["demo", "write", path, "--profile", "proving"];
        let written = glidetally(&[&write[..], &size[..]].concat());
        assert_eq!(written.status.code(), Some(0), "{}", stderr(&written));
        let review = Review::run(&fleet, &["--robustness", "--rules", planted_rules()]);
        assert_ne!(review.exit(), Some(2), "{}", stderr(&review.output));
        Flipped { folder, review }
    })
}

fn share(row: &Row) -> f64 {
    number(row, "share").unwrap_or_else(|| panic!("no share in {row:?}"))
}

fn mean(shares: &[f64]) -> f64 {
    shares.iter().sum::<f64>() / shares.len() as f64
}

#[test]
fn narrow_events_are_less_sure_than_wide_ones() {
    let mut least: BTreeMap<(String, i32, String), f64> = BTreeMap::new();
    for row in flipped().review.restricted("robustness") {
        if row["verdict"] == "event" {
            let (flight, number) = key(&row);
            let one = least
                .entry((flight, number, row["rule"].clone()))
                .or_insert(1.0);
            *one = one.min(share(&row));
        }
    }
    let (mut narrow, mut wide) = (Vec::new(), Vec::new());
    for event in truth::<Truth>(&flipped().fleet(), "rules.parquet") {
        let (true, Some(margin), Some(band)) = (event.event, event.margin, event.band) else {
            continue;
        };
        let Some(share) = least.get(&(event.flight_id, event.approach_no, event.rule)) else {
            continue;
        };
        if margin.abs() <= band {
            narrow.push(*share);
        } else if margin.abs() >= 4.0 * band {
            wide.push(*share);
        }
    }
    assert!(
        narrow.len() >= 10 && wide.len() >= 40,
        "{} {}",
        narrow.len(),
        wide.len()
    );
    let (narrow, wide) = (mean(&narrow), mean(&wide));
    println!("narrow {narrow:.3}, wide {wide:.3}");
    assert!(narrow + 0.05 < wide, "narrow {narrow}, wide {wide}");
    assert!(wide > 0.97, "{wide}");
}

#[test]
fn every_event_is_judged_again_and_shows_its_share() {
    let rows = flipped().review.restricted("robustness");
    let mut by_event: BTreeMap<(String, i32, String, String), &Row> = BTreeMap::new();
    for row in &rows {
        let (variants, survived) = (
            number(row, "variants").unwrap(),
            number(row, "survived").unwrap(),
        );
        assert!(variants >= 2.0 && survived <= variants, "{row:?}");
        // Written with seven digits.
        assert!((share(row) - survived / variants).abs() < 1e-6, "{row:?}");
        assert_eq!(
            row["flips_most"].is_empty(),
            survived == variants,
            "{row:?}"
        );
        if row["verdict"] == "event" {
            let (flight, number) = key(row);
            by_event.insert(
                (flight, number, row["rule"].clone(), row["start_s"].clone()),
                row,
            );
        }
    }
    let events = flipped().review.restricted("events");
    assert!(events.len() >= 100, "{} events", events.len());
    for event in &events {
        let (flight, number) = key(event);
        let place = (
            flight,
            number,
            event["rule"].clone(),
            event["start_s"].clone(),
        );
        let row = by_event.get(&place).unwrap_or_else(|| panic!("{place:?}"));
        assert_eq!(event["robustness"], row["share"], "{place:?}");
    }
    let gates = flipped().review.restricted("gates");
    let shown = gates
        .iter()
        .filter(|row| !row["robustness"].is_empty())
        .count();
    let asked = rows.iter().filter(|row| row["verdict"] == "gate").count();
    assert_eq!(shown, asked);
    assert!(
        shown > 200 && shown < gates.len(),
        "{shown} of {}",
        gates.len()
    );
}

#[test]
fn the_rules_are_compared_in_a_table_that_may_be_passed_round() {
    let rules = flipped().review.shared("robustness");
    let rows = flipped().review.restricted("robustness");
    let mut shown = 0;
    for rule in &rules {
        for (verdict, count, share_of) in [
            ("event", "events", "events_share"),
            ("clear", "clear", "clear_share"),
            ("gate", "gates", "gates_share"),
        ] {
            let Some(counted) = number(rule, count) else {
                continue;
            };
            let own: Vec<f64> = rows
                .iter()
                .filter(|row| row["rule"] == rule["rule"] && row["verdict"] == verdict)
                .map(share)
                .collect();
            assert_eq!(counted, own.len() as f64, "{rule:?}");
            assert!(
                (number(rule, share_of).unwrap() - mean(&own)).abs() < 1e-6,
                "{rule:?}"
            );
            shown += 1;
        }
    }
    assert!(shown >= 10, "{shown} of {rules:?}");
    // Clear verdicts are sought until there are twenty, or as many as events.
    let clear = rows
        .iter()
        .filter(|row| row["verdict"] == "clear" && row["rule"] == "high_at_15nm");
    assert!(clear.count() >= 20);
}

fn runs(out: &Path) -> usize {
    fs::read_dir(out.join("restricted/store/runs"))
        .unwrap()
        .count()
}

#[test]
fn threads_and_the_way_there_change_no_byte_and_nothing_is_judged_twice() {
    let fleet = flipped().fleet();
    let first = flipped().review.out.path();
    // Without the option nothing is judged again.
    let later = Review::run(&fleet, &["--threads", "1", "--rules", planted_rules()]);
    assert_eq!(later.restricted("robustness"), Vec::<Row>::new());
    assert!(
        later
            .restricted("events")
            .iter()
            .all(|row| row["robustness"].is_empty())
    );
    let out = later.out.path();
    let (fleet, place) = (fleet.to_str().unwrap(), out.to_str().unwrap());
    let again = || {
        let output = glidetally(&[
            "review",
            fleet,
            "--out",
            place,
            "--robustness",
            "--threads",
            "1",
            "--rules",
            planted_rules(),
        ]);
        assert_ne!(output.status.code(), Some(2), "{}", stderr(&output));
        stderr(&output)
    };
    again();
    assert_same(first, out);
    for table in [
        "share/tables/robustness.csv",
        "restricted/tables/robustness.parquet",
    ] {
        let read = |folder: &Path| fs::read(folder.join(table)).unwrap();
        assert!(read(first) == read(out), "{table} differs");
    }
    let before = runs(out);
    let said = again();
    assert!(said.contains("judged 0 approaches again"), "{said}");
    assert_eq!(runs(out), before);

    // What was judged again goes with its flight; what is judged anew beside it is judged again too.
    let rows = later.restricted("robustness");
    let gone = rows[0]["flight_id"].clone();
    let erased = glidetally(&["store", "erase", place, "--flight", &gone]);
    assert_eq!(erased.status.code(), Some(0), "{}", stderr(&erased));
    again();
    let kept = later.restricted("robustness");
    assert!(!kept.is_empty() && kept.iter().all(|row| row["flight_id"] != gone));
    let events = later.restricted("events");
    assert!(events.len() >= 100 && events.iter().all(|row| !row["robustness"].is_empty()));
}
