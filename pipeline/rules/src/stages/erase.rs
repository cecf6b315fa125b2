//! Erasure: flights leave the store and its earlier states, and do not come back.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::time::Duration;

use super::load::{BY_FLIGHT, LOOKED_AFTER, RESULTS, standing_refusals, take_out};
use super::rows_out::{RowKey, texts, without};
use crate::store::{Run, Store, StoreError, read_batch, strays, write_rows_file};

/// What an erasure did.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct EraseReport {
    /// Flights erased that the store held, now or earlier.
    pub flights: usize,
    /// Flights that no state of the store holds.
    pub unknown: Vec<String>,
    /// Files taken off the disk.
    pub files: usize,
    /// Earlier reviews that can no longer be made again.
    pub reviews: Vec<u64>,
    /// Half-written files of other processes, which nobody can look into.
    pub half_written: usize,
}

/// The hash by which an erased flight is known: its id is not kept.
pub(super) fn mark(flight_id: &str) -> String {
    blake3::hash(flight_id.as_bytes()).to_hex()[..32].to_owned()
}

/// Flights that were erased, by their mark.
pub(super) fn erased(store: &Store) -> BTreeSet<String> {
    let runs = store.runs().iter();
    runs.flat_map(|run| run.erased.iter().cloned()).collect()
}

/// Takes these flights out of the store: out of its tables, and every file of every state that holds one
/// of them off the disk. Later loads leave them out.
///
/// With `dry` nothing is changed: the report says what would be.
///
/// # Errors
/// The store cannot be read or written. An interrupted erasure is finished by the next, or by removing
/// what is gone ([`Store::remove_gone`]).
pub fn erase(
    store: &mut Store,
    flights: &BTreeSet<String>,
    dry: bool,
) -> Result<EraseReport, StoreError> {
    loop {
        let (holding, found) = holding(store, flights)?;
        let marks: BTreeSet<String> = flights.iter().map(|flight| mark(flight)).collect();
        let known = erased(store);
        let reviews = (1_u64..).zip(store.runs());
        let gone = store.gone();
        let report = EraseReport {
            flights: found.len(),
            unknown: flights
                .iter()
                .filter(|flight| !found.contains(*flight) && !known.contains(&mark(flight)))
                .cloned()
                .collect(),
            files: holding.len(),
            reviews: reviews
                .filter(|(_, run)| run.review.is_some())
                .map(|(number, _)| (number, store.live_at(number)))
                .filter(|(_, live)| !live.iter().any(|file| gone.contains_key(file)))
                .filter(|(_, live)| live.iter().any(|file| holding.contains(file)))
                .map(|(number, _)| number)
                .collect(),
            half_written: 0,
        };
        if dry || !report.unknown.is_empty() {
            return Ok(report);
        }
        if holding.is_empty() && marks.is_subset(&known) {
            return Ok(report);
        }
        let mut run = Run {
            kind: "erase".to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            erased: marks,
            gone: holding,
            ..Run::default()
        };
        take_out(
            store,
            &flights.iter().map(String::as_str).collect(),
            &mut run,
        )?;
        refusals(store, flights, &mut run)?;
        let goes = |row: &RowKey<'_>| flights.contains(row.flight_id);
        without(store, "verdicts", &goes, &mut run)?;
        match store.publish(run) {
            Ok(_) => {
                store.remove_gone()?;
                return Ok(EraseReport {
                    half_written: loose_ends(store, flights)?,
                    ..report
                });
            }
            Err(StoreError::Raced { .. }) => store.refresh()?,
            Err(error) => return Err(error),
        }
    }
}

/// Files of any state, on the disk, that hold one of these flights, and the flights they hold.
fn holding(
    store: &Store,
    flights: &BTreeSet<String>,
) -> Result<(BTreeSet<String>, BTreeSet<String>), StoreError> {
    let (mut files, mut found) = (BTreeSet::new(), BTreeSet::new());
    let named: BTreeSet<&String> = store
        .runs()
        .iter()
        .flat_map(|run| tables().filter_map(|table| run.added.get(table)))
        .flatten()
        .collect();
    for file in named {
        let path = store.root().join(file);
        if !path.exists() {
            continue;
        }
        let held = held(&path, flights)?;
        if !held.is_empty() {
            files.insert(file.clone());
            if file.starts_with("approaches/") {
                files.insert(file.replacen("approaches/", "samples/", 1));
            }
            found.extend(held);
        }
    }
    Ok((files, found))
}

/// The tables whose rows name a flight; samples belong to their approaches.
fn tables() -> impl Iterator<Item = &'static str> {
    let own = ["approaches", "quarantine", "verdicts"];
    BY_FLIGHT.into_iter().chain(RESULTS).chain(own)
}

fn held(path: &Path, flights: &BTreeSet<String>) -> Result<BTreeSet<String>, StoreError> {
    let damaged = |detail: String| StoreError::Damaged {
        path: path.to_owned(),
        detail,
    };
    let ids = texts(&read_batch(path)?, "flight_id").map_err(damaged)?;
    let ids = ids.iter().flatten().flatten();
    Ok(ids
        .filter(|id| flights.contains(*id))
        .map(str::to_owned)
        .collect())
}

/// Refusals that name one of these flights go; those that stand otherwise stay.
fn refusals(store: &Store, flights: &BTreeSet<String>, run: &mut Run) -> Result<(), StoreError> {
    let mut standing = standing_refusals(store, store.number())?;
    let before = standing.len();
    standing.retain(|row| {
        !row.flight_id
            .as_ref()
            .is_some_and(|id| flights.contains(id))
    });
    if standing.len() == before && run.gone.iter().all(|file| !file.starts_with("quarantine/")) {
        return Ok(());
    }
    for file in store.files("quarantine") {
        run.remove("quarantine", file);
    }
    run.add(
        "quarantine",
        write_rows_file(store.root(), "quarantine", &standing)?,
    );
    Ok(())
}

/// Files that no run names and that hold one of these flights go too; returns how many cannot be read
/// because they are not finished.
fn loose_ends(store: &Store, flights: &BTreeSet<String>) -> Result<usize, StoreError> {
    let mut half = 0;
    let found = strays(store, &LOOKED_AFTER, Duration::ZERO)?;
    let mut holding: Vec<&Path> = Vec::new();
    for path in &found.files {
        let samples = path
            .strip_prefix(store.root())
            .is_ok_and(|path| path.starts_with("samples"));
        if path.extension().is_none_or(|ending| ending != "parquet") {
            half += usize::from(!path.starts_with(store.root().join("runs")));
        } else if !samples && !held(path, flights)?.is_empty() {
            holding.push(path);
        }
    }
    for path in holding {
        let relative = path.strip_prefix(store.root()).unwrap_or(path);
        let pair = relative.strip_prefix("approaches").ok();
        let pair = pair.map(|name| store.root().join("samples").join(name));
        for path in pair.iter().map(PathBuf::as_path).chain([path]) {
            if path.exists() {
                std::fs::remove_file(path).map_err(crate::store::io("remove", path))?;
            }
        }
    }
    Ok(half)
}
