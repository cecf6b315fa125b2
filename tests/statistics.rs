//! The statistics as a whole: what the shared tables say follows from the rows behind them, by arithmetic of
//! these tests' own, and what people tell of a fleet comes out again.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use tempfile::TempDir;

use crate::fleet::{glidetally, planted_rules, stderr, top};
use crate::same_bytes::demo;
use crate::sample_fleet;
use crate::store::{as_of, keep, number as run_number};
use crate::store_care::{files, holds};
use crate::table::{Row, number, read};

fn is_fleet(row: &&Row) -> bool {
    row["group_kind"] == "fleet" && row["at_least_level"] == "low" && !row["rule"].is_empty()
}

/// Line approaches by month and rule: evaluable, with an event that counts.
fn counted_again() -> BTreeMap<(String, String), (f64, f64)> {
    let review = sample_fleet::review();
    let key = |row: &Row| (row["flight_id"].clone(), row["approach_no"].clone());
    let months: BTreeMap<(String, String), String> = review
        .restricted("approaches")
        .iter()
        .filter(|row| row["flight_purpose"] == "line")
        .map(|row| (key(row), row["month"].clone()))
        .collect();
    let events: BTreeSet<((String, String), String)> = review
        .restricted("events")
        .iter()
        .filter(|row| row["partial"] == "false" && row["edge"] != "true")
        .map(|row| (key(row), row["rule"].clone()))
        .collect();
    let mut cells: BTreeMap<(String, String), (f64, f64)> = BTreeMap::new();
    for row in review.restricted("measurements") {
        let judged = matches!(row["status"].as_str(), "event" | "clear");
        if let (true, Some(month)) = (judged, months.get(&key(&row))) {
            let cell = cells
                .entry((row["rule"].clone(), month.clone()))
                .or_default();
            cell.0 += 1.0;
            let fired = events.contains(&(key(&row), row["rule"].clone()));
            cell.1 += f64::from(u8::from(fired));
        }
    }
    cells
}

#[test]
fn months_and_their_baselines_are_what_the_rows_add_up_to() {
    let cells = counted_again();
    let trend = sample_fleet::review().shared("trend_monthly");
    let (mut compared, mut tested) = (0, 0);
    for row in trend.iter().filter(is_fleet) {
        let of = |month: &str| {
            let cell = cells.get(&(row["rule"].clone(), month.to_owned()));
            cell.copied().unwrap_or_default()
        };
        let (n, x) = of(&row["month"]);
        // Withheld, and with it what follows from it.
        if !row["suppressed"].is_empty() {
            assert_eq!(
                (number(row, "evaluable"), number(row, "ratio")),
                (None, None)
            );
            continue;
        }
        assert_eq!(number(row, "evaluable"), Some(n), "{row:?}");
        assert_eq!(number(row, "approaches_with_event"), Some(x), "{row:?}");
        compared += 1;
        let Some(before) = number(row, "baseline_months") else {
            continue;
        };
        // Less than two years: the baseline is the year before, as far as its months are shown.
        let mut earlier: Vec<&str> = trend
            .iter()
            .filter(is_fleet)
            .filter(|other| other["rule"] == row["rule"] && other["month"] < row["month"])
            .filter(|other| other["suppressed"].is_empty() && of(&other["month"]).0 > 0.0)
            .map(|other| other["month"].as_str())
            .collect();
        earlier.reverse();
        earlier.truncate(12);
        assert_eq!(earlier.len() as f64, before, "{row:?}");
        let (mut n0, mut x0) = (0.0, 0.0);
        for month in earlier {
            n0 += of(month).0;
            x0 += of(month).1;
        }
        let close = |column: &str, expected: f64| {
            let found = number(row, column).unwrap();
            assert!(
                (found - expected).abs() <= 2e-6 * expected.abs(),
                "{column}: {expected} in {row:?}"
            );
        };
        close("baseline_rate", 1000.0 * x0 / n0);
        if x0 > 0.0 {
            close("ratio", x / n / (x0 / n0));
            tested += 1;
        }
    }
    assert!(compared > 500 && tested > 100, "{compared}, {tested}");
}

