//! Judges the variants of some approaches and counts which verdicts survive.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use datafusion::arrow::array::RecordBatch;
use datafusion::arrow::datatypes::{DataType, SchemaRef};
use datafusion::datasource::MemTable;
use datafusion::error::DataFusionError;
use records::fleet::Fleet;
use records::rows::ApproachRow;
use records::samples::{lay_out, stored_columns};

use super::channels::channels;
use super::select::Subject;
use super::survive::{Shown, by_variant, count};
use super::vary::{Base, Change};
use crate::compile::CARRIED_PLACE;
use crate::detect::{DetectError, Detected, Engine, assemble_scanned};
use crate::rows::RobustnessRow;
use crate::rule_file::CheckedRule;

/// So many samples are judged in one query; a few dozen numbers each.
const SAMPLES_AT_A_TIME: usize = 600_000;

/// What judging again needs.
pub(crate) struct Again<'a> {
    pub(crate) engine: &'a Engine,
    pub(crate) pack: &'a [CheckedRule],
    pub(crate) schema: &'a SchemaRef,
    pub(crate) fleet: &'a Fleet,
}

/// An approach, its stored samples, and which of its verdicts are reached again.
pub(crate) struct Approach<'a> {
    pub(crate) row: &'a ApproachRow,
    pub(crate) samples: &'a RecordBatch,
    pub(crate) subjects: &'a [Subject<'a>],
}

/// One approach with one channel changed.
struct Variant {
    /// Its place among the approaches.
    approach: usize,
    channel: String,
    change: Change,
}

/// What is known of an approach before its variants are made.
struct Plan<'a> {
    approach: &'a Approach<'a>,
    base: Base<'a>,
    /// By rule, the channels that decide it here.
    channels: BTreeMap<&'a str, BTreeSet<String>>,
}

/// Reaches the verdicts of these approaches again; one row a verdict, in the order of the subjects.
///
/// # Errors
/// Samples are not those of the schema, or the engine fails.
pub(crate) fn flip(
    again: &Again<'_>,
    approaches: &[Approach<'_>],
) -> Result<Vec<RobustnessRow>, DetectError> {
    let mut rows = Vec::new();
    let mut waiting: Vec<Plan<'_>> = Vec::new();
    let mut samples = 0;
    for approach in approaches {
        let plan = plan(again, approach)?;
        samples += plan.variants().len() * approach.samples.num_rows();
        waiting.push(plan);
        if samples >= SAMPLES_AT_A_TIME {
            rows.extend(judge(again, &waiting)?);
            waiting.clear();
            samples = 0;
        }
    }
    rows.extend(judge(again, &waiting)?);
    Ok(rows)
}

fn plan<'a>(again: &Again<'a>, approach: &'a Approach<'a>) -> Result<Plan<'a>, DetectError> {
    let catalogue = &again.fleet.catalogue;
    let stored = stored_columns(approach.samples, catalogue, approach.row.step_s)
        .ok_or_else(|| internal("stored samples do not read as columns"))?;
    let base = Base::new(stored, approach.row, again.fleet);
    let mut of_rule = BTreeMap::new();
    for subject in approach.subjects {
        if let Some(rule) = again.pack.iter().find(|rule| rule.id == subject.rule) {
            of_rule
                .entry(subject.rule)
                .or_insert_with(|| channels(rule, again.pack, catalogue, &base));
        }
    }
    Ok(Plan {
        approach,
        base,
        channels: of_rule,
    })
}

impl Plan<'_> {
    /// Every change of every channel that any of the rules turns on, in a fixed order.
    fn variants(&self) -> Vec<(String, Change)> {
        let all: BTreeSet<&String> = self.channels.values().flatten().collect();
        let changes = |channel: &String| {
            let changes = self.base.changes(channel).into_iter();
            let channel = channel.clone();
            changes.map(move |change| (channel.clone(), change))
        };
        all.into_iter().flat_map(changes).collect()
    }
}

