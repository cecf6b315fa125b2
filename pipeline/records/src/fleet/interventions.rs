//! `interventions.csv`: what the operator changed, where and when.

use std::path::Path;

use super::cells;
use super::table::Table;
use crate::error::RecordsError;

const COLUMNS: [&str; 4] = ["month", "airport", "aircraft_type", "what"];

/// One change of procedure, training or equipment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InterventionRow {
    /// First month in which it was in force, `YYYY-MM`.
    pub month: String,
    /// The airport it was for; all where unknown.
    pub airport: Option<String>,
    /// The type it was for; all where unknown. Never unknown together with `airport`.
    pub aircraft_type: Option<String>,
    /// What was changed, in the operator's words.
    pub what: String,
}

/// Reads the table, in the order of months.
///
/// # Errors
/// When it cannot be read, or a row says something that cannot be meant.
pub(super) fn read(
    path: &Path,
    notes: &mut Vec<String>,
) -> Result<Vec<InterventionRow>, RecordsError> {
    let table = Table::read(path, &["month", "what"])?;
    table.tell_left_out(path, &COLUMNS, notes);
    let mut rows = Vec::with_capacity(table.rows.len());
    for (line, row) in &table.rows {
        let fault = |message: String| RecordsError::row(path, *line, message);
        let cell = |name: &str| table.required(row, name).map_err(fault);
        let optional = |name: &str| table.cell(row, name).map(str::to_owned);
        let (month, _) = cells::month(cell("month")?).map_err(fault)?;
        let (airport, aircraft_type) = (optional("airport"), optional("aircraft_type"));
        if airport.is_none() && aircraft_type.is_none() {
            let message = "airport and aircraft_type are both empty, expected at least one";
            return Err(fault(message.to_owned()));
        }
        rows.push(InterventionRow {
            month,
            airport,
            aircraft_type,
            what: cell("what")?.to_owned(),
        });
    }
    rows.sort_by(|a, b| a.month.cmp(&b.month));
    Ok(rows)
}
