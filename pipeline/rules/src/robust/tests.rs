//! Flips that can be worked out by hand.

use std::collections::BTreeMap;
use std::sync::Arc;

use datafusion::arrow::array::RecordBatch;
use datafusion::datasource::MemTable;
use records::catalogue::Catalogue;
use records::derive::{Columns, Segment, derive};
use records::fleet::{Entry, Fleet, ParameterMap};
use records::rows::ApproachRow;
use records::samples::{lay_out, schema, stored_columns};
use records::timebase::Grid;

use super::vary::{Base, Change};
use super::*;
use crate::detect::{Detected, Engine, EngineOptions, assemble_scanned};
use crate::rows::RobustnessRow;
use crate::rule_file::{CheckedRule, RuleContext, RuleText, check_pack};

const HEAD: &str = r#"
version = 1
title = "T"
family = "high-energy"
why = "w"
source = "s"
"#;

const FAST: &str = r#"
[limits]
fast_kt = 250.0
[episode]
within = 'time_s >= 0'
when = 'cas_kt > limits.fast_kt'
hold = "0s"
bridge = "3s"
[measures]
worst = 'max(cas_kt - limits.fast_kt)'
gust = 'at_worst(turbulence_g)'
"#;

const GATE: &str = r#"
[limits]
fast_kt = 160.0
[gate]
at = 'height_aal_ft = 1000'
[[criterion]]
name = "speed"
value = 'cas_kt'
upper = 'limits.fast_kt'
"#;

fn rule(id: &str, body: &str) -> Vec<CheckedRule> {
    let text = RuleText {
        path: format!("{id}.toml"),
        stem: id.to_owned(),
        text: format!("id = \"{id}\"\n{HEAD}{body}"),
    };
    check_pack(
        vec![text],
        &RuleContext::of(&records::catalogue::Catalogue::default()),
    )
    .unwrap()
}

/// One approach of 40 samples a second with these columns.
fn approach(number: i32, given: &[(&str, &dyn Fn(f64) -> f64)]) -> (ApproachRow, RecordBatch) {
    let values = |f: &dyn Fn(f64) -> f64| (0..40).map(|k| f(f64::from(k))).collect();
    let mut columns = Columns {
        grid: Grid {
            start_s: 100.0,
            step_s: 1.0,
            n: 40,
        },
        columns: given
            .iter()
            .map(|(name, f)| ((*name).to_owned(), values(f)))
            .collect(),
        segment: vec![Segment::Approach; 40],
    };
    derive(&mut columns, None, &records::derive::Frame::default());
    let row = ApproachRow {
        approach_key: i64::from(number),
        flight_id: format!("f{number}"),
        approach_no: 1,
        step_s: 1.0,
        n_samples: 40,
        ..ApproachRow::default()
    };
    let samples = lay_out(&row, row.approach_key, &columns, &Catalogue::default()).unwrap();
    (row, samples)
}

fn engine(threads: usize) -> Engine {
    let options = EngineOptions {
        threads,
        ..EngineOptions::default()
    };
    Engine::new(options).unwrap()
}

fn judged(pack: &[CheckedRule], approaches: &[(ApproachRow, RecordBatch)]) -> Detected {
    let schema = schema(&Catalogue::default());
    let batches = approaches.iter().map(|one| one.1.clone()).collect();
    let table = MemTable::try_new(schema.clone(), vec![batches]).unwrap();
    let engine = engine(1);
    let scanned = engine.scan_table(pack, &schema, Arc::new(table)).unwrap();
    let rows = approaches.iter();
    let rows = rows
        .map(|one| (one.0.approach_key, one.0.clone()))
        .collect();
    assemble_scanned(&engine, pack, &schema, scanned, rows, BTreeMap::new()).unwrap()
}

/// What of the verdicts over these approaches survives.
fn flipped(
    pack: &[CheckedRule],
    fleet: &Fleet,
    approaches: &[(ApproachRow, RecordBatch)],
    threads: usize,
) -> Vec<RobustnessRow> {
    let detected = judged(pack, approaches);
    let all = subjects(
        pack,
        &detected.measurements,
        &detected.events,
        &detected.gates,
    );
    let asked: Vec<Approach<'_>> = all
        .chunk_by(|a, b| a.flight_id == b.flight_id)
        .map(|subjects| {
            let mut own = approaches.iter();
            let (row, samples) = own
                .find(|one| one.0.flight_id == subjects[0].flight_id)
                .unwrap();
            Approach {
                row,
                samples,
                subjects,
            }
        })
        .collect();
    let again = Again {
        engine: &engine(threads),
        pack,
        schema: &schema(&Catalogue::default()),
        fleet,
    };
    flip(&again, &asked).unwrap()
}

/// A speed of 200 kt that rises to this for ten seconds.
fn bump(number: i32, top: f64) -> (ApproachRow, RecordBatch) {
    let cas = move |k: f64| {
        if (15.0..25.0).contains(&k) {
            top
        } else {
            200.0
        }
    };
    approach(number, &[("cas_kt", &cas)])
}

#[test]
fn half_a_knot_does_not_survive_a_knot_and_five_do() {
    let fleet = Fleet::default();
    let approaches = [
        bump(1, 250.5),
        bump(2, 255.0),
        bump(3, 249.5),
        bump(4, 240.0),
    ];
    let pack = rule("fast", FAST);
    let rows = flipped(&pack, &fleet, &approaches, 1);
    let seen: Vec<_> = rows
        .iter()
        .map(|row| {
            let (id, verdict) = (row.flight_id.as_str(), row.verdict.as_str());
            (
                id,
                verdict,
                row.variants,
                row.survived,
                row.flips_most.as_deref(),
            )
        })
        .collect();
    // One channel, a sample late and early, a knot high and low. The gust that is kept beside decides nothing.
    assert_eq!(
        seen,
        [
            ("f1", "event", 4, 3, Some("cas_kt")),
            ("f2", "event", 4, 4, None),
            ("f3", "clear", 4, 3, Some("cas_kt")),
            ("f4", "clear", 4, 4, None),
        ]
    );
    assert_eq!(rows[0].share, Some(0.75));
    assert_eq!(rows[0].start_s, Some(115.0));
    assert_eq!(
        rows,
        flipped(&pack, &fleet, &approaches, 3),
        "threads change nothing"
    );
}

