//! The sample fleet against its planted truth, which shares no code with what is tested.
//!
//! Every planted event must be found and nothing else, outside a band of one resolution step of the
//! recorded inputs plus one sample's change; the truth states the band of each quantity.

use std::collections::BTreeMap;
use std::fs::File;
use std::sync::OnceLock;

use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use serde::Deserialize;
use serde::de::DeserializeOwned;

use crate::fleet::{Review, stderr, top};
use crate::table::{Row, number};

#[derive(Debug, Deserialize)]
struct Approach {
    flight_id: String,
    approach_no: i32,
    airport: String,
    runway: String,
    outcome: String,
    end_s: f64,
}

#[derive(Debug, Deserialize)]
struct Truth {
    flight_id: String,
    approach_no: i32,
    rule: String,
    evaluable: bool,
    event: bool,
    worst: Option<f32>,
    margin: Option<f32>,
    band: Option<f32>,
}

impl Truth {
    /// Whether it stayed below its limit by no more than two bands.
    fn is_near_miss(&self) -> bool {
        match (self.margin, self.band) {
            (Some(margin), Some(band)) => !self.event && margin >= -2.0 * band,
            _ => false,
        }
    }

    /// Whether a recorder may blur the verdict.
    fn in_band(&self) -> bool {
        match (self.margin, self.band) {
            (Some(margin), Some(band)) => margin.abs() <= band,
            _ => false,
        }
    }
}

fn truth<T: DeserializeOwned>(name: &str) -> Vec<T> {
    let path = top().join("sample-data/truth").join(name);
    let reader = ParquetRecordBatchReaderBuilder::try_new(File::open(path).unwrap())
        .unwrap()
        .build()
        .unwrap();
    reader
        .flat_map(|batch| serde_arrow::from_record_batch::<Vec<T>>(&batch.unwrap()).unwrap())
        .collect()
}

/// One review serves every test here.
fn review() -> &'static Review {
    static REVIEW: OnceLock<Review> = OnceLock::new();
    REVIEW.get_or_init(|| {
        let review = Review::run(&top().join("sample-data"), &[]);
        assert_eq!(review.exit(), Some(0), "{}", stderr(&review.output));
        review
    })
}

fn key(row: &Row) -> (String, i32) {
    (
        row["flight_id"].clone(),
        row["approach_no"].parse().unwrap(),
    )
}

#[test]
fn it_is_as_large_and_as_small_as_it_should_be() {
    let approaches: Vec<Approach> = truth("approaches.parquet");
    assert!(approaches.len() >= 1200, "{} approaches", approaches.len());
    let rows = review().restricted("approaches");
    let months: std::collections::BTreeSet<&String> =
        rows.iter().map(|row| &row["month"]).collect();
    let airports: std::collections::BTreeSet<&String> =
        rows.iter().map(|row| &row["airport"]).collect();
    assert!(
        months.len() >= 14 && airports.len() >= 6,
        "{months:?} {airports:?}"
    );
}

#[test]
fn every_approach_is_found_where_it_was_flown_and_as_it_ended() {
    let rows: BTreeMap<(String, i32), Row> = review()
        .restricted("approaches")
        .into_iter()
        .map(|row| (key(&row), row))
        .collect();
    let approaches: Vec<Approach> = truth("approaches.parquet");
    assert_eq!(rows.len(), approaches.len());
    let mut faults = Vec::new();
    for flown in &approaches {
        let Some(row) = rows.get(&(flown.flight_id.clone(), flown.approach_no)) else {
            faults.push(format!(
                "{} {} not found",
                flown.flight_id, flown.approach_no
            ));
            continue;
        };
        let found = (
            row["airport"].as_str(),
            row["runway"].as_str(),
            row["outcome"].as_str(),
        );
        let known = (
            flown.airport.as_str(),
            flown.runway.as_str(),
            flown.outcome.as_str(),
        );
        let end_s = number(row, "end_s").unwrap();
        if found != known || (end_s - flown.end_s).abs() > 3.0 {
            faults.push(format!(
                "{} {}: {found:?} ending at {end_s}, flown {known:?} ending at {}",
                flown.flight_id, flown.approach_no, flown.end_s
            ));
        }
    }
    assert!(
        faults.is_empty(),
        "{} faults:\n{}",
        faults.len(),
        head(&faults)
    );
}

