//! Reads the shared part of a finished review, all of it, before anything is written: it may lie where the
//! new one will.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use arrow::array::RecordBatch;
use serde::Serialize;
use serde::de::DeserializeOwned;

use super::{AgainstError, RunMarks, Tables};
use crate::store::{StoreError, read_batch, rows_to_batch};
use crate::summarise::{BeforeAfterRow, HotspotRow, SlopeRow, TopicRow, TrendRow};

/// The shared part of a finished review.
#[derive(Debug, Clone, PartialEq)]
pub struct Reviewed {
    /// The folder that was given.
    pub path: PathBuf,
    /// What decided it besides its data.
    pub marks: RunMarks,
    trend_monthly: Vec<TrendRow>,
    trend_slope: Vec<SlopeRow>,
    hotspots: Vec<HotspotRow>,
    training_topics: Vec<TopicRow>,
    interventions: Vec<BeforeAfterRow>,
}

impl Reviewed {
    /// Its tables, as far as they are compared.
    #[must_use]
    pub fn tables(&self) -> Tables<'_> {
        Tables {
            trend_monthly: &self.trend_monthly,
            trend_slope: &self.trend_slope,
            hotspots: &self.hotspots,
            training_topics: &self.training_topics,
            interventions: &self.interventions,
        }
    }

    /// A review that was never written.
    #[cfg(test)]
    pub(super) fn made(path: &str, marks: RunMarks, tables: &Tables<'_>) -> Self {
        Self {
            path: PathBuf::from(path),
            marks,
            trend_monthly: tables.trend_monthly.to_vec(),
            trend_slope: tables.trend_slope.to_vec(),
            hotspots: tables.hotspots.to_vec(),
            training_topics: tables.training_topics.to_vec(),
            interventions: tables.interventions.to_vec(),
        }
    }
}

/// Reads a review from its output folder, or from its `share` folder alone.
///
/// # Errors
/// There is no review, `run.json` is not what a review writes, or a table is missing, damaged or of a version
/// of the program that had other columns.
pub fn read_review(path: &Path) -> Result<Reviewed, AgainstError> {
    let folders = [path.join("share"), path.to_owned()];
    let is_review =
        |folder: &&PathBuf| folder.join("run.json").is_file() && folder.join("tables").is_dir();
    let Some(share) = folders.iter().find(is_review) else {
        return Err(AgainstError::NoReview {
            path: path.to_owned(),
        });
    };
    let run = share.join("run.json");
    let refuse = |detail: String| AgainstError::Run {
        path: run.clone(),
        detail,
    };
    let bytes = std::fs::read(&run).map_err(|error| refuse(error.to_string()))?;
    let marks = RunMarks::read(&bytes).map_err(refuse)?;
    let tables = share.join("tables");
    let reader = Reader {
        tables: &tables,
        marks: &marks,
    };
    Ok(Reviewed {
        path: path.to_owned(),
        trend_monthly: reader.rows("trend_monthly")?,
        trend_slope: reader.rows("trend_slope")?,
        hotspots: reader.rows("hotspots")?,
        training_topics: reader.rows("training_topics")?,
        interventions: reader.rows("interventions")?,
        marks,
    })
}

struct Reader<'a> {
    tables: &'a Path,
    marks: &'a RunMarks,
}

impl Reader<'_> {
    /// All rows of one table.
    fn rows<T: Serialize + DeserializeOwned>(&self, table: &str) -> Result<Vec<T>, AgainstError> {
        let file = self.tables.join(format!("{table}.parquet"));
        let refuse = |source: StoreError| AgainstError::Table {
            path: self.tables.to_owned(),
            source,
        };
        let batch = read_batch(&file).map_err(refuse)?;
        let wanted = rows_to_batch::<T>(table, &[]).map_err(refuse)?;
        self.has_columns(&file, &batch, &wanted)?;
        serde_arrow::from_record_batch(&batch).map_err(|error| {
            refuse(StoreError::Damaged {
                path: file,
                detail: error.message().to_owned(),
            })
        })
    }

    fn has_columns(
        &self,
        file: &Path,
        batch: &RecordBatch,
        wanted: &RecordBatch,
    ) -> Result<(), AgainstError> {
        let schema = wanted.schema();
        let missing: Vec<String> = schema
            .fields()
            .iter()
            .map(|field| Arc::clone(field).name().clone())
            .filter(|name| batch.column_by_name(name).is_none())
            .collect();
        if missing.is_empty() {
            return Ok(());
        }
        Err(AgainstError::Columns {
            path: file.to_owned(),
            missing,
            version: self.marks.version.clone(),
            run: self.marks.run,
        })
    }
}
