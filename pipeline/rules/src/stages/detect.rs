//! Detect over a store: batches of files that the pack has not judged yet, one run a batch.

use std::collections::BTreeSet;
use std::path::Path;

use datafusion::arrow::datatypes::SchemaRef;
use records::rows::ApproachRow;

use records::fleet::Fleet;

use super::judged::{Judged, drop_results, hashes, with_read};
use super::load::{mapped_otherwise, outdated, stale_flights, still_to_load};
use crate::detect::{DetectError, Engine, detect};
use crate::rule_file::CheckedRule;
use crate::store::{Run, Store, StoreError, read_rows, write_rows_file};

/// Hash of a rule pack: everything in it that can change a result.
pub type PackHash = String;

/// What a detect did.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct DetectReport {
    /// Sample files judged by this detect.
    pub files: usize,
    /// Approaches in them.
    pub approaches: usize,
    /// Events found in them.
    pub events: usize,
    /// The rules that judged any of them.
    pub rules: BTreeSet<String>,
}

impl DetectReport {
    fn add(&mut self, done: Self) {
        self.files += done.files;
        self.approaches += done.approaches;
        self.events += done.events;
        self.rules.extend(done.rules);
    }
}

/// Approaches that one query sees at most; an aggregate holds the state of each.
const APPROACHES_PER_BATCH: usize = 2_000;

/// The hash of a pack, the same for the same rules in any order.
#[must_use]
pub fn pack_hash(pack: &[CheckedRule]) -> PackHash {
    let hashes: BTreeSet<(&str, &str)> = pack
        .iter()
        .map(|rule| (rule.id.as_str(), rule.text_hash.as_str()))
        .collect();
    let mut hasher = blake3::Hasher::new();
    for (id, hash) in hashes {
        hasher.update(id.as_bytes());
        hasher.update(&[0]);
        hasher.update(hash.as_bytes());
        hasher.update(&[0]);
    }
    hasher.finalize().to_hex()[..32].to_owned()
}

/// Judges every sample file by the rules of `pack` that have not judged it yet.
///
/// A changed rule, and whatever reads it, judges everything again; the others keep what they found. The
/// results of rules that are not in the pack, or not as they were, leave with the first new ones.
///
/// # Errors
/// The scan fails, or the store does not hold what it says. What earlier batches found is kept.
pub fn detect_new(
    engine: &Engine,
    pack: &[CheckedRule],
    schema: &SchemaRef,
    store: &mut Store,
    progress: &dyn Fn(usize, usize),
) -> Result<DetectReport, DetectError> {
    let hash = pack_hash(pack);
    let wanted = hashes(pack);
    let mut report = DetectReport::default();
    loop {
        let mut judged = Judged::of(store);
        let stale = judged.stale(&wanted);
        judged.drop_rules(&stale);
        let files = store.files("samples");
        let left: Vec<(String, BTreeSet<String>)> = files
            .into_iter()
            .map(|file| (judged.missing(&file, &wanted), file))
            .filter(|(missing, _)| !missing.is_empty())
            .map(|(missing, file)| (file, missing))
            .collect();
        progress(report.files, report.files + left.len());
        if left.is_empty() && stale.is_empty() {
            return Ok(report);
        }
        let root = store.root().to_owned();
        let mut run = Run {
            kind: "detect".to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            rules_hash: hash.clone(),
            ..Run::default()
        };
        drop_results(store, &stale, &mut run)?;
        let mut done = DetectReport::default();
        if let Some((_, missing)) = left.first() {
            let alike = left.iter().take_while(|(_, rules)| rules == missing);
            let (batch, rows) = first_batch(&root, alike.map(|(file, _)| file))?;
            done = DetectReport {
                files: batch.len(),
                approaches: rows.len(),
                events: 0,
                rules: missing.clone(),
            };
            // Those that are read are judged along, and not kept a second time.
            let judging: Vec<CheckedRule> = with_read(pack, missing).into_iter().cloned().collect();
            let mut found = detect(engine, &judging, schema, &root, &batch, rows)?;
            found.measurements.retain(|row| missing.contains(&row.rule));
            found.events.retain(|row| missing.contains(&row.rule));
            found.gates.retain(|row| missing.contains(&row.rule));
            found.suspects.retain(|row| missing.contains(&row.rule));
            done.events = found.events.len();
            let measurements = write_rows_file(&root, "measurements", &found.measurements)?;
            run.add("measurements", measurements);
            run.add("events", write_rows_file(&root, "events", &found.events)?);
            run.add("gates", write_rows_file(&root, "gates", &found.gates)?);
            let suspects = write_rows_file(&root, "suspect", &found.suspects)?;
            run.add("suspect", suspects);
            run.judged = batch;
            run.rules = wanted.clone();
            run.rules.retain(|rule, _| missing.contains(rule));
        }
        tracing::info!(
            stage = "detect",
            files = done.files,
            rules = done.rules.len(),
            events = done.events,
            "batch judged"
        );
        match store.publish(run) {
            Ok(_) => report.add(done),
            // What the other judged need not be judged again.
            Err(StoreError::Raced { .. }) => {
                let seen = store.runs().len();
                store.refresh()?;
                let others = &store.runs()[seen..];
                if others
                    .iter()
                    .any(|run| run.kind == "detect" && run.rules_hash != hash)
                {
                    return Err(StoreError::OtherPack.into());
                }
            }
            Err(error) => return Err(error.into()),
        }
    }
}