#[test]
fn every_planted_event_is_found_and_nothing_else() {
    let mut found: BTreeMap<(String, i32, String), Row> = BTreeMap::new();
    for row in review().restricted("measurements") {
        let (flight_id, approach_no) = key(&row);
        found.insert((flight_id, approach_no, row["rule"].clone()), row);
    }
    let mut faults = Vec::new();
    let mut tallies: BTreeMap<String, Tally> = BTreeMap::new();
    for planted in truth::<Truth>("rules.parquet")
        .iter()
        .filter(|row| !row.rule.contains('.'))
    {
        let place = (
            planted.flight_id.clone(),
            planted.approach_no,
            planted.rule.clone(),
        );
        let Some(row) = found.remove(&place) else {
            faults.push(format!("{place:?}: not judged"));
            continue;
        };
        let tally = tallies.entry(planted.rule.clone()).or_default();
        let status = row["status"].as_str();
        let evaluable = matches!(status, "event" | "clear");
        if planted.in_band() && planted.evaluable {
            tally.in_band += 1;
        }
        tally.near_misses += usize::from(planted.is_near_miss());
        tally.evaluable += usize::from(planted.evaluable);
        if evaluable != planted.evaluable {
            // A gate crossed within the band of its own end may be met or missed.
            faults.push(format!(
                "{place:?}: {status} ({}), truth {planted:?}",
                row["reason"]
            ));
            continue;
        }
        if !evaluable {
            continue;
        }
        tally.events += usize::from(planted.event && !planted.in_band());
        if (status == "event") != planted.event && !planted.in_band() {
            faults.push(format!(
                "{place:?}: {status}, worst {}, truth {planted:?}",
                row["worst"]
            ));
        }
        // Gates of several criteria measure other things; the criteria are compared below.
        if let (Some(worst), Some(true_worst), Some(band)) =
            (number(&row, "worst"), planted.worst, planted.band)
            && !planted.rule.starts_with("unstable")
        {
            let difference = (worst - f64::from(true_worst)).abs();
            if difference > f64::from(band) {
                faults.push(format!("{place:?}: worst {worst}, truth {planted:?}"));
            }
        }
    }
    assert!(
        found.is_empty(),
        "judged without a truth: {:?}",
        found.keys().next()
    );
    for (rule, tally) in &tallies {
        let share = 100.0 * tally.in_band as f64 / tally.evaluable as f64;
        println!(
            "{rule}: {} evaluable, {} events outside the band, {} near misses, {} in the band \
             ({share:.1} %)",
            tally.evaluable, tally.events, tally.near_misses, tally.in_band
        );
        assert!(tally.events >= 10, "{rule}: {} events", tally.events);
        assert!(
            tally.near_misses >= 10,
            "{rule}: {} near misses",
            tally.near_misses
        );
        assert!(share < 15.0, "{rule}: {share:.1} % in the band");
    }
    assert!(
        faults.is_empty(),
        "{} faults:\n{}",
        faults.len(),
        head(&faults)
    );
}

#[derive(Debug, Default)]
struct Tally {
    evaluable: usize,
    events: usize,
    in_band: usize,
    near_misses: usize,
}

#[test]
fn every_criterion_of_every_gate_agrees() {
    let mut found: BTreeMap<(String, i32, String), Row> = BTreeMap::new();
    for row in review().restricted("gates") {
        let (flight_id, approach_no) = key(&row);
        found.insert(
            (
                flight_id,
                approach_no,
                format!("{}.{}", row["rule"], row["criterion"]),
            ),
            row,
        );
    }
    let mut faults = Vec::new();
    let (mut compared, mut in_band) = (0, 0);
    for planted in truth::<Truth>("rules.parquet")
        .iter()
        .filter(|row| row.rule.contains('.'))
    {
        let place = (
            planted.flight_id.clone(),
            planted.approach_no,
            planted.rule.clone(),
        );
        let passed = found.get(&place).map_or("", |row| row["passed"].as_str());
        if planted.evaluable && planted.in_band() {
            in_band += 1;
            continue;
        }
        let known = match (planted.evaluable, planted.event) {
            (true, true) => "false",
            (true, false) => "true",
            (false, _) => "",
        };
        compared += 1;
        if passed != known {
            let value = found.get(&place).map(|row| row["value"].clone());
            faults.push(format!(
                "{place:?}: passed {passed:?}, value {value:?}, truth {planted:?}"
            ));
        }
    }
    println!("{compared} criteria compared, {in_band} in the band");
    assert!(compared > 10_000, "{compared}");
    assert!(
        faults.is_empty(),
        "{} faults:\n{}",
        faults.len(),
        head(&faults)
    );
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

fn head(faults: &[String]) -> String {
    faults
        .iter()
        .take(25)
        .cloned()
        .collect::<Vec<_>>()
        .join("\n")
}
