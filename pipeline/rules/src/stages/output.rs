//! The output folder: `share/` for what may be passed round, `restricted/` for the rest.
//!
//! Both are built aside and swapped in whole, so that a reader never meets half a review. Nothing
//! in a table depends on clock, threads or layout; `run.json` and `quarantine` name files.

mod examples;

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use arrow::array::{Array, ArrayRef, Float64Array, RecordBatch};
use arrow::csv::WriterBuilder;
use arrow::datatypes::DataType;
use parquet::arrow::ArrowWriter;
use records::fleet::{InterventionRow, VerdictRow};
use records::rows::{
    ApproachRow, ArrivalRow, CheckpointRow, HeaderRow, LeverMoveRow, LossRow, QualityRow,
    QuarantineRow,
};
use serde::Serialize;
use serde::de::DeserializeOwned;

use super::load::{FlightRow, standing_refusals};
use super::robust::fill;
use crate::against::AgainstRow;
use crate::rows::{EventRow, GateRow, MeasurementRow, RobustnessRow, SuspectRow};
use crate::store::{
    Store, StoreError, owner_only, read_rows, rows_to_batch, seven_digits, writer_properties,
};
use crate::summarise::{
    Conduct, Energy, FlownCounts, LossRateRow, RecoveryRow, RestatedRow, RuleRobustnessRow, Summary,
};

pub use examples::ExamplePages;

/// Why the output could not be written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum OutputError {
    /// The file system said no.
    #[error("cannot {doing} {}: {source}; choose another folder with --out or free this one", path.display())]
    Io {
        /// What was tried.
        doing: &'static str,
        /// On which path.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A table could not be laid out or written.
    #[error("cannot write table {table}: {detail}")]
    Table {
        /// Which table.
        table: &'static str,
        /// What is wrong.
        detail: String,
    },
    /// The store could not be read.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// Everything a store holds but the samples, in the order of the tables.
#[derive(Debug, Default)]
pub struct Collected {
    /// Flights that were prepared.
    pub flights: Vec<FlightRow>,
    /// One row an approach.
    pub approaches: Vec<ApproachRow>,
    /// One row an approach and rule.
    pub measurements: Vec<MeasurementRow>,
    /// One row an event.
    pub events: Vec<EventRow>,
    /// One row an approach, gate and criterion.
    pub gates: Vec<GateRow>,
    /// One row an event that only samples show which were made unknown.
    pub suspects: Vec<SuspectRow>,
    /// One row a verdict that was reached again on perturbed samples.
    pub robustness: Vec<RobustnessRow>,
    /// One row a flight and parameter.
    pub quality: Vec<QualityRow>,
    /// One row a disagreement between flight list and record.
    pub headers: Vec<HeaderRow>,
    /// One row an approach and checkpoint.
    pub checkpoints: Vec<CheckpointRow>,
    /// One row a change of flap lever or gear.
    pub lever_moves: Vec<LeverMoveRow>,
    /// One row an approach and configuration.
    pub losses: Vec<LossRow>,
    /// One row an approach: how it came in.
    pub arrivals: Vec<ArrivalRow>,
    /// One row a refused input.
    pub quarantine: Vec<QuarantineRow>,
    /// Flights flown, received and used, by type and month.
    pub flown: Vec<FlownCounts>,
    /// What the operator changed, in the order of months.
    pub interventions: Vec<InterventionRow>,
    /// What people who looked at events say of them.
    pub verdicts: Vec<VerdictRow>,
}

/// Reads the rows of a store as of run `number` and puts them in the order of the tables.
///
/// # Errors
/// A file of the store is missing or damaged.
pub fn collect(store: &Store, number: u64) -> Result<Collected, StoreError> {
    fn rows<T: DeserializeOwned>(
        store: &Store,
        table: &str,
        number: u64,
    ) -> Result<Vec<T>, StoreError> {
        read_rows(store.root(), &store.files_at(table, number))
    }
    let mut all = Collected {
        flights: rows(store, "flights", number)?,
        approaches: rows(store, "approaches", number)?,
        measurements: rows(store, "measurements", number)?,
        events: rows(store, "events", number)?,
        gates: rows(store, "gates", number)?,
        suspects: rows(store, "suspect", number)?,
        robustness: rows(store, "robustness", number)?,
        quality: rows(store, "quality", number)?,
        headers: rows(store, "headers", number)?,
        checkpoints: rows(store, "checkpoints", number)?,
        lever_moves: rows(store, "lever_moves", number)?,
        losses: rows(store, "losses", number)?,
        arrivals: rows(store, "arrivals", number)?,
        quarantine: standing_refusals(store, number)?,
        flown: rows(store, "flown_counts", number)?,
        interventions: rows(store, "interventions", number)?,
        verdicts: rows(store, "verdicts", number)?,
    };
    all.flights.sort_by(|a, b| a.flight_id.cmp(&b.flight_id));
    all.approaches
        .sort_by(|a, b| (&a.flight_id, a.approach_no).cmp(&(&b.flight_id, b.approach_no)));
    all.measurements.sort_by(|a, b| {
        (&a.flight_id, a.approach_no, &a.rule).cmp(&(&b.flight_id, b.approach_no, &b.rule))
    });
    // Stable: events of one rule and approach come from one file, in time; criteria in the rule's order.
    all.events.sort_by(|a, b| {
        (&a.flight_id, a.approach_no, &a.rule).cmp(&(&b.flight_id, b.approach_no, &b.rule))
    });
    all.gates.sort_by(|a, b| {
        (&a.flight_id, a.approach_no, &a.rule).cmp(&(&b.flight_id, b.approach_no, &b.rule))
    });
    all.suspects.sort_by(|a, b| {
        (&a.flight_id, a.approach_no, &a.rule).cmp(&(&b.flight_id, b.approach_no, &b.rule))
    });
    all.robustness.sort_by(|a, b| {
        let key = |row: &RobustnessRow| (row.flight_id.clone(), row.approach_no, row.rule.clone());
        let start = |row: &RobustnessRow| row.start_s.unwrap_or(f64::MAX);
        (key(a), &a.verdict)
            .cmp(&(key(b), &b.verdict))
            .then_with(|| start(a).total_cmp(&start(b)))
            .then_with(|| a.criterion.cmp(&b.criterion))
    });
    fill(&all.robustness, &mut all.events, &mut all.gates);
    // Stable: the rows of one approach come from one file, in time or by configuration.
    all.checkpoints
        .sort_by(|a, b| (&a.flight_id, a.approach_no).cmp(&(&b.flight_id, b.approach_no)));
    all.lever_moves
        .sort_by(|a, b| (&a.flight_id, a.approach_no).cmp(&(&b.flight_id, b.approach_no)));
    all.arrivals
        .sort_by(|a, b| (&a.flight_id, a.approach_no).cmp(&(&b.flight_id, b.approach_no)));
    all.losses
        .sort_by(|a, b| (&a.flight_id, a.approach_no).cmp(&(&b.flight_id, b.approach_no)));
    all.quality
        .sort_by(|a, b| (&a.flight_id, &a.parameter).cmp(&(&b.flight_id, &b.parameter)));
    all.headers
        .sort_by(|a, b| (&a.flight_id, &a.column).cmp(&(&b.flight_id, &b.column)));
    all.quarantine
        .sort_by(|a, b| (&a.file, &a.flight_id, &a.stage).cmp(&(&b.file, &b.flight_id, &b.stage)));
    Ok(all)
}

/// Everything that is written besides the rows of the store.
#[derive(Debug, Clone, Copy)]
pub struct Summaries<'a> {
    /// Rates, trends, places, topics and what follows from them.
    pub summary: &'a Summary,
    /// Energy and how it ended.
    pub energy: &'a Energy,
    /// How approaches are flown, whatever the rules say.
    pub conduct: &'a Conduct,
    /// What each configuration loses.
    pub losses: &'a [LossRateRow],
    /// How sure the verdicts of each rule are.
    pub robustness: &'a [RuleRobustnessRow],
    /// Flights flown, received and used.
    pub recovery: &'a [RecoveryRow],
    /// What is different from the review before.
    pub restated: &'a [RestatedRow],
    /// Flags against those of a review that was given; empty where none was.
    pub against: &'a [AgainstRow],
    /// Pages of the approaches of the table `examples`; none where they are not asked for.
    pub examples: Option<&'a ExamplePages>,
}

