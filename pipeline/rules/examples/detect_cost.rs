//! What judging costs: rules of the pack over the samples of a store, against just reading what they read.
//!
//! `target/release/examples/detect_cost STORE [--rules N] [--rounds N] [--threads N] [--batch-rows N] [--apart]`, with
//! STORE the folder of a store (`OUT/restricted/store` of a review). Reading and judging take turns, after one round
//! of each that is not counted. One JSON line each, with the seconds of every round: only ratios of one run mean
//! anything. `--rules` may be a list (`1,5,61`): then each is judged in turn. `--apart` adds each rule in a scan of its own.

#![allow(clippy::print_stdout)] // an example's output is its purpose

use std::error::Error;
use std::path::Path;
use std::time::Instant;

use records::catalogue::Catalogue;
use records::rows::ApproachRow;
use records::samples;
use rules::detect::{Engine, EngineOptions, detect};
use rules::rule_file::{CheckedRule, RuleContext, Shape, builtin_pack};
use rules::stages::first_batch;
use rules::store::Store;
use serde_json::json;

type Failed = Box<dyn Error>;

#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

struct Options {
    store: String,
    rules: Vec<usize>,
    rounds: usize,
    threads: usize,
    batch_rows: usize,
    apart: bool,
}

fn options() -> Result<Options, Failed> {
    let defaults = EngineOptions::default();
    let mut options = Options {
        store: String::new(),
        rules: Vec::new(),
        rounds: 5,
        threads: defaults.threads,
        batch_rows: defaults.batch_rows,
        apart: false,
    };
    let mut arguments = std::env::args().skip(1);
    while let Some(argument) = arguments.next() {
        let mut value = || arguments.next().ok_or(format!("{argument} wants a value"));
        match argument.as_str() {
            "--rules" => {
                let list = value()?;
                options.rules = list.split(',').map(str::parse).collect::<Result<_, _>>()?;
            }
            "--rounds" => options.rounds = value()?.parse()?,
            "--threads" => options.threads = value()?.parse()?,
            "--batch-rows" => options.batch_rows = value()?.parse()?,
            "--apart" => options.apart = true,
            option if option.starts_with("--") => return Err(format!("no option {option}").into()),
            _ => options.store = argument,
        }
    }
    if options.store.is_empty() {
        return Err("give the folder of a store".into());
    }
    Ok(options)
}

/// Files with the rows of their approaches, as many as one query takes.
type Batch = (Vec<String>, Vec<ApproachRow>);

fn batches(store: &Store) -> Result<Vec<Batch>, Failed> {
    let files = store.files("samples");
    let mut batches: Vec<Batch> = Vec::new();
    let mut done = 0;
    while done < files.len() {
        let batch = first_batch(store.root(), files[done..].iter())?;
        done += batch.0.len();
        batches.push(batch);
    }
    Ok(batches)
}

/// Every so many of the pack, so that each part has rules of all kinds.
fn part(pack: &[CheckedRule], count: usize) -> Vec<CheckedRule> {
    let count = count.min(pack.len());
    (0..count)
        .map(|n| pack[n * pack.len() / count].clone())
        .collect()
}

fn seconds(work: impl FnOnce() -> Result<(), Failed>) -> Result<f64, Failed> {
    let start = Instant::now();
    work()?;
    Ok(start.elapsed().as_secs_f64())
}

/// The most memory this process has held so far, MiB; where the system tells it.
fn peak_rss_mib() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    let kib: u64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kib / 1024)
}

fn main() -> Result<(), Failed> {
    let options = options()?;
    let store = Store::open_existing(Path::new(&options.store))?;
    let schema = samples::schema(&Catalogue::default());
    let pack = builtin_pack(&RuleContext::of(&Catalogue::default()))?;
    // Outcomes read no samples; what reads other rules would drag these along.
    let own =
        |rule: &&CheckedRule| !matches!(rule.shape, Shape::Outcome { .. }) && rule.among.is_none();
    let pack: Vec<CheckedRule> = pack.iter().filter(own).cloned().collect();
    let engine = Engine::new(EngineOptions {
        threads: options.threads,
        batch_rows: options.batch_rows,
        ..EngineOptions::default()
    })?;
    let batches = batches(&store)?;
    let approaches: usize = batches.iter().map(|(_, rows)| rows.len()).sum();
    if approaches == 0 {
        return Err(format!(
            "{} holds no approaches; give OUT/restricted/store of a review by this version",
            options.store
        )
        .into());
    }
    let read = |pack: &[CheckedRule]| {
        let mut samples = 0;
        for (files, _) in &batches {
            samples += engine.read_only(pack, &schema, store.root(), files)?;
        }
        Ok::<u64, Failed>(samples)
    };
    let judge = |pack: &[CheckedRule]| {
        let mut events = 0;
        for (files, rows) in &batches {
            let found = detect(&engine, pack, &schema, store.root(), files, rows.clone())?;
            events += found.events.len();
        }
        Ok::<usize, Failed>(events)
    };
    let counts = if options.rules.is_empty() {
        vec![pack.len()]
    } else {
        options.rules.clone()
    };
    let parts: Vec<Vec<CheckedRule>> = counts.iter().map(|count| part(&pack, *count)).collect();
    let mut times = vec![(Vec::new(), Vec::new()); parts.len()];
    let (mut samples, mut events) = (0, vec![0; parts.len()]);
    for round in 0..=options.rounds {
        for (number, part) in parts.iter().enumerate() {
            let reading = seconds(|| {
                samples = read(part)?;
                Ok(())
            })?;
            let judging = seconds(|| {
                events[number] = judge(part)?;
                Ok(())
            })?;
            if round > 0 {
                times[number].0.push(reading);
                times[number].1.push(judging);
            }
        }
    }
    for ((part, (reading, judging)), events) in parts.iter().zip(&times).zip(&events) {
        let columns = engine.columns_read(part, &schema)?.len();
        let line = |what: &str, seconds: &[f64]| {
            json!({
                "what": what, "rules": part.len(), "columns": columns, "rows": samples,
                "approaches": approaches, "threads": options.threads, "events": events,
                "seconds": seconds, "peak_rss_mib": peak_rss_mib(),
            })
        };
        println!("{}", line("read", reading));
        println!("{}", line("detect", judging));
    }
    if options.apart {
        let mut apart = 0.0;
        for rule in &pack {
            apart += seconds(|| judge(std::slice::from_ref(rule)).map(|_| ()))?;
        }
        println!(
            "{}",
            json!({"what": "apart", "rules": pack.len(), "seconds": [apart]})
        );
    }
    Ok(())
}
