//! Detect over a store: batches of files that the pack has not judged yet, one run a batch.

use std::collections::BTreeSet;

use datafusion::arrow::datatypes::SchemaRef;
use records::rows::ApproachRow;

use super::load::STORED;
use crate::detect::{DetectError, Engine, detect};
use crate::rule_file::CheckedRule;
use crate::store::{Run, Store, read_rows, write_rows_file};

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

/// Files a batch: with at most 500 approaches a file, a query sees at most 2,000.
const FILES_PER_BATCH: usize = 4;

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
    let judged = judged_files(store, &hash);
    let files: Vec<String> = store
        .files("samples")
        .into_iter()
        .filter(|file| !judged.contains(file))
        .collect();
    let mut report = DetectReport {
        files: files.len(),
        ..DetectReport::default()
    };
    for (number, batch) in files.chunks(FILES_PER_BATCH).enumerate() {
        progress(number * FILES_PER_BATCH, files.len());
        let root = store.root().to_owned();
        let names: Vec<String> = batch
            .iter()
            .map(|file| file.replacen("samples/", "approaches/", 1))
            .collect();
        let rows: Vec<ApproachRow> = read_rows(&root, &names)?;
        report.approaches += rows.len();
        let detected = detect(engine, pack, schema, &root, batch, rows)?;
        report.events += detected.events.len();
        tracing::info!(
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
        if judged.is_empty() && number == 0 {
            for table in &STORED[5..] {
                let old = store.files(table);
                if !old.is_empty() {
                    run.removed.insert((*table).to_owned(), old);
                }
            }
        }
        let mut add = |table: &str, name: Option<String>| {
            run.added.entry(table.to_owned()).or_default().extend(name);
        };
        add(
            "measurements",
            write_rows_file(&root, "measurements", &detected.measurements)?,
        );
        add(
            "events",
            write_rows_file(&root, "events", &detected.events)?,
        );
        add("gates", write_rows_file(&root, "gates", &detected.gates)?);
        store.publish(run)?;
    }
    progress(files.len(), files.len());
    Ok(report)
}

/// Whether what is loaded was prepared by this program under this configuration; `None` where
/// nothing is loaded.
#[must_use]
pub fn loaded_under(store: &Store, config_hash: &str) -> Option<bool> {
    let load = store.runs().iter().rfind(|run| run.kind == "load")?;
    Some(load.config_hash == config_hash && load.version == env!("CARGO_PKG_VERSION"))
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
            _ if !run.removed.is_empty() => judged.clear(),
            _ => {}
        }
    }
    judged
}
