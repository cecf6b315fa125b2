//! Every kind of damage alone, and every pair of kinds, on one clean flight of each recorder.
//!
//! None may make an event, none may lose a flight, and each must leave the trace that the table of
//! `kinds.rs` states; of a pair at least one trace, as one damage can hide or take away the other.

mod found;
mod harm;
mod kinds;
pub(crate) mod record;

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::sync::OnceLock;

use tempfile::TempDir;

use crate::fleet::{Review, glidetally, planted_rules, stderr};
use crate::table::Row;

use found::Found;
use harm::Moments;
use kinds::{DAMAGES, WRONG_QNH_HPA};
use record::Record;

const TYPES: [&str; 3] = ["brae-r3", "corvan-c20", "tarn-t7"];

/// Where samples are missing a gate is found between those that are there: two of its heights are
/// two samples apart at most.
const GATE_S: f64 = 2.0;

/// A flight as it was damaged: its type and up to two places in `DAMAGES`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Case {
    aircraft_type: &'static str,
    kinds: Vec<usize>,
}

impl Case {
    /// The name of its file, which is its flight id.
    fn name(&self) -> String {
        let names = self.kinds.iter().map(|&kind| DAMAGES[kind].name);
        let parts: Vec<&str> = std::iter::once(self.aircraft_type).chain(names).collect();
        parts.join(".")
    }
}

fn undamaged(aircraft_type: &'static str) -> Case {
    let kinds = Vec::new();
    Case {
        aircraft_type,
        kinds,
    }
}

/// All of them: the clean flight, each kind, each pair, for each type.
fn cases() -> Vec<Case> {
    let n = DAMAGES.len();
    let mut kinds: Vec<Vec<usize>> = vec![Vec::new()];
    kinds.extend((0..n).map(|kind| vec![kind]));
    kinds.extend((0..n).flat_map(|a| (a + 1..n).map(move |b| vec![a, b])));
    TYPES
        .iter()
        .flat_map(|&aircraft_type| {
            kinds.iter().map(move |kinds| Case {
                aircraft_type,
                kinds: kinds.clone(),
            })
        })
        .collect()
}

/// A precise landing from an instrument approach of that type without an event.
fn quiet_flight<'a>(approaches: &'a [Row], events: &[Row], aircraft_type: &str) -> &'a Row {
    approaches
        .iter()
        .find(|row| {
            row["aircraft_type"] == aircraft_type
                && row["approach_kind"] == "ils"
                && row["outcome"] == "landing"
                && row["height_source"] == "landing_roll"
                && events.iter().all(|e| e["flight_id"] != row["flight_id"])
        })
        .unwrap_or_else(|| panic!("a quiet flight of {aircraft_type}"))
}

/// Writes the fleet of damaged flights beside the one they come from.
fn write_fleet(source: &Path, fleet: &Path) {
    let review = Review::run(source, &["--rules", planted_rules()]);
    assert_eq!(review.exit(), Some(0), "{}", stderr(&review.output));
    let (approaches, events) = (review.restricted("approaches"), review.restricted("events"));
    fs::create_dir_all(fleet.join("records")).unwrap();
    fs::create_dir_all(fleet.join("aircraft")).unwrap();
    fs::copy(source.join("runways.csv"), fleet.join("runways.csv")).unwrap();
    fs::write(
        fleet.join("fleet.toml"),
        "[fleet]\nflights = \"flights.csv\"\n[privacy]\nrekey = false\n",
    )
    .unwrap();
    let mut list = "flight_id,tail_id,aircraft_type,month,day_key,qnh_hpa\n".to_owned();
    for aircraft_type in TYPES {
        let file = format!("aircraft/{aircraft_type}.toml");
        fs::copy(source.join(&file), fleet.join(&file)).unwrap();
    }
    let mut clean: BTreeMap<&str, (Record, Moments)> = BTreeMap::new();
    for case in cases() {
        let (record, moments) = clean.entry(case.aircraft_type).or_insert_with(|| {
            let quiet = quiet_flight(&approaches, &events, case.aircraft_type);
            let mut record = Record::of(source, &quiet["flight_id"]);
            let moments = Moments::of(&mut record);
            (record, moments)
        });
        let mut damaged = record.clone();
        for &kind in &case.kinds {
            (DAMAGES[kind].harm)(&mut damaged, moments);
        }
        let name = case.name();
        damaged.write(&fleet.join(format!("records/{name}.parquet")));
        let qnh = if name.contains("wrong_qnh") {
            WRONG_QNH_HPA.to_string()
        } else {
            String::new()
        };
        let kind = case.aircraft_type;
        writeln!(list, "{name},tail-{kind},{kind},2025-03,d-{name},{qnh}").unwrap();
    }
    fs::write(fleet.join("flights.csv"), list).unwrap();
}