/// Writes `share/` and the tables and examples of `restricted/` below `out`, whole or not at all.
///
/// `files` are further files of `share/` by name, such as the report and `run.json`; a name may hold a folder.
///
/// # Errors
/// The folder cannot be written; what was there before is left as it was.
pub fn write_tables(
    out: &Path,
    rows: &Collected,
    of: &Summaries<'_>,
    files: &[(String, Vec<u8>)],
) -> Result<(), OutputError> {
    let restricted = restricted_folder(out)?;

    let share = Folder::aside(out, "share")?;
    share.table("rates", &of.summary.rates)?;
    share.table("trend_monthly", &of.summary.trend_monthly)?;
    share.table("trend_slope", &of.summary.trend_slope)?;
    share.table("hotspots", &of.summary.hotspots)?;
    share.table("coverage", &of.summary.coverage)?;
    share.table("training_topics", &of.summary.training_topics)?;
    share.table("interventions", &of.summary.interventions)?;
    share.table("precision", &of.summary.precision)?;
    share.table("recovery", of.recovery)?;
    share.table("restated", of.restated)?;
    share.table("against", of.against)?;
    share.table("energy_outcomes", &of.energy.outcomes)?;
    share.table("decisive_checkpoint", &of.energy.decisive)?;
    share.table("spreads", &of.conduct.spreads)?;
    share.table("gate_criteria", &of.conduct.gate_criteria)?;
    share.table("go_arounds", &of.conduct.go_arounds)?;
    share.table("loss_rates", of.losses)?;
    share.table("shortcuts", &of.energy.shortcuts)?;
    share.table("recoverability", &of.energy.recoverability)?;
    share.table("robustness", of.robustness)?;
    for (name, bytes) in files {
        let path = share.path.join(name);
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(io("create", folder))?;
        }
        fs::write(&path, bytes).map_err(io("write", &path))?;
    }
    let tables = Folder::aside(&restricted, "tables")?;
    tables.table("approaches", &rows.approaches)?;
    tables.table("events", &rows.events)?;
    tables.table("measurements", &rows.measurements)?;
    tables.table("gates", &rows.gates)?;
    tables.table("checkpoints", &rows.checkpoints)?;
    tables.table("lever_moves", &rows.lever_moves)?;
    tables.table("losses", &rows.losses)?;
    tables.table("arrivals", &rows.arrivals)?;
    tables.table("second_look", &of.summary.second_look)?;
    tables.table("examples", &of.summary.examples)?;
    tables.table("suspect", &rows.suspects)?;
    tables.table("robustness", &rows.robustness)?;
    tables.table("quality", &rows.quality)?;
    tables.table("headers", &rows.headers)?;
    tables.table("quarantine", &rows.quarantine)?;
    let examples = examples::Aside::new(&restricted, of.examples)?;
    examples.withdraw_earlier()?;
    tables.swap_in()?;
    examples.swap_in()?;
    share.swap_in()
}