/// Benjamini and Hochberg as they wrote it: the largest k with p(k) ≤ k/m·q, turned into adjusted p.
#[test]
fn q_is_adjusted_within_each_month_and_kind_of_group() {
    let trend = sample_fleet::review().shared("trend_monthly");
    let mut families: BTreeMap<(&str, &str), Vec<(f64, f64)>> = BTreeMap::new();
    for row in &trend {
        if let (Some(p), Some(q)) = (number(row, "p"), number(row, "q")) {
            let key = (row["month"].as_str(), row["group_kind"].as_str());
            families.entry(key).or_default().push((p, q));
        }
    }
    let mut largest = 0;
    for ((month, kind), tests) in &families {
        let m = tests.len() as f64;
        for (p, q) in tests {
            let adjusted = tests
                .iter()
                .filter(|(other, _)| other >= p)
                .map(|(other, _)| {
                    let rank = tests.iter().filter(|(smaller, _)| smaller <= other).count();
                    (other * m / rank as f64).min(1.0)
                })
                .fold(1.0, f64::min);
            assert!(
                (q - adjusted).abs() < 1e-5,
                "{month}, {kind}: p {p}, q {q}, expected {adjusted}"
            );
        }
        largest = largest.max(tests.len());
    }
    let kinds: BTreeSet<&str> = families.keys().map(|(_, kind)| *kind).collect();
    assert!(largest > 20 && kinds.len() >= 3, "{largest}, {kinds:?}");
}

#[test]
fn every_row_says_what_it_shows_or_why_not() {
    let review = sample_fleet::review();
    for (table, says, why) in [
        ("trend_monthly", "signal", "why_no_signal"),
        ("trend_slope", "call", "why_no_call"),
        ("training_topics", "change", "why_no_change"),
        ("interventions", "signal", "why_no_signal"),
    ] {
        let rows = review.shared(table);
        assert!(!rows.is_empty(), "{table}");
        for row in rows {
            assert_ne!(
                row[says].is_empty(),
                row[why].is_empty(),
                "{table}: {row:?}"
            );
        }
    }
    for row in review.shared("hotspots") {
        let called = matches!(row["class"].as_str(), "hot spot" | "watch");
        let hidden = !row["suppressed"].is_empty();
        assert_eq!(row["why"].is_empty(), called || hidden, "{row:?}");
    }
    // Nothing undefined is a number, in any table.
    for place in ["share/tables", "restricted/tables"] {
        for entry in fs::read_dir(review.out.path().join(place)).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|ending| ending == "csv") {
                for row in read(&path) {
                    let bad = row
                        .iter()
                        .find(|(_, text)| matches!(text.as_str(), "NaN" | "inf" | "-inf"));
                    assert_eq!(bad, None, "{}: {row:?}", path.display());
                }
            }
        }
    }
}

#[test]
fn what_was_flown_and_not_received_is_told_by_type_and_month() {
    let rows = sample_fleet::review().shared("recovery");
    let flown = read(&top().join("sample-data/flown.csv"));
    let mut by_month: BTreeMap<&str, f64> = BTreeMap::new();
    for row in &flown {
        *by_month.entry(&row["month"]).or_default() += number(row, "flights").unwrap();
    }
    let fleet: Vec<&Row> = rows
        .iter()
        .filter(|row| row["group_kind"] == "fleet")
        .collect();
    assert_eq!(fleet.len(), by_month.len());
    for row in fleet {
        let flights = by_month[row["month"].as_str()];
        assert_eq!(number(row, "flights_flown"), Some(flights));
        let share = number(row, "flights_received").unwrap() / flights;
        assert!((number(row, "share").unwrap() - share).abs() < 1e-6);
    }
    let lost = rows
        .iter()
        .find(|row| row["group"] == "brae-r3" && row["month"] == "2025-07")
        .unwrap();
    assert!(number(lost, "share").unwrap() < 0.8, "{lost:?}");
    let report = sample_fleet::review().report();
    assert!(report.contains("Flown") && report.contains("leaflet on descent planning (tarn-t7)"));
}

/// A review of an output folder that may hold earlier ones, by the rules the truth knows.
fn review(fleet: &Path, out: &Path, more: &[&str]) -> String {
    let paths = [fleet.to_str().unwrap(), "--out", out.to_str().unwrap()];
    let rules = ["--rules", planted_rules()];
    let output = glidetally(&[&["review"], &paths[..], &rules[..], more].concat());
    let said = stderr(&output);
    assert!(output.status.code().is_some_and(|code| code < 2), "{said}");
    said
}

