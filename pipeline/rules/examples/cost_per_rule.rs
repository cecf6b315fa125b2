//! What one more rule costs: the pack in one scan, part by part, against each rule in a scan of its own.
//!
//! `cargo run --profile quick -p rules --example cost_per_rule -- OUT/restricted/store`, with OUT the output of a
//! review. Times are the least of several rounds; only their ratios, taken in one run on one machine, mean anything.

#![allow(clippy::print_stdout, clippy::cast_precision_loss)]

use std::error::Error;
use std::path::Path;
use std::time::{Duration, Instant};

use records::catalogue::Catalogue;
use records::rows::ApproachRow;
use records::samples;
use rules::detect::{Engine, EngineOptions, detect};
use rules::rule_file::{CheckedRule, RuleContext, Shape, builtin_pack};
use rules::store::{Store, read_rows};

const ROUNDS: usize = 3;

fn main() -> Result<(), Box<dyn Error>> {
    let path = std::env::args()
        .nth(1)
        .ok_or("give the folder of a store")?;
    let store = Store::open_existing(Path::new(&path))?;
    let files = store.files("samples");
    let rows: Vec<ApproachRow> = read_rows(store.root(), &store.files("approaches"))?;
    let schema = samples::schema(&Catalogue::default());
    let pack = builtin_pack(&RuleContext::of(&Catalogue::default()))?;
    // Outcomes read no samples; what reads other rules would drag these along.
    let own =
        |rule: &&CheckedRule| !matches!(rule.shape, Shape::Outcome { .. }) && rule.among.is_none();
    let pack: Vec<CheckedRule> = pack.iter().filter(own).cloned().collect();
    let engine = Engine::new(EngineOptions::default())?;
    let time = |pack: &[CheckedRule]| -> Result<Duration, Box<dyn Error>> {
        let mut least = Duration::MAX;
        for _ in 0..ROUNDS {
            let start = Instant::now();
            detect(&engine, pack, &schema, store.root(), &files, rows.clone())?;
            least = least.min(start.elapsed());
        }
        Ok(least)
    };
    println!(
        "{} approaches, {} rules that read samples; least of {ROUNDS} rounds",
        rows.len(),
        pack.len()
    );
    println!(
        "{:>6} {:>10} {:>22}",
        "rules", "seconds", "seconds a rule added"
    );
    let mut last: Option<(usize, f64)> = None;
    let mut whole = 0.0;
    for count in [1, 5, 10, 20, 40, pack.len()] {
        // Every so many of the pack, so that each part has rules of all kinds.
        let part: Vec<CheckedRule> = (0..count)
            .map(|n| pack[n * pack.len() / count].clone())
            .collect();
        whole = time(&part)?.as_secs_f64();
        let added = last.map(|(rules, before)| (whole - before) / (count - rules) as f64);
        println!(
            "{count:>6} {whole:>10.3} {:>22}",
            added.map_or(String::new(), |added| format!("{added:.4}"))
        );
        last = Some((count, whole));
    }
    let mut apart = 0.0;
    for rule in &pack {
        apart += time(std::slice::from_ref(rule))?.as_secs_f64();
    }
    println!(
        "each rule in a scan of its own: {apart:.3} s, {:.1} times the one scan",
        apart / whole
    );
    Ok(())
}
