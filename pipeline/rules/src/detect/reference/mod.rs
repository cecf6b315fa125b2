//! Rules against plain loops over samples, written from `docs/rules.md` and sharing no code with what judges:
//! whatever the samples, and however they are dealt out, both must say the same.

mod change;
mod episode;
mod gate;

use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

use datafusion::arrow::array::{
    ArrayRef, Float32Array, Float64Array, Int8Array, Int32Array, Int64Array, RecordBatch,
    StringArray, UInt32Array, new_null_array,
};
use datafusion::arrow::compute::{cast, take_record_batch};
use datafusion::arrow::datatypes::SchemaRef;
use datafusion::datasource::MemTable;
use proptest::prelude::*;
use records::catalogue::Catalogue;
use records::rows::ApproachRow;
use records::samples;

use super::{Detected, Engine, EngineOptions, assemble_scanned};
use crate::rule_file::{CheckedRule, RuleContext, RuleText, check_pack};

/// One sample as far as the rules here read it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sample {
    pub(super) approach: bool,
    pub(super) height: Option<f32>,
    pub(super) cas: Option<f32>,
    pub(super) gear: Option<i8>,
    pub(super) flap: Option<i8>,
}

/// An event as the reference writes it; times in samples.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Event {
    pub(super) start: f64,
    pub(super) end: f64,
    pub(super) level: &'static str,
    pub(super) worst: Option<f64>,
    pub(super) partial: bool,
}

/// What a rule says of one approach.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Verdict {
    pub(super) status: &'static str,
    pub(super) worst: Option<f64>,
    pub(super) events: Vec<Event>,
}

/// `event`, `clear`, `partial` or `not_evaluable`.
pub(super) fn status(evaluable: bool, events: &[Event]) -> &'static str {
    match (evaluable, events.is_empty()) {
        (true, true) => "clear",
        (true, false) if events.iter().any(|event| !event.partial) => "event",
        (false, true) => "not_evaluable",
        _ => "partial",
    }
}

/// How samples travel: their order, and the partition and batch of each.
#[derive(Debug, Clone)]
pub(super) struct Deal {
    order: Vec<u32>,
    partitions: Vec<usize>,
    batch_rows: usize,
}

static ENGINES: LazyLock<Vec<(Engine, SchemaRef)>> = LazyLock::new(|| {
    let shapes = [(1, 8192), (3, 7)];
    let engine = |(threads, batch_rows)| {
        let options = EngineOptions {
            threads,
            batch_rows,
            ..EngineOptions::default()
        };
        (
            Engine::new(options).unwrap(),
            samples::schema(&Catalogue::default()),
        )
    };
    shapes.into_iter().map(engine).collect()
});

/// Values that meet the thresholds of the rules here, that pass them, and that lie just beside them.
fn number(values: &'static [f32]) -> impl Strategy<Value = Option<f32>> {
    prop_oneof![6 => prop::sample::select(values).prop_map(Some), 1 => Just(None)]
}

fn state(most: i8) -> impl Strategy<Value = Option<i8>> {
    prop_oneof![8 => (0..=most).prop_map(Some), 1 => Just(None)]
}

fn sample() -> impl Strategy<Value = Sample> {
    (
        prop::bool::weighted(0.95),
        number(&[
            30.0, 50.0, 80.0, 400.0, 499.0, 500.0, 501.0, 900.0, 1000.0, 1100.0,
        ]),
        number(&[80.0, 94.0, 95.0, 99.0, 100.0, 101.0, 105.5, 110.0, 121.0]),
        state(1),
        state(3),
    )
        .prop_map(|(approach, height, cas, gear, flap)| Sample {
            approach,
            height,
            cas,
            gear,
            flap,
        })
}

/// Samples that last a while, as real ones do.
pub(super) fn series() -> impl Strategy<Value = Vec<Sample>> {
    prop::collection::vec((sample(), 1..5_usize), 1..16).prop_map(|pieces| {
        let lasting = pieces
            .into_iter()
            .flat_map(|(one, n)| std::iter::repeat_n(one, n));
        lasting.collect()
    })
}

pub(super) fn fleet() -> impl Strategy<Value = Vec<Vec<Sample>>> {
    prop::collection::vec(series(), 1..4)
}

pub(super) fn deal() -> impl Strategy<Value = Deal> {
    (
        Just((0..400_u32).collect::<Vec<u32>>()).prop_shuffle(),
        prop::collection::vec(0..4_usize, 1..40),
        1..20_usize,
    )
        .prop_map(|(order, partitions, batch_rows)| Deal {
            order,
            partitions,
            batch_rows,
        })
}

/// A rule from its text.
pub(super) fn rule(body: &str) -> CheckedRule {
    let text = RuleText {
        path: "a_rule.toml".to_owned(),
        stem: "a_rule".to_owned(),
        text: format!(
            "id = \"a_rule\"\nversion = 1\ntitle = \"t\"\nfamily = \"data\"\nwhy = \"w\"\nsource = \"s\"\n{body}"
        ),
    };
    let context = RuleContext::of(&Catalogue::default());
    check_pack(vec![text], &context).unwrap().remove(0)
}

