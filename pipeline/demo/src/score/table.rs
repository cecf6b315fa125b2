//! Reads the rows of a Parquet table one batch at a time, and of its columns only those asked for.

use std::fs::File;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use arrow::datatypes::FieldRef;
use parquet::arrow::ProjectionMask;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use serde::de::DeserializeOwned;
use serde_arrow::schema::{SchemaLike, TracingOptions};

use super::ScoreError;

/// Rows held at a time.
const BATCH_ROWS: usize = 8_192;

/// A table that belongs to the fleet's truth.
pub(super) fn of_truth<Row: DeserializeOwned>(
    path: &Path,
    take: impl FnMut(Row) -> Result<(), ScoreError>,
) -> Result<(), ScoreError> {
    each(path, |path| ScoreError::NoTruth { path }, take)
}

/// A table that belongs to the review.
pub(super) fn of_review<Row: DeserializeOwned>(
    path: &Path,
    take: impl FnMut(Row) -> Result<(), ScoreError>,
) -> Result<(), ScoreError> {
    each(path, |path| ScoreError::NoReview { path }, take)
}

/// Hands every row to `take`; the fields of `Row` name the columns to read.
fn each<Row: DeserializeOwned>(
    path: &Path,
    missing: impl Fn(PathBuf) -> ScoreError,
    mut take: impl FnMut(Row) -> Result<(), ScoreError>,
) -> Result<(), ScoreError> {
    let file = File::open(path).map_err(|source| match source.kind() {
        ErrorKind::NotFound => missing(path.to_owned()),
        _ => ScoreError::File {
            path: path.to_owned(),
            source,
        },
    })?;
    let parquet = |source| ScoreError::Parquet {
        path: path.to_owned(),
        source,
    };
    let rows = |source| ScoreError::Rows {
        path: path.to_owned(),
        source,
    };
    let builder = ParquetRecordBatchReaderBuilder::try_new(file).map_err(parquet)?;
    let wanted = Vec::<FieldRef>::from_type::<Row>(TracingOptions::default()).map_err(rows)?;
    let there = builder.schema();
    if let Some(field) = wanted
        .iter()
        .find(|field| there.column_with_name(field.name()).is_none())
    {
        let names: Vec<&str> = there.fields().iter().map(|f| f.name().as_str()).collect();
        return Err(ScoreError::Column {
            path: path.to_owned(),
            column: field.name().clone(),
            there: names.join(", "),
        });
    }
    let names = wanted.iter().map(|field| field.name().as_str());
    let mask = ProjectionMask::columns(builder.parquet_schema(), names);
    let reader = builder
        .with_projection(mask)
        .with_batch_size(BATCH_ROWS)
        .build()
        .map_err(parquet)?;
    for batch in reader {
        let batch = batch.map_err(|source| ScoreError::Batch {
            path: path.to_owned(),
            source,
        })?;
        let batch: Vec<Row> = serde_arrow::from_record_batch(&batch).map_err(rows)?;
        batch.into_iter().try_for_each(&mut take)?;
    }
    Ok(())
}
