//! The output folder: `share/` for what may be passed round, `restricted/` for the rest.
//!
//! Both are built aside and swapped in whole, so that a reader never meets half a review. Nothing
//! in a table depends on clock, threads or layout; `run.json` and `quarantine` name files.

mod collected;
mod examples;
mod merge;
mod restricted;
mod sheet;
mod sorted;

use std::fs;
use std::path::{Path, PathBuf};

use rayon::prelude::*;
use serde::Serialize;
use serde::de::DeserializeOwned;

use super::robust::Shares;
use crate::against::AgainstRow;
use crate::store::{StoreError, owner_only};
use crate::summarise::{
    Conduct, Energy, LossRateRow, Places, RecoveryRow, RestatedRow, RuleRobustnessRow, Summary,
};
use restricted::FromStore;
use sheet::write_sheet;

pub use collected::{Collected, collect};
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
    for (name, bytes) in files {
        let path = share.path.join(name);
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(io("create", folder))?;
        }
        fs::write(&path, bytes).map_err(io("write", &path))?;
    }
    let tables = Folder::aside(&restricted, "tables")?;
    let places = Places::new(&rows.approaches);
    let shares = Shares::new(&rows.robustness);
    let from_store = restricted::tables(rows, &places, &shares)?;
    let share_tables = share.path.join("tables");
    let jobs = jobs(of, rows, &from_store, &share_tables, &tables.path);
    // A table does not wait for another. Which error is told does not depend on which comes first.
    let written: Vec<Result<(), OutputError>> = jobs
        .into_par_iter()
        .with_max_len(1)
        .map(|job| job())
        .collect();
    written.into_iter().collect::<Result<(), OutputError>>()?;
    let examples = examples::Aside::new(&restricted, of.examples)?;
    examples.withdraw_earlier()?;
    tables.swap_in()?;
    examples.swap_in()?;
    share.swap_in()
}

/// Something to write.
type Job<'a> = Box<dyn FnOnce() -> Result<(), OutputError> + Send + 'a>;

/// One job a table, those with the most rows first.
fn jobs<'a>(
    of: &Summaries<'a>,
    rows: &'a Collected,
    from_store: &'a [FromStore<'a>],
    share: &'a Path,
    restricted: &'a Path,
) -> Vec<Job<'a>> {
    fn job<'a, T: Serialize + DeserializeOwned + Sync>(
        folder: &'a Path,
        table: &'static str,
        rows: &'a [T],
    ) -> Job<'a> {
        Box::new(move || write_sheet(folder, table, rows))
    }
    let mut jobs: Vec<Job<'a>> = vec![job(share, "trend_monthly", &of.summary.trend_monthly)];
    jobs.extend(
        from_store
            .iter()
            .map(|table| -> Job<'a> { Box::new(|| table.write(restricted)) }),
    );
    jobs.extend([
        job(share, "rates", &of.summary.rates),
        job(share, "trend_slope", &of.summary.trend_slope),
        job(share, "hotspots", &of.summary.hotspots),
        job(share, "coverage", &of.summary.coverage),
        job(share, "training_topics", &of.summary.training_topics),
        job(share, "interventions", &of.summary.interventions),
        job(share, "precision", &of.summary.precision),
        job(share, "recovery", of.recovery),
        job(share, "restated", of.restated),
        job(share, "against", of.against),
        job(share, "energy_outcomes", &of.energy.outcomes),
        job(share, "decisive_checkpoint", &of.energy.decisive),
        job(share, "spreads", &of.conduct.spreads),
        job(share, "gate_criteria", &of.conduct.gate_criteria),
        job(share, "go_arounds", &of.conduct.go_arounds),
        job(share, "loss_rates", of.losses),
        job(share, "shortcuts", &of.energy.shortcuts),
        job(share, "recoverability", &of.energy.recoverability),
        job(share, "robustness", of.robustness),
        job(restricted, "approaches", &rows.approaches),
        job(restricted, "events", &rows.events),
        job(restricted, "arrivals", &rows.arrivals),
        job(restricted, "second_look", &of.summary.second_look),
        job(restricted, "examples", &of.summary.examples),
        job(restricted, "suspect", &rows.suspects),
        job(restricted, "robustness", &rows.robustness),
        job(restricted, "quarantine", &rows.quarantine),
    ]);
    jobs
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

fn io(doing: &'static str, path: &Path) -> impl FnOnce(std::io::Error) -> OutputError {
    let path = path.to_owned();
    move |source| OutputError::Io {
        doing,
        path,
        source,
    }
}
