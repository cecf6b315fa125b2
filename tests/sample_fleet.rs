//! The sample fleet: what a new user meets first.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

use crate::fleet::{Review, stderr, top};
use crate::table::{Row, number};
use crate::truth::{Approach, Damage, head, key, truth};

/// One review serves every test here.
pub(crate) fn review() -> &'static Review {
    static REVIEW: OnceLock<Review> = OnceLock::new();
    REVIEW.get_or_init(|| {
        let review = Review::run(&top().join("sample-data"), &[]);
        // Some of its records are damaged: a finding, and no failure.
        assert_eq!(review.exit(), Some(1), "{}", stderr(&review.output));
        review
    })
}

#[test]
fn it_is_as_large_and_as_small_as_it_should_be() {
    let approaches: Vec<Approach> = truth(&top().join("sample-data"), "approaches.parquet");
    assert!(approaches.len() >= 1200, "{} approaches", approaches.len());
    let rows = review().restricted("approaches");
    let months: BTreeSet<&String> = rows.iter().map(|row| &row["month"]).collect();
    let airports: BTreeSet<&String> = rows.iter().map(|row| &row["airport"]).collect();
    assert!(
        months.len() >= 14 && airports.len() >= 12,
        "{months:?} {airports:?}"
    );
}

#[test]
fn every_whole_record_is_found_as_it_was_flown() {
    let fleet = top().join("sample-data");
    let damaged: BTreeSet<String> = truth::<Damage>(&fleet, "damages.parquet")
        .into_iter()
        .map(|damage| damage.flight_id)
        .collect();
    assert!(damaged.len() >= 10, "{} damaged", damaged.len());
    let rows: BTreeMap<(String, i32), Row> = review()
        .restricted("approaches")
        .into_iter()
        .map(|row| (key(&row), row))
        .collect();
    let mut faults = Vec::new();
    for flown in truth::<Approach>(&fleet, "approaches.parquet") {
        if damaged.contains(&flown.flight_id) {
            continue;
        }
        let place = (flown.flight_id.clone(), flown.approach_no);
        match rows.get(&place) {
            Some(row)
                if row["airport"] == flown.airport
                    && row["runway"] == flown.runway
                    && row["outcome"] == flown.outcome => {}
            other => faults.push(format!("{flown:?}: {other:?}")),
        }
    }
    assert!(faults.is_empty(), "{}", head(&faults));
}

#[test]
fn damaged_records_are_refused_with_a_reason_or_noted() {
    let refused = review().restricted("quarantine");
    assert!(!refused.is_empty());
    assert!(
        refused
            .iter()
            .all(|row| !row["reason"].is_empty() && !row["detail"].is_empty())
    );
    let noted = review().restricted("quality");
    let repaired = noted.iter().filter(|row| row["action"] != "none");
    assert!(repaired.count() >= 5);
}

#[test]
fn small_cells_are_suppressed_in_every_shared_table() {
    for table in ["rates", "trend_monthly", "hotspots"] {
        let rows = review().shared(table);
        assert!(!rows.is_empty());
        for row in &rows {
            let shown = !row["evaluable"].is_empty();
            assert_ne!(shown, !row["suppressed"].is_empty(), "{table}: {row:?}");
            if shown {
                let evaluable = number(row, "evaluable").unwrap();
                // Approaches are at least as many as flights; no cell may be below the least.
                assert!(evaluable == 0.0 || evaluable >= 10.0, "{table}: {row:?}");
            }
        }
    }
    let trend = review().shared("trend_monthly");
    assert!(
        trend.iter().any(|row| !row["suppressed"].is_empty()),
        "nothing was suppressed at all"
    );
}

#[test]
fn the_report_shows_every_rule_and_names_no_flight() {
    let report = review().report();
    let flights = review().restricted("approaches");
    for row in &flights {
        assert!(
            !report.contains(row["flight_id"].as_str()),
            "{} is named",
            row["flight_id"]
        );
        assert!(
            !report.contains(row["tail_id"].as_str()),
            "{} is named",
            row["tail_id"]
        );
    }
    for rule in [
        "energy_excess_20nm",
        "flap_limit_exceeded",
        "unstable_and_landed",
    ] {
        assert!(report.contains(rule));
    }
    assert!(!report.contains("http://") && !report.contains("https://"));
    let share = review().out.path().join("share");
    let run = std::fs::read_to_string(share.join("run.json")).unwrap();
    for table in ["rates", "trend_monthly", "hotspots", "coverage"] {
        let text = std::fs::read_to_string(share.join(format!("tables/{table}.csv"))).unwrap();
        let ids = flights
            .iter()
            .flat_map(|row| [&row["flight_id"], &row["tail_id"]]);
        for id in ids.take(200) {
            assert!(!text.contains(id.as_str()), "{table} names {id}");
        }
    }
    assert!(
        flights
            .iter()
            .all(|row| !run.contains(row["flight_id"].as_str()))
    );
}