/// One review of all damaged flights serves every test here.
fn matrix() -> &'static BTreeMap<Case, Found> {
    static MATRIX: OnceLock<BTreeMap<Case, Found>> = OnceLock::new();
    MATRIX.get_or_init(|| {
        let folder = TempDir::new().unwrap();
        let (source, fleet) = (folder.path().join("source"), folder.path().join("damaged"));
        let path = source.to_str().unwrap();
        let size = ["--profile", "exact", "--flights", "40", "--seed", "31"];
        let written = glidetally(&[&["demo", "write", path][..], &size[..]].concat());
        assert_eq!(written.status.code(), Some(0), "{}", stderr(&written));
        write_fleet(&source, &fleet);
        let review = Review::run(&fleet, &["--rules", planted_rules()]);
        // Some are refused.
        assert_eq!(review.exit(), Some(1), "{}", stderr(&review.output));
        let names: Vec<String> = cases().iter().map(Case::name).collect();
        let mut found = Found::by_flight(&review, &names);
        let mut matrix = BTreeMap::new();
        for case in cases() {
            matrix.insert(case.clone(), found.remove(&case.name()).unwrap());
        }
        for aircraft_type in TYPES {
            let clean = matrix.remove(&undamaged(aircraft_type)).unwrap();
            let same = |case: &Case| case.aircraft_type == aircraft_type;
            for (_, found) in matrix.iter_mut().filter(|(case, _)| same(case)) {
                found.compare_with(&clean);
            }
            matrix.insert(undamaged(aircraft_type), clean);
        }
        matrix
    })
}

/// Fails with a line for each case that is not as it should be.
fn assert_none(what: &str, wrong: impl Fn(&Case, &Found) -> bool) {
    let lines: Vec<String> = matrix()
        .iter()
        .filter(|(case, found)| wrong(case, found))
        .map(|(case, found)| {
            let stated = case.kinds.iter().map(|&kind| DAMAGES[kind].stated);
            let stated: Vec<_> = stated.collect();
            format!("{}: stated {stated:?}; {}", case.name(), found.line())
        })
        .collect();
    assert!(
        lines.is_empty(),
        "{} {what}:\n{}",
        lines.len(),
        lines.join("\n")
    );
}

#[test]
fn the_undamaged_flights_are_quiet() {
    for aircraft_type in TYPES {
        let found = &matrix()[&undamaged(aircraft_type)];
        assert_eq!(found.approach("outcome"), Some("landing"));
        assert!(found.events.is_empty(), "{}", found.line());
        assert!(found.is_untouched(), "{}", found.line());
        assert_eq!(found.known_gates(), 5, "{}", found.line());
    }
}

#[test]
fn no_damage_and_no_pair_makes_an_event() {
    assert_none("flights with events", |_, found| !found.events.is_empty());
}

#[test]
fn no_damage_and_no_pair_loses_a_flight() {
    assert_none("flights lost", |_, found| found.is_lost());
}

/// A height or a distance that a damage has shifted would show here: it is true or unknown.
#[test]
fn no_damage_and_no_pair_moves_a_gate() {
    assert_none("flights with a gate elsewhere", |_, found| {
        found.moved_gates(GATE_S) > 0
    });
}

#[test]
fn every_damage_leaves_its_stated_trace() {
    assert_none(
        "without the stated trace",
        |case, found| matches!(case.kinds[..], [kind] if !(DAMAGES[kind].seen)(found)),
    );
}

#[test]
fn every_pair_leaves_a_stated_trace() {
    assert_none("pairs without any stated trace", |case, found| {
        case.kinds.len() == 2 && !case.kinds.iter().any(|&kind| (DAMAGES[kind].seen)(found))
    });
}