#[test]
fn a_gate_flips_with_the_speed_and_with_the_height_it_is_crossed_at() {
    // A knot a second; 160.5 kt where 1,000 ft is crossed, at 19.8 s.
    let cas = |k: f64| 180.3 - k;
    let height = |k: f64| 1990.0 - 50.0 * k;
    let altitude = |k: f64| 2490.0 - 50.0 * k;
    let columns: [(&str, &dyn Fn(f64) -> f64); 3] = [
        ("cas_kt", &cas),
        ("height_aal_ft", &height),
        ("pressure_altitude_ft", &altitude),
    ];
    let rows = flipped(
        &rule("gate", GATE),
        &Fleet::default(),
        &[approach(1, &columns)],
        2,
    );
    let seen: Vec<_> = rows
        .iter()
        .map(|row| (row.verdict.as_str(), row.variants, row.survived))
        .collect();
    // Early or low speeds pass, and so does a height that is late; a constant error of the altitude is the same
    // on the runway and changes no height.
    assert_eq!(seen, [("event", 8, 5), ("gate", 8, 5)]);
    assert_eq!(rows[1].criterion.as_deref(), Some("speed"));
    assert_eq!(rows[0].flips_most.as_deref(), Some("cas_kt"));
}

#[test]
fn a_known_delay_is_a_longer_lag() {
    let delayed = Entry {
        delay_s: 3.0,
        ..Entry::as_is("cas")
    };
    let map = ParameterMap {
        time: Entry::as_is("time_s"),
        flight_id: None,
        entries: BTreeMap::from([("cas_kt".to_owned(), delayed)]),
    };
    let fleet = Fleet {
        maps: vec![map],
        ..Fleet::default()
    };
    let cas = |k: f64| 150.0 + k;
    let (row, samples) = approach(1, &[("cas_kt", &cas)]);
    let stored = stored_columns(&samples, &fleet.catalogue, 1.0).unwrap();
    let base = Base::new(stored, &row, &fleet);
    assert_eq!(
        base.changes("cas_kt")[..2],
        [Change::Late(3), Change::Late(-3)]
    );
    let late = base.changed("cas_kt", Change::Late(3));
    assert_eq!(
        late.values("cas_kt").unwrap()[..5],
        [150.0, 150.0, 150.0, 150.0, 151.0]
    );
    let early = base.changed("cas_kt", Change::Late(-3));
    assert_eq!(early.values("cas_kt").unwrap()[36..], [189.0; 4]);
}

#[test]
fn steps_are_those_of_the_channel_and_states_have_none() {
    let cas = |k: f64| 150.0 + k;
    let n1 = |k: f64| 40.0 + 0.25 * (k / 4.0).floor();
    let from = |k: f64| (355.0 + 2.0 * k).rem_euclid(360.0);
    let gear = |k: f64| f64::from(k > 20.0);
    let columns: [(&str, &dyn Fn(f64) -> f64); 4] = [
        ("cas_kt", &cas),
        ("n1_1_pct", &n1),
        ("wind_from_deg", &from),
        ("gear_down", &gear),
    ];
    let fleet = Fleet::default();
    let (row, samples) = approach(1, &columns);
    let stored = stored_columns(&samples, &fleet.catalogue, 1.0).unwrap();
    let base = Base::new(stored, &row, &fleet);
    let high = |channel: &str| base.changes(channel).get(2).copied();
    assert_eq!(high("cas_kt"), Some(Change::High(1.0)));
    assert_eq!(high("n1_1_pct"), Some(Change::High(0.25)));
    assert_eq!(high("wind_from_deg"), Some(Change::High(2.0)));
    assert_eq!(high("gear_down"), None);
    let turned = base.changed("wind_from_deg", Change::High(-2.0));
    assert_eq!(turned.values("wind_from_deg").unwrap()[3], 359.0);
}

#[test]
fn a_true_airspeed_is_recorded_only_where_it_is_not_the_computed_one() {
    let fleet = Fleet::default();
    let cas = |k: f64| 150.0 + k;
    let altitude = |k: f64| 8000.0 - 50.0 * k;
    let recorded = |k: f64| 170.0 + k;
    let with = |more: Option<&dyn Fn(f64) -> f64>| {
        let mut columns: Vec<(&str, &dyn Fn(f64) -> f64)> =
            vec![("cas_kt", &cas), ("pressure_altitude_ft", &altitude)];
        columns.extend(more.map(|tas| ("tas_kt", tas)));
        let (row, samples) = approach(1, &columns);
        let stored = stored_columns(&samples, &fleet.catalogue, 1.0).unwrap();
        let base = Base::new(stored, &row, &fleet);
        let high = base.changed("cas_kt", Change::High(1.0));
        let tas = |columns: &Columns| columns.values("tas_kt").unwrap()[10];
        let moved = tas(&high) - tas(&base.unchanged());
        (base.recorded.contains("tas_kt"), moved)
    };
    let (is_recorded, moved) = with(None);
    assert!(!is_recorded && moved > 1.0, "{moved}");
    assert_eq!(with(Some(&recorded)), (true, 0.0));
}
