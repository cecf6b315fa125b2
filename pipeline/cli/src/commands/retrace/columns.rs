//! Columns of a sample batch as plain numbers.

use arrow::array::{Array, AsArray, RecordBatch};
use arrow::datatypes::{DataType, Float32Type, Float64Type, Int8Type, Int32Type};
use report::retrace::Series;

/// A column; all unknown where there is none of that name or it holds no numbers.
pub(super) fn numbers(batch: &RecordBatch, name: &str) -> Vec<Option<f64>> {
    let unknown = || vec![None; batch.num_rows()];
    let Some(column) = batch.column_by_name(name) else {
        return unknown();
    };
    match column.data_type() {
        DataType::Float32 => {
            let values = column.as_primitive::<Float32Type>().iter();
            values.map(|v| v.map(f64::from)).collect()
        }
        DataType::Float64 => column.as_primitive::<Float64Type>().iter().collect(),
        DataType::Int8 => {
            let values = column.as_primitive::<Int8Type>().iter();
            values.map(|v| v.map(f64::from)).collect()
        }
        DataType::Int32 => {
            let values = column.as_primitive::<Int32Type>().iter();
            values.map(|v| v.map(f64::from)).collect()
        }
        _ => unknown(),
    }
}

/// The samples up to the end of the approach segment, as the page takes them.
pub(super) fn series(batch: &RecordBatch, end_s: f64) -> Series {
    let times = numbers(batch, "time_s");
    let rows = times
        .iter()
        .take_while(|t| t.is_some_and(|t| t <= end_s))
        .count();
    let column = |name: &str| {
        let mut values = numbers(batch, name);
        values.truncate(rows);
        values
    };
    // One kind of height for the whole approach: a change from one to the other would look like a climb.
    let geometric = column("height_geometric_ft");
    let height_ft = if geometric.iter().any(Option::is_some) {
        geometric
    } else {
        column("height_aal_ft")
    };
    Series {
        time_s: times.into_iter().take(rows).flatten().collect(),
        distance_nm: column("distance_to_threshold_nm"),
        height_ft,
        profile_height_ft: column("profile_height_ft"),
        planning_height_ft: column("planning_height_ft"),
        energy_excess_ft: column("energy_excess_ft"),
        cas_kt: column("cas_kt"),
        target_cas_kt: column("target_cas_kt"),
        limit_kt: column("vfe_lever_kt"),
        next_limit_kt: column("vfe_next_kt"),
        min_manoeuvre_kt: column("min_manoeuvre_kt"),
        flap_lever: column("flap_lever"),
        gear_down: column("gear_down"),
        speedbrake: column("speedbrake"),
        thrust_pct: column("thrust_pct"),
        headwind_kt: column("headwind_kt"),
        crosswind_kt: column("crosswind_kt"),
        turbulence_g: column("turbulence_g"),
    }
}
