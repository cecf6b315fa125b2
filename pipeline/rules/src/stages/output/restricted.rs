//! The tables that are written straight from the files of the store: of the row-level tables those that have many
//! rows an approach.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use arrow::array::{BooleanArray, RecordBatch, new_null_array};
use arrow::compute::filter_record_batch;
use arrow::datatypes::SchemaRef;
use records::rows::{CheckpointRow, HeaderRow, LeverMoveRow, LossRow, QualityRow};
use serde::Serialize;
use serde::de::DeserializeOwned;

use super::merge::merge;
use super::sheet::{Sheet, rounded};
use super::sorted::Key;
use super::{Collected, OutputError};
use crate::rows::{GateRow, MeasurementRow};
use crate::stages::robust::Shares;
use crate::store::{rows_to_batch, texts, whole_numbers};
use crate::summarise::{LossTable, Places, reclassify};

const OF_APPROACH: Key = Key {
    approach: true,
    then: None,
};
const OF_RULE: Key = Key {
    approach: true,
    then: Some("rule"),
};

/// What happens to the rows of a table on their way.
type Change<'a> =
    Option<Box<dyn Fn(RecordBatch) -> Result<RecordBatch, OutputError> + Send + Sync + 'a>>;

/// One table on its way from the store.
pub(super) struct FromStore<'a> {
    table: &'static str,
    schema: SchemaRef,
    key: Key,
    files: Vec<PathBuf>,
    /// Where only some approaches are reviewed: these.
    kept: Option<&'a Places<'a>>,
    change: Change<'a>,
}

/// All of them, those with the most rows first.
pub(super) fn tables<'a>(
    rows: &'a Collected,
    places: &'a Places<'a>,
    shares: &'a Shares,
) -> Result<Vec<FromStore<'a>>, OutputError> {
    let of_flight = |then| Key {
        approach: false,
        then: Some(then),
    };
    let mut gates = FromStore::of::<GateRow>(rows, "gates", OF_RULE, Some(places))?;
    let schema = Arc::clone(&gates.schema);
    gates.change = Some(Box::new(move |batch| with_shares(batch, shares, &schema)));
    let mut checkpoints =
        FromStore::of::<CheckpointRow>(rows, "checkpoints", OF_APPROACH, Some(places))?;
    if let Some(rates) = &rows.stored.rates {
        checkpoints.change = Some(Box::new(move |batch| by_rates(&batch, places, rates)));
    }
    Ok(vec![
        FromStore::of::<MeasurementRow>(rows, "measurements", OF_RULE, Some(places))?,
        gates,
        FromStore::of::<QualityRow>(rows, "quality", of_flight("parameter"), None)?,
        checkpoints,
        FromStore::of::<LeverMoveRow>(rows, "lever_moves", OF_APPROACH, Some(places))?,
        FromStore::of::<LossRow>(rows, "losses", OF_APPROACH, Some(places))?,
        FromStore::of::<HeaderRow>(rows, "headers", of_flight("column"), None)?,
    ])
}

impl<'a> FromStore<'a> {
    fn of<T: Serialize + DeserializeOwned>(
        rows: &Collected,
        table: &'static str,
        key: Key,
        places: Option<&'a Places<'a>>,
    ) -> Result<Self, OutputError> {
        Ok(Self {
            table,
            schema: rows_to_batch::<T>(table, &[])?.schema(),
            key,
            files: rows.stored.paths(table),
            kept: places.filter(|_| rows.stored.some_left_out),
            change: None,
        })
    }

    /// Writes it into a folder.
    pub(super) fn write(&self, folder: &Path) -> Result<(), OutputError> {
        let refuse = |error: arrow::error::ArrowError| OutputError::Table {
            table: self.table,
            detail: error.to_string(),
        };
        let mut sheet = Sheet::begin(folder, self.table, Arc::clone(&self.schema))?;
        let aside = folder.join(format!(".sorting-{}", self.table));
        merge(&self.files, &self.schema, self.key, &aside, &mut |batch| {
            let batch = match self.kept {
                Some(places) => {
                    let kept = kept(&batch, places).map_err(|detail| OutputError::Table {
                        table: self.table,
                        detail,
                    })?;
                    filter_record_batch(&batch, &kept).map_err(refuse)?
                }
                None => batch,
            };
            let batch = match &self.change {
                Some(change) => change(batch)?,
                None => batch,
            };
            sheet.write(rounded(&batch).map_err(refuse)?)
        })?;
        sheet.end()
    }
}

/// Which rows are of approaches under review.
fn kept(batch: &RecordBatch, places: &Places<'_>) -> Result<BooleanArray, String> {
    let flights = texts(batch, "flight_id")?.ok_or("it has no column flight_id")?;
    let numbers = whole_numbers(batch, "approach_no")?.ok_or("it has no column approach_no")?;
    let is_kept = |row: usize| {
        let flight = flights.text(row).unwrap_or_default();
        Some(places.of(flight, numbers.value(row)).is_some())
    };
    Ok((0..batch.num_rows()).map(is_kept).collect())
}

/// Criteria with the share of perturbed judgements that agree.
fn with_shares(
    batch: RecordBatch,
    shares: &Shares,
    schema: &SchemaRef,
) -> Result<RecordBatch, OutputError> {
    let refuse = |detail: String| OutputError::Table {
        table: "gates",
        detail,
    };
    if shares.is_empty() {
        let column = schema
            .index_of("robustness")
            .map_err(|error| refuse(error.to_string()))?;
        let mut columns = batch.columns().to_vec();
        columns[column] = new_null_array(schema.field(column).data_type(), batch.num_rows());
        return RecordBatch::try_new(Arc::clone(schema), columns)
            .map_err(|error| refuse(error.to_string()));
    }
    let mut rows: Vec<GateRow> = rows_of("gates", &batch)?;
    for row in &mut rows {
        row.robustness = shares.of_gate(row);
    }
    Ok(rows_to_batch("gates", &rows)?)
}

/// Checkpoints in the classes that measured losses make of them.
fn by_rates(
    batch: &RecordBatch,
    places: &Places<'_>,
    rates: &LossTable,
) -> Result<RecordBatch, OutputError> {
    let mut rows: Vec<CheckpointRow> = rows_of("checkpoints", batch)?;
    reclassify(&mut rows, places, rates);
    Ok(rows_to_batch("checkpoints", &rows)?)
}

fn rows_of<T: DeserializeOwned>(
    table: &'static str,
    batch: &RecordBatch,
) -> Result<Vec<T>, OutputError> {
    serde_arrow::from_record_batch(batch).map_err(|error| OutputError::Table {
        table,
        detail: error.message().to_owned(),
    })
}
