//! What there is to load: the folder as it is, held against what the store knows of it.

use std::collections::{BTreeMap, BTreeSet};

use records::fleet::Fleet;
use records::pipeline::InputFile;
use records::rows::QuarantineRow;

use super::FlightRow;
use super::known::{loaded_inputs, mapped_otherwise};
use crate::store::{Store, StoreError, read_rows};

/// What one look at folder and store found to be done.
pub(super) struct Plan {
    /// Hash of what decides how any file is prepared.
    pub(super) load_hash: String,
    /// Whether nothing that is loaded can stay.
    pub(super) all_again: bool,
    /// Inputs to be read, in the order of reading.
    pub(super) new: Vec<InputFile>,
    /// What is loaded already and may stay or be replaced.
    pub(super) flights: Vec<FlightRow>,
    /// Content hash of every known input, by file.
    pub(super) known: BTreeMap<String, String>,
    /// Flights that ought to be read again and cannot, as their file is gone.
    pub(super) out_of_reach: usize,
}

pub(super) fn plan(fleet: &Fleet, inputs: &[InputFile], store: &Store) -> Result<Plan, StoreError> {
    let load_hash = fleet.load_hash();
    let all_again = outdated(fleet, store);
    if all_again {
        return Ok(Plan {
            load_hash,
            all_again,
            new: inputs.to_vec(),
            flights: Vec::new(),
            known: BTreeMap::new(),
            out_of_reach: 0,
        });
    }
    let known = loaded_inputs(store);
    let flights: Vec<FlightRow> = read_rows(store.root(), &store.files("flights"))?;
    let there: BTreeSet<&str> = inputs.iter().map(|input| input.relative.as_str()).collect();
    let bases = fleet.bases();
    let stale: BTreeSet<&str> = flights
        .iter()
        .filter(|flight| flight.basis != bases.of(&flight.flight_id))
        .map(|flight| flight.file.as_str())
        .collect();
    let otherwise = mapped_otherwise(fleet, store);
    let changed = |input: &InputFile| {
        known.get(&input.relative) != Some(&input.content_hash)
            || otherwise.contains(&input.relative)
            || stale.contains(input.relative.as_str())
    };
    let (mut new, same): (Vec<InputFile>, Vec<InputFile>) =
        inputs.iter().cloned().partition(changed);
    let going: BTreeSet<&str> = new.iter().map(|input| input.relative.as_str()).collect();
    let refused = standing_refusals(store, store.number())?;
    let freed = freed(&refused, &same, &there, &going, &flights, &known);
    let out_of_reach = flights
        .iter()
        .filter(|flight| stale.contains(flight.file.as_str()) || otherwise.contains(&flight.file))
        .filter(|flight| !there.contains(flight.file.as_str()))
        .count();
    new.extend(freed);
    Ok(Plan {
        load_hash,
        all_again,
        new,
        flights,
        known,
        out_of_reach,
    })
}

/// Inputs that were refused because another file had the flight, or the very bytes, and that other has it no
/// more. Told from the state of things, not from what just happened: an interruption loses none.
fn freed(
    refused: &[QuarantineRow],
    same: &[InputFile],
    there: &BTreeSet<&str>,
    going: &BTreeSet<&str>,
    flights: &[FlightRow],
    known: &BTreeMap<String, String>,
) -> Vec<InputFile> {
    let staying = || {
        let flights = flights.iter();
        flights.filter(|flight| !going.contains(flight.file.as_str()))
    };
    let ids: BTreeSet<&str> = staying().map(|flight| flight.flight_id.as_str()).collect();
    let sources: BTreeSet<&str> = staying().map(|flight| flight.file.as_str()).collect();
    // A file holds its bytes against copies as long as it is there, or its flights are in the store.
    let mut holders: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for (file, hash) in known {
        let file = file.as_str();
        if sources.contains(file) || (there.contains(file) && !going.contains(file)) {
            holders.entry(hash).or_default().insert(file);
        }
    }
    let mut free: BTreeSet<&str> = BTreeSet::new();
    let same_files: BTreeMap<&str, &InputFile> = same
        .iter()
        .map(|input| (input.relative.as_str(), input))
        .collect();
    for row in refused {
        let Some(input) = same_files.get(row.file.as_str()) else {
            continue;
        };
        let is_free = match (row.reason.as_str(), row.flight_id.as_deref()) {
            ("duplicate flight" | "flight already loaded", Some(id)) => !ids.contains(id),
            ("duplicate file" | "file already loaded", _) => {
                let holders = holders.get(input.content_hash.as_str());
                holders.is_none_or(|files| files.iter().all(|file| *file == row.file))
            }
            _ => false,
        };
        if is_free {
            free.insert(&row.file);
        }
    }
    let free = same
        .iter()
        .filter(|input| free.contains(input.relative.as_str()));
    free.cloned().collect()
}

