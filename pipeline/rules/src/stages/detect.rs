//! Detect over a store: batches of files that the pack has not judged yet, one run a batch.

use std::collections::BTreeSet;
use std::path::Path;

use datafusion::arrow::datatypes::SchemaRef;
use records::rows::ApproachRow;

use records::fleet::Fleet;

use super::load::{RESULTS, outdated, stale_flights, still_to_load};
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

/// Judges every sample file that `pack` has not judged yet.
///
/// A changed pack judges everything again; the old results leave with the first new ones.
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
    let mut report = DetectReport::default();
    loop {
        let judged = judged_files(store, &hash);
        let left: Vec<String> = store
            .files("samples")
            .into_iter()
            .filter(|file| !judged.contains(file))
            .collect();
        progress(report.files, report.files + left.len());
        if left.is_empty() {
            return Ok(report);
        }
        let root = store.root().to_owned();
        let (batch, rows) = first_batch(&root, &left)?;
        let approaches = rows.len();
        let detected = detect(engine, pack, schema, &root, &batch, rows)?;
        tracing::info!(
            stage = "detect",
            files = batch.len(),
            events = detected.events.len(),
            "batch judged"
        );

        let mut run = Run {
            kind: "detect".to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            rules_hash: hash.clone(),
            judged: batch.to_vec(),
            ..Run::default()
        };
        if judged.is_empty() {
            for table in RESULTS {
                let old = store.files(table);
                if !old.is_empty() {
                    run.removed.insert(table.to_owned(), old);
                }
            }
        }
        run.add(
            "measurements",
            write_rows_file(&root, "measurements", &detected.measurements)?,
        );
        run.add(
            "events",
            write_rows_file(&root, "events", &detected.events)?,
        );
        run.add("gates", write_rows_file(&root, "gates", &detected.gates)?);
        run.add(
            "suspect",
            write_rows_file(&root, "suspect", &detected.suspects)?,
        );
        match store.publish(run) {
            Ok(_) => {
                report.files += batch.len();
                report.approaches += approaches;
                report.events += detected.events.len();
            }
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
fn first_batch(
    root: &Path,
    files: &[String],
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
    /// Maps, runways, columns, the key of the ids or the program have changed since.
    Changed,
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
    match (still_to_load(store), stale_flights(fleet, store)?) {
        (0, 0) => Ok(Loaded::Whole),
        (0, flights) => Ok(Loaded::Stale(flights)),
        (inputs, _) => Ok(Loaded::Interrupted(inputs)),
    }
}

/// Sample files of the store that this pack has not judged, and how many there are in all.
#[must_use]
pub fn unjudged(store: &Store, pack: &[CheckedRule]) -> (usize, usize) {
    let judged = judged_files(store, &pack_hash(pack));
    let files = store.files("samples");
    let left = files.iter().filter(|file| !judged.contains(*file)).count();
    (left, files.len())
}

/// Sample files whose results under this pack are in the store.
fn judged_files(store: &Store, hash: &str) -> BTreeSet<String> {
    let mut judged = BTreeSet::new();
    for run in store.runs() {
        match run.kind.as_str() {
            "detect" if run.rules_hash == hash && run.version == env!("CARGO_PKG_VERSION") => {
                judged.extend(run.judged.iter().cloned());
            }
            // Another pack's results took the place of this one's.
            "detect" => judged.clear(),
            // A file that goes takes its results along; one of the same name is judged again.
            _ => {
                for file in run.removed.get("samples").into_iter().flatten() {
                    judged.remove(file);
                }
            }
        }
    }
    judged
}