/// What the program says, approach by approach, under every engine and one dealing out.
pub(super) fn judged(rule: &CheckedRule, fleet: &[Vec<Sample>], deal: &Deal) -> Vec<Vec<Verdict>> {
    ENGINES
        .iter()
        .map(|(engine, schema)| judged_by(engine, schema, rule, fleet, deal))
        .collect()
}

fn judged_by(
    engine: &Engine,
    schema: &SchemaRef,
    rule: &CheckedRule,
    fleet: &[Vec<Sample>],
    deal: &Deal,
) -> Vec<Verdict> {
    let all = batch(schema, fleet);
    let rows = all.num_rows();
    let mut partitions: Vec<Vec<u32>> = vec![Vec::new(); 4];
    for index in deal.order.iter().filter(|index| (**index as usize) < rows) {
        let partition = deal.partitions[*index as usize % deal.partitions.len()];
        partitions[partition].push(*index);
    }
    let dealt: Vec<Vec<RecordBatch>> = partitions
        .iter()
        .map(|indices| {
            let batches = indices.chunks(deal.batch_rows);
            batches
                .map(|chunk| take_record_batch(&all, &UInt32Array::from(chunk.to_vec())).unwrap())
                .collect()
        })
        .collect();
    let table = MemTable::try_new(schema.clone(), dealt).unwrap();
    let approaches: BTreeMap<i64, ApproachRow> = (0_i64..)
        .zip(fleet)
        .map(|(key, samples)| {
            let row = ApproachRow {
                approach_key: key,
                flight_id: format!("flight{key}"),
                approach_no: 1,
                step_s: 1.0,
                n_samples: i64::try_from(samples.len()).unwrap(),
                ..ApproachRow::default()
            };
            (key, row)
        })
        .collect();
    let pack = std::slice::from_ref(rule);
    let scanned = engine.scan_table(pack, schema, Arc::new(table)).unwrap();
    let found =
        assemble_scanned(engine, pack, schema, scanned, approaches, BTreeMap::new()).unwrap();
    (0..fleet.len())
        .map(|approach| verdict(&found, approach))
        .collect()
}

fn verdict(found: &Detected, approach: usize) -> Verdict {
    let flight = format!("flight{approach}");
    let row = found
        .measurements
        .iter()
        .find(|row| row.flight_id == flight)
        .unwrap();
    let word = |text: &str| {
        [
            "event",
            "clear",
            "partial",
            "not_evaluable",
            "low",
            "medium",
            "high",
        ]
        .into_iter()
        .find(|word| *word == text)
        .unwrap()
    };
    let events = found
        .events
        .iter()
        .filter(|event| event.flight_id == flight);
    Verdict {
        status: word(&row.status),
        worst: row.worst,
        events: events
            .map(|event| Event {
                start: event.start_s.unwrap(),
                end: event.end_s.unwrap(),
                level: word(&event.level),
                worst: event.worst,
                partial: event.partial,
            })
            .collect(),
    }
}

fn batch(schema: &SchemaRef, fleet: &[Vec<Sample>]) -> RecordBatch {
    let all: Vec<(i64, i32, Sample)> = (0_i64..)
        .zip(fleet)
        .flat_map(|(key, samples)| {
            (0_i32..)
                .zip(samples)
                .map(move |(k, sample)| (key, k, *sample))
        })
        .collect();
    let floats = |of: fn(&Sample) -> Option<f32>| -> ArrayRef {
        Arc::new(
            all.iter()
                .map(|(_, _, sample)| of(sample))
                .collect::<Float32Array>(),
        )
    };
    let states = |of: fn(&Sample) -> Option<i8>| -> ArrayRef {
        Arc::new(
            all.iter()
                .map(|(_, _, sample)| of(sample))
                .collect::<Int8Array>(),
        )
    };
    let columns = schema.fields().iter().map(|field| -> ArrayRef {
        match field.name().as_str() {
            "approach_key" => Arc::new(all.iter().map(|one| one.0).collect::<Int64Array>()),
            "k" => Arc::new(all.iter().map(|one| one.1).collect::<Int32Array>()),
            "time_s" => Arc::new(
                all.iter()
                    .map(|one| Some(f64::from(one.1)))
                    .collect::<Float64Array>(),
            ),
            "segment" => {
                let names = all
                    .iter()
                    .map(|one| if one.2.approach { "approach" } else { "roll" });
                let names: ArrayRef = Arc::new(StringArray::from_iter_values(names));
                cast(&names, field.data_type()).unwrap()
            }
            "height_aal_ft" => floats(|sample| sample.height),
            "cas_kt" => floats(|sample| sample.cas),
            "gear_down" => states(|sample| sample.gear),
            "flap_lever" => states(|sample| sample.flap),
            _ => new_null_array(field.data_type(), all.len()),
        }
    });
    let columns: Vec<ArrayRef> = columns.collect();
    let columns = columns
        .iter()
        .zip(schema.fields())
        .map(|(column, field)| cast(column, field.data_type()).unwrap());
    RecordBatch::try_new(schema.clone(), columns.collect()).unwrap()
}
