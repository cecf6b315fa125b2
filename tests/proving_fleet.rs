//! A fleet made to prove the detector on, against its planted truth.
//!
//! Every planted event must be found and nothing else, outside a band of one resolution step of the
//! recorded inputs plus one sample's change; the truth states the band of each quantity.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use tempfile::TempDir;

use crate::fleet::{Review, glidetally, planted_rules, stderr};
use crate::table::{Row, number};
use crate::truth::{Approach, Truth, head, key, truth};

struct Proving {
    fleet: PathBuf,
    review: Review,
    _folder: TempDir,
}

impl Proving {
    fn fleet(&self) -> &Path {
        &self.fleet
    }
}

/// One fleet and its review serve every test here.
fn proving() -> &'static Proving {
    static PROVING: OnceLock<Proving> = OnceLock::new();
    PROVING.get_or_init(|| {
        let folder = TempDir::new().unwrap();
        let fleet = folder.path().join("fleet");
        let path = fleet.to_str().unwrap();
        let output = glidetally(&[
            "demo",
            "write",
            path,
            "--flights",
            "2000",
            "--seed",
            "5",
            "--profile",
            "proving",
        ]);
        assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
        let review = Review::run(&fleet, &["--rules", planted_rules()]);
        assert_eq!(review.exit(), Some(0), "{}", stderr(&review.output));
        Proving {
            fleet,
            review,
            _folder: folder,
        }
    })
}

#[test]
fn every_approach_is_found_where_it_was_flown_and_as_it_ended() {
    let rows: BTreeMap<(String, i32), Row> = proving()
        .review
        .restricted("approaches")
        .into_iter()
        .map(|row| (key(&row), row))
        .collect();
    let approaches: Vec<Approach> = truth(proving().fleet(), "approaches.parquet");
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
    for row in proving().review.restricted("measurements") {
        let (flight_id, approach_no) = key(&row);
        found.insert((flight_id, approach_no, row["rule"].clone()), row);
    }
    let mut faults = Vec::new();
    let mut tallies: BTreeMap<String, Tally> = BTreeMap::new();
    for planted in truth::<Truth>(proving().fleet(), "rules.parquet")
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
        // Levers are sampled every two or four seconds, in which a slowing aircraft loses some knots:
        // half of the margin that the rule asks for.
        let most = if rule == "flap_selection_margin" {
            25.0
        } else {
            15.0
        };
        assert!(share < most, "{rule}: {share:.1} % in the band");
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
    for row in proving().review.restricted("gates") {
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
    for planted in truth::<Truth>(proving().fleet(), "rules.parquet")
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
