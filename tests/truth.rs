//! The truth beside an invented fleet, which shares no code with what is tested.

use std::fs::File;
use std::path::Path;

use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use serde::Deserialize;
use serde::de::DeserializeOwned;

use crate::table::Row;

#[derive(Debug, Deserialize)]
pub(crate) struct Approach {
    pub(crate) flight_id: String,
    pub(crate) approach_no: i32,
    pub(crate) airport: String,
    pub(crate) runway: String,
    pub(crate) outcome: String,
    pub(crate) end_s: f64,
}

#[derive(Debug, Deserialize)]
pub(crate) struct Truth {
    pub(crate) flight_id: String,
    pub(crate) approach_no: i32,
    pub(crate) rule: String,
    pub(crate) evaluable: bool,
    pub(crate) event: bool,
    pub(crate) worst: Option<f32>,
    pub(crate) margin: Option<f32>,
    pub(crate) band: Option<f32>,
}

impl Truth {
    /// Whether it stayed below its limit by no more than two bands.
    pub(crate) fn is_near_miss(&self) -> bool {
        match (self.margin, self.band) {
            (Some(margin), Some(band)) => !self.event && margin >= -2.0 * band,
            _ => false,
        }
    }

    /// Whether a recorder may blur the verdict.
    pub(crate) fn in_band(&self) -> bool {
        match (self.margin, self.band) {
            (Some(margin), Some(band)) => margin.abs() <= band,
            _ => false,
        }
    }
}

/// Rows of a truth table of a fleet.
pub(crate) fn truth<T: DeserializeOwned>(fleet: &Path, name: &str) -> Vec<T> {
    let path = fleet.join("truth").join(name);
    let reader = ParquetRecordBatchReaderBuilder::try_new(File::open(path).unwrap())
        .unwrap()
        .build()
        .unwrap();
    reader
        .flat_map(|batch| serde_arrow::from_record_batch::<Vec<T>>(&batch.unwrap()).unwrap())
        .collect()
}

#[derive(Debug, Deserialize)]
pub(crate) struct Damage {
    pub(crate) flight_id: String,
}

/// Flight and number of an approach, as an output row has them.
pub(crate) fn key(row: &Row) -> (String, i32) {
    (
        row["flight_id"].clone(),
        row["approach_no"].parse().unwrap(),
    )
}

/// The first faults, for a message.
pub(crate) fn head(faults: &[String]) -> String {
    faults
        .iter()
        .take(25)
        .cloned()
        .collect::<Vec<_>>()
        .join("\n")
}