fn shared(out: &Path, table: &str) -> Vec<Row> {
    read(&out.join(format!("share/tables/{table}.csv")))
}

#[test]
fn late_flights_are_told_against_the_review_before() {
    let folder: TempDir = demo("240");
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    let months: BTreeSet<String> = read(&fleet.join("flown.csv"))
        .iter()
        .map(|row| row["month"].clone())
        .collect();
    let months: Vec<&String> = months.iter().collect();
    let (first, second) = (months[0].as_str(), months[1].as_str());
    // The file of one type and month comes after the review of the month.
    let late = fleet.join(format!("records/corvan-c20/{first}.parquet"));
    let aside = folder.path().join("late.parquet");
    fs::rename(&late, &aside).unwrap();
    review(&fleet, &out, &["--month", first]);
    assert_eq!(shared(&out, "restated"), Vec::<Row>::new());
    let told = fs::read_to_string(out.join("share/report.html")).unwrap();
    assert!(told.contains("There is no review of an earlier month"));
    let before = shared(&out, "trend_monthly");
    let run = run_number(&out);

    fs::rename(&aside, &late).unwrap();
    review(&fleet, &out, &["--month", second]);
    let now = shared(&out, "trend_monthly");
    let rows = shared(&out, "restated");
    assert!(!rows.is_empty());
    let cell = |rows: &[Row], rule: &str, column: &str| {
        let mut own = rows.iter().filter(is_fleet);
        let row = own.find(|row| row["rule"] == rule && row["month"] == first);
        row.and_then(|row| number(row, column))
    };
    let mut shown = 0;
    for row in &rows {
        assert_eq!(
            (row["month"].as_str(), row["cause"].as_str()),
            (first, "late flights")
        );
        for (column, of_month) in [
            ("evaluable", "evaluable"),
            ("approaches_with_event", "approaches_with_event"),
            ("rate_per_1000", "rate_per_1000"),
        ] {
            if row["suppressed"].is_empty() {
                let then = cell(&before, &row["rule"], of_month);
                assert_eq!(number(row, &format!("{column}_before")), then, "{row:?}");
                let since = cell(&now, &row["rule"], of_month);
                assert_eq!(number(row, &format!("{column}_now")), since, "{row:?}");
                shown += 1;
            }
        }
    }
    assert!(shown > 0, "all of it was withheld");
    let json = fs::read_to_string(out.join("share/run.json")).unwrap();
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["restated_against"].to_string(), run);
    let told = fs::read_to_string(out.join("share/report.html")).unwrap();
    assert!(told.contains("late flights") && told.contains(&format!("(run {run})")));
    // The same month once more is the same review: it is compared with the one before, not with itself.
    let again = folder.path().join("again");
    keep(&out, &again);
    let output = as_of(&fleet, &out, &run_number(&out), &again);
    assert!(
        output.status.code().is_some_and(|code| code < 2),
        "{}",
        stderr(&output)
    );
    assert_eq!(shared(&again, "restated"), rows);
}