/// Makes `restricted/` below `out`, for its owner only, and returns its path.
///
/// # Errors
/// It cannot be made or protected.
pub fn restricted_folder(out: &Path) -> Result<PathBuf, OutputError> {
    let restricted = out.join("restricted");
    fs::create_dir_all(&restricted).map_err(io("create", &restricted))?;
    owner_only(&restricted)?;
    Ok(restricted)
}

/// A folder that is built beside its place and then takes it.
struct Folder {
    path: PathBuf,
    place: PathBuf,
}

impl Folder {
    fn aside(parent: &Path, name: &str) -> Result<Self, OutputError> {
        let path = parent.join(format!(".{name}-new"));
        if path.exists() {
            fs::remove_dir_all(&path).map_err(io("clear", &path))?;
        }
        fs::create_dir_all(&path).map_err(io("create", &path))?;
        Ok(Self {
            path,
            place: parent.join(name),
        })
    }

    /// `share/tables/NAME.parquet` and `.csv`; the restricted tables lie in their folder directly.
    fn table<T: Serialize + DeserializeOwned>(
        &self,
        table: &'static str,
        rows: &[T],
    ) -> Result<(), OutputError> {
        let folder = if self.place.ends_with("tables") {
            self.path.clone()
        } else {
            self.path.join("tables")
        };
        fs::create_dir_all(&folder).map_err(io("create", &folder))?;
        let batch = rounded(&rows_to_batch(table, rows)?).map_err(|error| OutputError::Table {
            table,
            detail: error.to_string(),
        })?;

        let path = folder.join(format!("{table}.parquet"));
        let file = File::create(&path).map_err(io("create", &path))?;
        let refuse = |error: parquet::errors::ParquetError| OutputError::Table {
            table,
            detail: error.to_string(),
        };
        let mut writer = ArrowWriter::try_new(file, batch.schema(), Some(writer_properties()))
            .map_err(refuse)?;
        writer.write(&batch).map_err(refuse)?;
        writer.close().map_err(refuse)?;

        let path = folder.join(format!("{table}.csv"));
        let file = File::create(&path).map_err(io("create", &path))?;
        let mut writer = WriterBuilder::new().with_header(true).build(file);
        writer.write(&batch).map_err(|error| OutputError::Table {
            table,
            detail: error.to_string(),
        })
    }

    fn swap_in(self) -> Result<(), OutputError> {
        let old = self.path.with_file_name(format!(
            ".{}-old",
            self.place.file_name().unwrap_or_default().to_string_lossy()
        ));
        if old.exists() {
            fs::remove_dir_all(&old).map_err(io("clear", &old))?;
        }
        if self.place.exists() {
            fs::rename(&self.place, &old).map_err(io("set aside", &self.place))?;
        }
        fs::rename(&self.path, &self.place).map_err(io("move into place", &self.place))?;
        if old.exists() {
            fs::remove_dir_all(&old).map_err(io("clear", &old))?;
        }
        Ok(())
    }
}

/// Every number with seven significant digits: what the samples carry, and one format everywhere.
fn rounded(batch: &RecordBatch) -> Result<RecordBatch, arrow::error::ArrowError> {
    let columns = batch.columns().iter().map(|column| {
        if *column.data_type() != DataType::Float64 {
            return column.clone();
        }
        let numbers = column.as_any().downcast_ref::<Float64Array>();
        numbers.map_or_else(
            || column.clone(),
            |numbers| {
                Arc::new(
                    numbers
                        .iter()
                        .map(|x| x.map(seven_digits))
                        .collect::<Float64Array>(),
                ) as ArrayRef
            },
        )
    });
    RecordBatch::try_new(batch.schema(), columns.collect())
}

fn io(doing: &'static str, path: &Path) -> impl FnOnce(std::io::Error) -> OutputError {
    let path = path.to_owned();
    move |source| OutputError::Io {
        doing,
        path,
        source,
    }
}
