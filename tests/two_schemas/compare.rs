//! Tables of two reviews side by side.

use std::fs;
use std::path::Path;

use crate::table::Row;

/// Tables print seven digits: what differs by rounding differs in the last.
const RELATIVE: f64 = 2e-6;

/// Whether two cells say the same, numbers within rounding and within `absolute`.
pub(crate) fn alike(a: &str, b: &str, absolute: f64) -> bool {
    if a == b {
        return true;
    }
    match (a.parse::<f64>(), b.parse::<f64>()) {
        (Ok(a), Ok(b)) => (a - b).abs() <= absolute + RELATIVE * a.abs().max(b.abs()),
        _ => false,
    }
}

/// Every row and every cell alike.
pub(crate) fn assert_rows_alike(name: &str, a: &[Row], b: &[Row], absolute: f64) {
    let mut faults = Vec::new();
    for (row, (a, b)) in a.iter().zip(b).enumerate() {
        for (column, cell) in a {
            if !alike(cell, &b[column], absolute) {
                let flight = a.get("flight_id").cloned().unwrap_or_default();
                faults.push(format!(
                    "row {row} {flight} {column}: `{cell}`, `{}`",
                    b[column]
                ));
            }
        }
    }
    assert!(
        faults.is_empty() && a.len() == b.len(),
        "{name}: {} and {} rows, {} cells differ\n{}",
        a.len(),
        b.len(),
        faults.len(),
        faults[..faults.len().min(30)].join("\n")
    );
}

/// What one second more or less makes of measures that count samples beside a limit.
const A_SAMPLE: [(&str, f64); 8] = [
    ("high_stowed_s", 1.0),
    ("high_stowed_max_ft", 40.0),
    ("steep_fast_clean_s", 1.0),
    ("speedbrake_against_thrust_s", 1.0),
    ("speed_for_drag_kt", 0.5),
    ("drag_called_nm", 0.1),
    ("drag_late_nm", 0.1),
    ("level_before_flap_nm", 0.1),
];

/// Takes over cells that are a sample apart, and counts the rows with one.
pub(crate) fn forgive_a_sample(a: &[Row], b: &mut [Row]) -> usize {
    let mut moved = 0;
    for (a, b) in a.iter().zip(b) {
        let mut any = false;
        for (column, most) in A_SAMPLE {
            let (is, other) = (&a[column], &b[column]);
            if is != other && alike(is, other, most) {
                any |= !alike(is, other, 0.0);
                b.insert(column.to_owned(), is.clone());
            }
        }
        moved += usize::from(any);
    }
    moved
}

pub(crate) fn same_bytes(a: &Path, b: &Path, table: &str) -> bool {
    let bytes = |out: &Path| fs::read(out.join(format!("share/tables/{table}.csv"))).unwrap();
    bytes(a) == bytes(b)
}