fn judge(again: &Again<'_>, plans: &[Plan<'_>]) -> Result<Vec<RobustnessRow>, DetectError> {
    let variants: Vec<Variant> = (0..)
        .zip(plans)
        .flat_map(|(approach, plan)| {
            let made = plan.variants().into_iter();
            made.map(move |(channel, change)| Variant {
                approach,
                channel,
                change,
            })
        })
        .collect();
    let shown = if variants.is_empty() {
        Vec::new()
    } else {
        by_variant(scan(again, plans, &variants)?, variants.len())
    };
    let mut rows = Vec::new();
    for (number, plan) in (0..).zip(plans) {
        let own: Vec<(&Variant, &Shown)> = variants
            .iter()
            .zip(&shown)
            .filter(|(variant, _)| variant.approach == number)
            .collect();
        for subject in plan.approach.subjects {
            let deciding = plan.channels.get(subject.rule);
            let asked = own
                .iter()
                .filter(|(variant, _)| deciding.is_some_and(|all| all.contains(&variant.channel)));
            let asked = asked.map(|(variant, shown)| (variant.channel.as_str(), *shown));
            rows.push(count(subject, asked));
        }
    }
    Ok(rows)
}

/// Judges all variants by all rules in one query.
fn scan(
    again: &Again<'_>,
    plans: &[Plan<'_>],
    variants: &[Variant],
) -> Result<Detected, DetectError> {
    // Measurements that no rule reads are most of the bytes; keys, words and states are few.
    let mut read: BTreeSet<String> = again.pack.iter().flat_map(CheckedRule::inputs).collect();
    read.extend(CARRIED_PLACE.map(str::to_owned));
    let needed: Vec<usize> = (0..)
        .zip(again.schema.fields())
        .filter(|(_, field)| *field.data_type() != DataType::Float32 || read.contains(field.name()))
        .map(|(place, _)| place)
        .collect();
    let schema: SchemaRef = Arc::new(
        again
            .schema
            .project(&needed)
            .map_err(DataFusionError::from)?,
    );
    let threads = again.engine.threads().min(variants.len()).max(1);
    let make = |first: usize| -> Result<Vec<RecordBatch>, DetectError> {
        let mut batches = Vec::new();
        for (variant, key) in variants.iter().zip(0_i64..).skip(first).step_by(threads) {
            let plan = &plans[variant.approach];
            let columns = plan.base.changed(&variant.channel, variant.change);
            let catalogue = &again.fleet.catalogue;
            let batch = lay_out(plan.approach.row, key, &columns, catalogue)
                .and_then(|batch| batch.project(&needed))
                .map_err(DataFusionError::from)?;
            batches.push(batch);
        }
        Ok(batches)
    };
    let partitions: Vec<Vec<RecordBatch>> = std::thread::scope(|scope| {
        let make = &make;
        let started: Vec<_> = (0..threads)
            .map(|first| scope.spawn(move || make(first)))
            .collect();
        let broke_off = |_| Err(internal("a thread that varied samples broke off"));
        started
            .into_iter()
            .map(|thread| thread.join().unwrap_or_else(broke_off))
            .collect::<Result<_, _>>()
    })?;
    let rows: BTreeMap<i64, ApproachRow> = variants
        .iter()
        .zip(0_i64..)
        .map(|(variant, key)| {
            let row = ApproachRow {
                approach_key: key,
                flight_id: name(key),
                n_uncleaned: 0,
                ..plans[variant.approach].approach.row.clone()
            };
            (key, row)
        })
        .collect();
    let table = MemTable::try_new(schema.clone(), partitions)?;
    let scanned = again
        .engine
        .scan_table(again.pack, &schema, Arc::new(table))?;
    assemble_scanned(
        again.engine,
        again.pack,
        &schema,
        scanned,
        rows,
        BTreeMap::new(),
    )
}

/// A variant goes by its number; the flight is known from it.
fn name(key: i64) -> String {
    key.to_string()
}

fn internal(what: &str) -> DetectError {
    DataFusionError::Internal(what.to_owned()).into()
}
