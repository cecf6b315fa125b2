//! One step of a load: some input files become one run.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use records::energy::Story;
use records::fleet::{Bases, Fleet};
use records::pipeline::{InputFile, Outcome, Progress, chosen_maps, prepare_files_as};
use records::prepare::PreparedFlight;
use records::rows::{
    ArrivalRow, CheckpointRow, HeaderRow, LeverMoveRow, LossRow, QualityRow, QuarantineRow,
};
use records::samples;

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::plan::Plan;
use super::{FlightRow, LoadReport, STORED, Step, replace};
use crate::stages::erase::{erased, mark};
use crate::store::{
    ApproachBatches, InputRecord, RowsWriter, Run, SampleWriter, Store, StoreError,
};

/// What one step did.
#[derive(Default)]
pub(super) struct Done {
    files: usize,
    flights: usize,
    replaced: usize,
    approaches: usize,
    quarantined: usize,
    erased: usize,
    left_out: BTreeMap<String, usize>,
}

impl Done {
    pub(super) fn add_to(self, report: &mut LoadReport) {
        report.runs += 1;
        report.new_files += self.files;
        report.flights += self.flights;
        report.replaced += self.replaced;
        report.approaches += self.approaches;
        report.quarantined += self.quarantined;
        report.erased += self.erased;
        for (column, files) in self.left_out {
            *report.left_out.entry(column).or_default() += files;
        }
    }
}

/// Prepares the first files of the plan and publishes what came of them.
pub(super) fn take(
    fleet: &Fleet,
    inputs: &[InputFile],
    plan: &Plan,
    step: Step,
    store: &mut Store,
    progress: &dyn Fn(Progress),
) -> Result<Done, StoreError> {
    let taken = &plan.new[..plan.new.len().min(step.files.max(1))];
    let moved = moved(fleet, inputs, taken, plan);
    let names = taken.iter().map(|input| input.relative.as_str());
    let going: BTreeSet<&str> = names.chain(moved.iter().copied()).collect();
    let (replaced, staying): (Vec<&FlightRow>, Vec<&FlightRow>) = plan
        .flights
        .iter()
        .partition(|flight| going.contains(flight.file.as_str()));
    let loaded: BTreeMap<&str, &str> = staying
        .iter()
        .map(|flight| (flight.flight_id.as_str(), flight.file.as_str()))
        .collect();
    // The bytes of a file that is loaded, under another name: where only the name tells the flight,
    // it would count twice.
    let sources: BTreeSet<&str> = loaded.values().copied().collect();
    let contents: BTreeMap<&str, &str> = plan
        .known
        .iter()
        .filter(|(file, _)| sources.contains(file.as_str()))
        .map(|(file, hash)| (hash.as_str(), file.as_str()))
        .collect();
    let (copies, fresh): (Vec<InputFile>, Vec<InputFile>) = taken
        .iter()
        .cloned()
        .partition(|input| contents.contains_key(input.content_hash.as_str()));

    let mut done = Done {
        files: taken.len(),
        replaced: replaced.len(),
        ..Done::default()
    };
    let root = store.root().to_owned();
    let schema = samples::schema(&fleet.catalogue);
    let mut writer = SampleWriter::new(root.clone(), schema);
    let mut rows = Rows::new(&root);
    let copied = |input: &InputFile| copy(&input.relative, contents[input.content_hash.as_str()]);
    rows.quarantine.extend(copies.iter().map(copied))?;
    let erased = erased(store);
    let is_erased = |id: &str| !erased.is_empty() && erased.contains(&mark(id));
    let mut sink = |outcome: Outcome<Result<Laid, StoreError>>| -> Result<(), StoreError> {
        let flight = match outcome {
            Outcome::Flight(laid) => Ok(laid?),
            Outcome::Quarantined(row) => Err(row),
        };
        let id = match &flight {
            Ok(flight) => Some(flight.row.flight_id.as_str()),
            Err(row) => row.flight_id.as_deref(),
        };
        if id.is_some_and(is_erased) {
            done.erased += 1;
            return Ok(());
        }
        let flight = match flight {
            Ok(flight) => flight,
            Err(row) => {
                return rows.quarantine.extend([row]);
            }
        };
        if let Some(from) = loaded.get(flight.row.flight_id.as_str()) {
            let row = already_loaded(&flight.row.file, &flight.row.flight_id, from);
            return rows.quarantine.extend([row]);
        }
        rows.flights.extend([flight.row])?;
        rows.quality.extend(flight.quality)?;
        rows.headers.extend(flight.headers)?;
        for (batches, told) in flight.approaches {
            done.approaches += 1;
            rows.tell(told)?;
            writer.push(batches)?;
        }
        Ok(())
    };
    let bases = fleet.bases();
    let make = |flight| lay(flight, fleet, &bases);
    done.left_out = prepare_files_as(fleet, &fresh, inputs, &make, &mut sink, progress)?.left_out;
    done.flights = rows.flights.count();
    done.quarantined = rows.quarantine.count();

    let maps = chosen_maps(fleet, taken);
    let mut run = Run {
        kind: "load".to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        config_hash: plan.load_hash.clone(),
        all_again: plan.all_again,
        key: fleet.privacy.fingerprint(),
        left: (plan.new.len() - taken.len()) as u64,
        inputs: taken.iter().zip(maps).map(record).collect(),
        maps: fleet.map_marks(),
        forgotten: moved.iter().map(|file| (*file).to_owned()).collect(),
        ..Run::default()
    };
    if plan.all_again {
        for table in STORED {
            run.removed.insert((*table).to_owned(), store.files(table));
        }
    } else if !replaced.is_empty() {
        let ids = replaced.iter().map(|flight| flight.flight_id.as_str());
        replace::take_out(store, &ids.collect(), &mut run)?;
    }
    for file in writer.finish()? {
        run.add("samples", Some(file.samples));
        run.add("approaches", Some(file.approaches));
    }
    rows.finish(&mut run)?;
    tracing::info!(
        stage = "load",
        flights = done.flights,
        approaches = done.approaches,
        left = run.left,
        "step loaded"
    );
    store.publish(run)?;
    Ok(done)
}