#[test]
fn verdicts_give_a_precision_and_leave_every_rate_as_it_is() {
    let folder: TempDir = demo("240");
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    review(&fleet, &out, &[]);
    let rates = fs::read(out.join("share/tables/rates.csv")).unwrap();
    let trend = fs::read(out.join("share/tables/trend_monthly.csv")).unwrap();
    // Twelve flights with an event of the most frequent rule, listed for a second look or not.
    let events = read(&out.join("restricted/tables/events.csv"));
    let mut by_rule: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for row in events.iter().filter(|row| row["approach_no"] == "1") {
        by_rule
            .entry(&row["rule"])
            .or_default()
            .insert(&row["flight_id"]);
    }
    let (rule, flights) = by_rule
        .into_iter()
        .max_by_key(|(_, flights)| flights.len())
        .unwrap();
    assert!(flights.len() >= 12, "{rule}: {} flights", flights.len());
    let flights: Vec<&str> = flights.into_iter().take(12).collect();
    let mut csv = "flight_id,approach_no,rule,verdict\n".to_owned();
    for (place, flight) in flights.iter().enumerate() {
        let verdict = if place < 9 {
            "stands"
        } else {
            "does not stand"
        };
        csv.push_str(&format!("{flight},1,{rule},{verdict}\n"));
    }
    csv.push_str("nobody,1,unstable_500,stands\n");
    fs::write(fleet.join("verdicts.csv"), csv).unwrap();
    let said = review(&fleet, &out, &[]);
    assert!(
        said.contains("1 rows of verdicts.csv are about no event"),
        "{said}"
    );
    let precision = |out: &Path| {
        let rows = shared(out, "precision");
        let mut own = rows.into_iter();
        own.find(|row| row["rule"] == rule && row["at_least_level"] == "low")
            .unwrap()
    };
    let row = precision(&out);
    assert_eq!(
        (
            number(&row, "looked_at"),
            number(&row, "stands"),
            number(&row, "precision")
        ),
        (Some(12.0), Some(9.0), Some(0.75))
    );
    // Wilson's interval for 9 of 12 (statsmodels 0.15.0, proportion_confint, method "wilson").
    assert!(
        (number(&row, "ci_low").unwrap() - 0.467_694_7).abs() < 1e-6,
        "{row:?}"
    );
    assert!(
        (number(&row, "ci_high").unwrap() - 0.911_058_3).abs() < 1e-6,
        "{row:?}"
    );
    assert_eq!(fs::read(out.join("share/tables/rates.csv")).unwrap(), rates);
    assert_eq!(
        fs::read(out.join("share/tables/trend_monthly.csv")).unwrap(),
        trend
    );
    let report = fs::read_to_string(out.join("share/report.html")).unwrap();
    assert!(
        report.contains("9 of 12 stand"),
        "precision stands beside the rate"
    );
    assert!(!report.contains(flights[0]), "a flight is named");
    let listed = read(&out.join("restricted/tables/second_look.csv"));
    assert!(listed.iter().any(|row| row["verdict"] != "open"));

    // A store keeps the verdicts of then; an erased flight takes its verdict along.
    let run = run_number(&out);
    fs::remove_file(fleet.join("verdicts.csv")).unwrap();
    review(&fleet, &out, &[]);
    assert!(
        shared(&out, "precision")
            .iter()
            .all(|row| number(row, "looked_at") == Some(0.0))
    );
    let then = folder.path().join("then");
    let output = as_of(&fleet, &out, &run, &then);
    assert!(
        output.status.code().is_some_and(|code| code < 2),
        "{}",
        stderr(&output)
    );
    assert_eq!(precision(&then), row);
    assert!(files(&out).iter().any(|file| holds(file, flights[0])));
    let erased = glidetally(&[
        "store",
        "erase",
        "--flight",
        flights[0],
        out.to_str().unwrap(),
    ]);
    assert_eq!(erased.status.code(), Some(0), "{}", stderr(&erased));
    for file in files(&out) {
        assert!(!holds(&file, flights[0]), "{}", file.display());
    }
}

#[test]
fn what_cannot_be_meant_is_told_with_its_line() {
    let folder: TempDir = demo("12");
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    for (file, text, words) in [
        (
            "verdicts.csv",
            "flight_id,approach_no,rule,verdict\na,1,unstable_500,true\n",
            ["verdicts.csv:2", "none of", "does not stand"],
        ),
        (
            "interventions.csv",
            "month,airport,aircraft_type,what\n2025-03,,,new briefing\n",
            ["interventions.csv:2", "both empty", "write fleet into"],
        ),
    ] {
        let path = fleet.join(file);
        let before = fs::read(&path).ok();
        fs::write(&path, text).unwrap();
        let output = glidetally(&[
            "review",
            fleet.to_str().unwrap(),
            "--out",
            out.to_str().unwrap(),
        ]);
        assert_eq!(output.status.code(), Some(2));
        let said = stderr(&output);
        for word in words {
            assert!(said.contains(word), "no `{word}` in: {said}");
        }
        match before {
            Some(bytes) => fs::write(&path, bytes).unwrap(),
            None => fs::remove_file(&path).unwrap(),
        }
    }
}