fn last_load(store: &Store) -> Option<&crate::store::Run> {
    store.runs().iter().rfind(|run| run.kind == "load")
}

/// Whether nothing that is loaded can stay: it was prepared otherwise, or its ids were made with another key.
pub(crate) fn outdated(fleet: &Fleet, store: &Store) -> bool {
    let loads = || store.runs().iter().filter(|run| run.kind == "load");
    let otherwise = last_load(store).is_some_and(|run| {
        run.config_hash != fleet.load_hash() || run.version != env!("CARGO_PKG_VERSION")
    });
    // Since everything was last loaded again; most loads need no key and name none.
    let key = loads().fold(None, |key, run| {
        let before = if run.all_again { None } else { key };
        run.key.as_ref().or(before)
    });
    otherwise || key.is_some_and(|key| fleet.privacy.fingerprint().as_ref() != Some(key))
}

/// Inputs that an interrupted load has left for the next one.
pub(crate) fn still_to_load(store: &Store) -> u64 {
    last_load(store).map_or(0, |run| run.left)
}

/// Loaded flights whose row of the flight list or whose aircraft type has changed since, and whose file is
/// there to be read again.
///
/// # Errors
/// The store does not read.
pub(crate) fn stale_flights(fleet: &Fleet, store: &Store) -> Result<usize, StoreError> {
    let flights: Vec<FlightRow> = read_rows(store.root(), &store.files("flights"))?;
    let bases = fleet.bases();
    let stale = flights.iter().filter(|flight| {
        flight.basis != bases.of(&flight.flight_id) && fleet.root.join(&flight.file).exists()
    });
    Ok(stale.count())
}

/// The refusals that still stand after run `number`: a file that came again, good or bad, takes its old
/// ones out.
///
/// # Errors
/// A file of the store is missing or damaged.
pub fn standing_refusals(store: &Store, number: u64) -> Result<Vec<QuarantineRow>, StoreError> {
    let live: BTreeSet<String> = store.files_at("quarantine", number).into_iter().collect();
    let mut standing: Vec<(&str, QuarantineRow)> = Vec::new();
    let runs = usize::try_from(number).unwrap_or(usize::MAX);
    for run in store.runs().iter().take(runs) {
        if run.all_again {
            standing.clear();
        }
        let inputs = run.inputs.iter().map(|input| &input.file);
        let again: BTreeSet<&String> = inputs.chain(&run.forgotten).collect();
        // What a run wrote anew of what stands.
        let removed = run.removed.get("quarantine");
        let removed: BTreeSet<&String> = removed.into_iter().flatten().collect();
        standing.retain(|(from, row)| {
            !again.contains(&row.file) && !removed.contains(&(*from).to_owned())
        });
        for file in run.added.get("quarantine").into_iter().flatten() {
            // One that left since has nothing that stands, and may be off the disk.
            if live.contains(file) {
                let rows: Vec<QuarantineRow> = read_rows(store.root(), std::slice::from_ref(file))?;
                standing.extend(rows.into_iter().map(|row| (file.as_str(), row)));
            }
        }
    }
    Ok(standing.into_iter().map(|(_, row)| row).collect())
}
