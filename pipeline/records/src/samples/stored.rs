//! Stored samples back as columns, to be derived and laid out again.

use std::collections::BTreeMap;

use arrow::array::{AsArray, RecordBatch, StringArray};
use arrow::datatypes::{Float32Type, Float64Type, Int8Type, Int32Type};

use crate::catalogue::{Catalogue, Column, Origin, Storage};
use crate::derive::{Columns, Segment};
use crate::timebase::Grid;

/// What places a sample in time, height and distance; stored, and not derived from other columns.
pub const PLACES: [&str; 4] = [
    "along_nm",
    "offset_nm",
    "distance_to_threshold_nm",
    "height_aal_ft",
];

/// Made of the channel itself and not of a stored column.
const FROM_CHANNEL: &str = "flap_uncertain";

/// What [`crate::derive::derive`] starts from: the recorded columns, their peaks and the places of one
/// approach, NaN where unknown. `step_s` is that of its row.
///
/// `tas_kt`, `vref_kt` and `vapp_kt` are among them, recorded or not: the store does not tell.
///
/// None where the batch is not one of samples.
#[must_use]
pub fn stored_columns(batch: &RecordBatch, catalogue: &Catalogue, step_s: f64) -> Option<Columns> {
    let times = batch.column_by_name("time_s")?;
    let times = times.as_primitive_opt::<Float64Type>()?.values();
    let grid = Grid {
        start_s: times.first().copied().unwrap_or(0.0),
        step_s,
        n: times.len(),
    };
    let mut columns = BTreeMap::new();
    for column in catalogue.columns().iter().filter(|column| kept(column)) {
        if let Some(values) = values(batch, column)? {
            columns.insert(column.name.clone(), values);
        }
    }
    Some(Columns {
        grid,
        columns,
        segment: segments(batch)?,
    })
}

fn kept(column: &Column) -> bool {
    let name = column.name.as_str();
    matches!(column.origin, Origin::Recorded | Origin::Peak)
        || PLACES.contains(&name)
        || name == FROM_CHANNEL
}

/// The numbers of a column; `Some(None)` where it is unknown throughout.
fn values(batch: &RecordBatch, column: &Column) -> Option<Option<Vec<f64>>> {
    let stored = batch.column_by_name(&column.name)?;
    if stored.null_count() == stored.len() {
        return Some(None);
    }
    let values = match column.storage {
        Storage::Float32 => {
            let numbers = stored.as_primitive_opt::<Float32Type>()?.iter();
            numbers.map(|x| x.map_or(f64::NAN, f64::from)).collect()
        }
        Storage::Int8 => {
            let states = stored.as_primitive_opt::<Int8Type>()?.iter();
            states.map(|x| x.map_or(f64::NAN, f64::from)).collect()
        }
        _ => return None,
    };
    Some(Some(values))
}

fn segments(batch: &RecordBatch) -> Option<Vec<Segment>> {
    let stored = batch.column_by_name("segment")?;
    let words = stored.as_dictionary_opt::<Int32Type>()?;
    let words = words.downcast_dict::<StringArray>()?;
    words
        .into_iter()
        .map(|word| {
            let known = [Segment::Approach, Segment::Roll, Segment::Missed];
            known
                .into_iter()
                .find(|segment| word == Some(segment.as_str()))
        })
        .collect()
}
