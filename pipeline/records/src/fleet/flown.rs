//! `flown.csv`: how many flights each aircraft flew in a month, recorded or not.

use std::collections::BTreeSet;
use std::path::Path;

use super::cells;
use super::privacy::Privacy;
use super::table::Table;
use crate::error::RecordsError;

const COLUMNS: [&str; 3] = ["tail_id", "month", "flights"];
/// More than this no aircraft flies in a month: one every quarter of an hour. Judgement; it catches
/// columns that are swapped and totals of a whole fleet.
const MOST_FLIGHTS: u32 = 3_000;

/// What one aircraft flew in one month.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FlownRow {
    /// Opaque id of the aircraft, as in the flight list.
    pub tail_id: String,
    /// `YYYY-MM`.
    pub month: String,
    /// Flights flown, recorded or not.
    pub flights: u32,
}

/// Reads the table, ids replaced as in the flight list; sorted by aircraft and month.
///
/// # Errors
/// When it cannot be read, or a row says something that cannot be meant: a count that is wrong
/// would make every share of recorded flights wrong.
pub(super) fn read(
    path: &Path,
    privacy: &Privacy,
    notes: &mut Vec<String>,
) -> Result<Vec<FlownRow>, RecordsError> {
    let table = Table::read(path, &COLUMNS)?;
    table.tell_left_out(path, &COLUMNS, notes);
    let mut seen = BTreeSet::new();
    let mut rows = Vec::with_capacity(table.rows.len());
    for (line, row) in &table.rows {
        let fault = |message: String| RecordsError::row(path, *line, message);
        let cell = |name: &str| table.required(row, name).map_err(fault);
        let (month, _) = cells::month(cell("month")?).map_err(fault)?;
        let flights = cell("flights")?.parse().ok();
        let flights = flights.filter(|n| *n <= MOST_FLIGHTS).ok_or_else(|| {
            fault(format!(
                "flights is no whole number from 0 to {MOST_FLIGHTS}"
            ))
        })?;
        let tail_id = privacy.id(cell("tail_id")?)?;
        if !seen.insert((tail_id.clone(), month.clone())) {
            let message = format!("this aircraft has a row for {month} already, expected one");
            return Err(fault(message));
        }
        rows.push(FlownRow {
            tail_id,
            month,
            flights,
        });
    }
    rows.sort_by(|a, b| (&a.tail_id, &a.month).cmp(&(&b.tail_id, &b.month)));
    Ok(rows)
}