/// The rows that are loaded besides samples.
struct Rows {
    flights: RowsWriter<FlightRow>,
    quality: RowsWriter<QualityRow>,
    headers: RowsWriter<HeaderRow>,
    checkpoints: RowsWriter<CheckpointRow>,
    moves: RowsWriter<LeverMoveRow>,
    arrivals: RowsWriter<ArrivalRow>,
    losses: RowsWriter<LossRow>,
    quarantine: RowsWriter<QuarantineRow>,
}

impl Rows {
    fn new(root: &Path) -> Self {
        fn of<T: Serialize + DeserializeOwned>(root: &Path, table: &'static str) -> RowsWriter<T> {
            RowsWriter::new(root.to_owned(), table)
        }
        Self {
            flights: of(root, "flights"),
            quality: of(root, "quality"),
            headers: of(root, "headers"),
            checkpoints: of(root, "checkpoints"),
            moves: of(root, "lever_moves"),
            arrivals: of(root, "arrivals"),
            losses: of(root, "losses"),
            quarantine: of(root, "quarantine"),
        }
    }

    fn tell(&mut self, story: Story) -> Result<(), StoreError> {
        self.checkpoints.extend(story.checkpoints)?;
        self.moves.extend(story.moves)?;
        self.arrivals.extend(story.arrivals)?;
        self.losses.extend(story.losses)
    }

    fn finish(self, run: &mut Run) -> Result<(), StoreError> {
        self.flights.finish(run)?;
        self.quality.finish(run)?;
        self.headers.finish(run)?;
        self.checkpoints.finish(run)?;
        self.moves.finish(run)?;
        self.arrivals.finish(run)?;
        self.losses.finish(run)?;
        self.quarantine.finish(run)
    }
}

/// A flight as its rows go into the store.
struct Laid {
    row: FlightRow,
    quality: Vec<QualityRow>,
    headers: Vec<HeaderRow>,
    approaches: Vec<(ApproachBatches, Story)>,
}

/// Lays out a flight for the store, on the thread that prepared it.
fn lay(flight: PreparedFlight, fleet: &Fleet, bases: &Bases) -> Result<Laid, StoreError> {
    let refuse = |error: arrow::error::ArrowError| StoreError::Rows {
        table: "samples".to_owned(),
        detail: error.to_string(),
    };
    let mut approaches = Vec::with_capacity(flight.approaches.len());
    for approach in flight.approaches {
        let samples = samples::batch(&approach, &fleet.catalogue).map_err(refuse)?;
        let uncleaned = samples::uncleaned_batch(&approach, &fleet.catalogue).map_err(refuse)?;
        let batches = ApproachBatches {
            row: approach.row,
            samples,
            uncleaned,
        };
        approaches.push((batches, approach.story));
    }
    Ok(Laid {
        row: FlightRow {
            approaches: i32::try_from(approaches.len()).unwrap_or(i32::MAX),
            basis: bases.of(&flight.flight_id),
            file: flight.file,
            flight_id: flight.flight_id,
        },
        quality: flight.quality,
        headers: flight.headers,
        approaches,
    })
}

/// Known inputs that are there no more, and whose bytes are those of a file that is taken: they were moved or
/// renamed. What came of them goes and is read again, as a flight may be named after its file. With them,
/// folders that could not be read and can be now.
fn moved<'p>(
    fleet: &Fleet,
    inputs: &[InputFile],
    taken: &[InputFile],
    plan: &'p Plan,
) -> BTreeSet<&'p str> {
    let there: BTreeSet<&str> = inputs.iter().map(|input| input.relative.as_str()).collect();
    let hashes: BTreeSet<&str> = taken
        .iter()
        .map(|input| input.content_hash.as_str())
        .collect();
    let is_moved = |file: &str, hash: &str| {
        !there.contains(file) && (hashes.contains(hash) || fleet.root.join(file).is_dir())
    };
    let known = plan.known.iter();
    known
        .filter(|(file, hash)| is_moved(file, hash))
        .map(|(file, _)| file.as_str())
        .collect()
}

fn record((input, maps): (&InputFile, Vec<usize>)) -> InputRecord {
    InputRecord {
        file: input.relative.clone(),
        hash: input.content_hash.clone(),
        maps,
    }
}

fn copy(file: &str, loaded: &str) -> QuarantineRow {
    QuarantineRow {
        file: file.to_owned(),
        flight_id: None,
        stage: "load".to_owned(),
        reason: "file already loaded".to_owned(),
        detail: format!(
            "every byte is that of {loaded}, whose flights are loaded; remove one of the two"
        ),
    }
}

fn already_loaded(file: &str, flight_id: &str, from: &str) -> QuarantineRow {
    QuarantineRow {
        file: file.to_owned(),
        flight_id: Some(flight_id.to_owned()),
        stage: "load".to_owned(),
        reason: "flight already loaded".to_owned(),
        detail: format!(
            "flight {flight_id} was loaded from {from} and is kept from there; remove it from one of \
             the two"
        ),
    }
}