/// The first of `files` that one query takes, with their approaches; one file at least.
///
/// # Errors
/// The rows of the approaches of a file do not read.
pub fn first_batch<'f>(
    root: &Path,
    files: impl Iterator<Item = &'f String>,
) -> Result<(Vec<String>, Vec<ApproachRow>), StoreError> {
    let mut batch = Vec::new();
    let mut rows: Vec<ApproachRow> = Vec::new();
    for file in files {
        let name = file.replacen("samples/", "approaches/", 1);
        let more: Vec<ApproachRow> = read_rows(root, &[name])?;
        if !batch.is_empty() && rows.len() + more.len() > APPROACHES_PER_BATCH {
            break;
        }
        batch.push(file.clone());
        rows.extend(more);
    }
    Ok((batch, rows))
}

/// Whether what is loaded is what this program makes of this fleet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Loaded {
    /// It is.
    Whole,
    /// Nothing is loaded.
    Nothing,
    /// Runways, columns, the key of the ids or the program have changed since.
    Changed,
    /// So many files would be read by another parameter map now.
    Mapped(usize),
    /// So many flights have another row in the flight list, or another aircraft type, than when they were
    /// loaded.
    Stale(usize),
    /// A load was interrupted with so many inputs to go.
    Interrupted(u64),
}

/// What of a store is up to date with the fleet folder, records apart: new ones are not looked for.
///
/// # Errors
/// The store does not read.
pub fn loaded_under(store: &Store, fleet: &Fleet) -> Result<Loaded, StoreError> {
    if !store.runs().iter().any(|run| run.kind == "load") {
        return Ok(Loaded::Nothing);
    }
    if outdated(fleet, store) {
        return Ok(Loaded::Changed);
    }
    let mapped = mapped_otherwise(fleet, store).into_iter();
    let mapped = mapped.filter(|file| fleet.root.join(file).exists()).count();
    if mapped > 0 {
        return Ok(Loaded::Mapped(mapped));
    }
    match (still_to_load(store), stale_flights(fleet, store)?) {
        (0, 0) => Ok(Loaded::Whole),
        (0, flights) => Ok(Loaded::Stale(flights)),
        (inputs, _) => Ok(Loaded::Interrupted(inputs)),
    }
}

/// Sample files of the store that this pack has not judged, or that others have, and how many there are
/// in all.
#[must_use]
pub fn unjudged(store: &Store, pack: &[CheckedRule]) -> (usize, usize) {
    let judged = Judged::of(store);
    let wanted = hashes(pack);
    let files = store.files("samples");
    let left = files
        .iter()
        .filter(|file| judged.rules(file) != wanted)
        .count();
    (left, files.len())
}

/// Whether every sample file of the store was judged by these rules of `pack` as they are now.
pub(crate) fn judged_by<'r>(
    store: &Store,
    pack: &[CheckedRule],
    rules: impl Iterator<Item = &'r str>,
) -> bool {
    let judged = Judged::of(store);
    let wanted = hashes(pack);
    let rules: Vec<&str> = rules.collect();
    store.files("samples").iter().all(|file| {
        let done = judged.rules(file);
        let as_now = |rule: &&str| done.contains_key(*rule) && done.get(*rule) == wanted.get(*rule);
        rules.iter().all(as_now)
    })
}
