//! Load: what is new in the fleet folder goes through prepare into the store, as one run.

use std::collections::{BTreeMap, BTreeSet};

use records::fleet::Fleet;
use records::pipeline::{InputFile, Outcome, Progress, prepare_files};
use records::rows::{QualityRow, QuarantineRow};
use records::samples;
use serde::{Deserialize, Serialize};

use crate::store::{
    ApproachBatches, InputRecord, Run, SampleWriter, Store, StoreError, read_rows, write_rows_file,
};

/// A flight that was prepared, with or without an approach.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FlightRow {
    /// Opaque flight id.
    pub flight_id: String,
    /// Approaches found in it.
    pub approaches: i32,
}

/// What a load did.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LoadReport {
    /// Run number, where anything was new.
    pub run: Option<u64>,
    /// Input files in the fleet folder.
    pub files: usize,
    /// Of these, new or changed since the last load.
    pub new_files: usize,
    /// Flights prepared by this load.
    pub flights: usize,
    /// Approaches found in them.
    pub approaches: usize,
    /// Inputs refused by this load.
    pub quarantined: usize,
    /// Columns that no map names, with the number of files that have them.
    pub left_out: BTreeMap<String, usize>,
}

/// Loads the inputs that the store does not know yet.
///
/// A changed configuration (map, types, runways) loads everything again, in the same run that
/// takes the old files out.
///
/// # Errors
/// The store cannot be written. A bad input is no error: it is quarantined with its reason.
pub fn load(
    fleet: &Fleet,
    inputs: &[InputFile],
    store: &mut Store,
    progress: &dyn Fn(Progress),
) -> Result<LoadReport, StoreError> {
    let config_hash = fleet.config_hash();
    let changed = store
        .runs()
        .iter()
        .rfind(|run| run.kind == "load")
        .is_some_and(|run| {
            run.config_hash != config_hash || run.version != env!("CARGO_PKG_VERSION")
        });
    let known: BTreeSet<InputRecord> = if changed {
        BTreeSet::new()
    } else {
        loaded_inputs(store)
    };
    let new: Vec<InputFile> = inputs
        .iter()
        .filter(|input| !known.contains(&record(input)))
        .cloned()
        .collect();
    // The bytes of a file that is loaded, under another name: where only the name tells the flight,
    // it would count twice.
    let contents: BTreeMap<&str, &str> = known
        .iter()
        .map(|input| (input.hash.as_str(), input.file.as_str()))
        .collect();
    let (copies, fresh): (Vec<InputFile>, Vec<InputFile>) = new
        .iter()
        .cloned()
        .partition(|input| contents.contains_key(input.content_hash.as_str()));
    let mut report = LoadReport {
        files: inputs.len(),
        new_files: new.len(),
        ..Default::default()
    };
    if new.is_empty() && !changed {
        return Ok(report);
    }

    let loaded: BTreeSet<String> = if changed {
        BTreeSet::new()
    } else {
        let flights: Vec<FlightRow> = read_rows(store.root(), &store.files("flights"))?;
        flights.into_iter().map(|flight| flight.flight_id).collect()
    };
    let root = store.root().to_owned();
    let schema = samples::schema(&fleet.catalogue);
    let mut writer = SampleWriter::new(root.clone(), schema);
    let mut flights: Vec<FlightRow> = Vec::new();
    let mut quality: Vec<QualityRow> = Vec::new();
    let mut quarantine: Vec<QuarantineRow> = copies
        .iter()
        .map(|input| copy(&input.relative, contents[input.content_hash.as_str()]))
        .collect();
    let mut sink = |outcome: Outcome| -> Result<(), StoreError> {
        match outcome {
            Outcome::Quarantined(row) => quarantine.push(row),
            Outcome::Flight(flight) if loaded.contains(&flight.flight_id) => {
                quarantine.push(already_loaded(&flight.file, &flight.flight_id));
            }
            Outcome::Flight(flight) => {
                flights.push(FlightRow {
                    flight_id: flight.flight_id,
                    approaches: i32::try_from(flight.approaches.len()).unwrap_or(i32::MAX),
                });
                quality.extend(flight.quality);
                for approach in flight.approaches {
                    report.approaches += 1;
                    let samples = samples::batch(&approach, &fleet.catalogue).map_err(|error| {
                        StoreError::Rows {
                            table: "samples".to_owned(),
                            detail: error.to_string(),
                        }
                    })?;
                    writer.push(ApproachBatches {
                        row: approach.row,
                        samples,
                    })?;
                }
            }
        }
        Ok(())
    };
    report.left_out = prepare_files(fleet, &fresh, &mut sink, progress)?.left_out;
    report.flights = flights.len();
    report.quarantined = quarantine.len();

    let mut run = Run {
        kind: "load".to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        config_hash,
        inputs: new.iter().map(record).collect(),
        ..Run::default()
    };
    if changed {
        for table in STORED {
            run.removed.insert(table.to_owned(), store.files(table));
        }
    }
    for file in writer.finish()? {
        run.added
            .entry("samples".to_owned())
            .or_default()
            .push(file.samples);
        run.added
            .entry("approaches".to_owned())
            .or_default()
            .push(file.approaches);
    }
    let mut add = |table: &str, name: Option<String>| {
        run.added.entry(table.to_owned()).or_default().extend(name);
    };
    add("flights", write_rows_file(&root, "flights", &flights)?);
    add("quality", write_rows_file(&root, "quality", &quality)?);
    add(
        "quarantine",
        write_rows_file(&root, "quarantine", &quarantine)?,
    );
    tracing::info!(
        flights = report.flights,
        approaches = report.approaches,
        "loaded"
    );
    report.run = Some(store.publish(run)?);
    Ok(report)
}

/// Every table that the store keeps.
pub(super) const STORED: [&str; 8] = [
    "samples",
    "approaches",
    "flights",
    "quality",
    "quarantine",
    "measurements",
    "events",
    "gates",
];

/// Inputs loaded since the configuration last changed.
#[must_use]
pub fn loaded_inputs(store: &Store) -> BTreeSet<InputRecord> {
    let mut inputs = BTreeSet::new();
    for run in store.runs().iter().filter(|run| run.kind == "load") {
        if !run.removed.is_empty() {
            inputs.clear();
        }
        inputs.extend(run.inputs.iter().cloned());
    }
    inputs
}

fn record(input: &InputFile) -> InputRecord {
    InputRecord {
        file: input.relative.clone(),
        hash: input.content_hash.clone(),
    }
}

fn copy(file: &str, loaded: &str) -> QuarantineRow {
    QuarantineRow {
        file: file.to_owned(),
        flight_id: None,
        stage: "load".to_owned(),
        reason: "file already loaded".to_owned(),
        detail: format!(
            "every byte is that of {loaded}, whose flights are loaded; remove one of the two, or \
             load into a new store where the file was moved"
        ),
    }
}

fn already_loaded(file: &str, flight_id: &str) -> QuarantineRow {
    QuarantineRow {
        file: file.to_owned(),
        flight_id: Some(flight_id.to_owned()),
        stage: "load".to_owned(),
        reason: "flight already loaded".to_owned(),
        detail: format!(
            "flight {flight_id} came with an earlier file and is kept from there; to replace it, \
             load into a new store"
        ),
    }
}
