//! `interventions.csv`: what the operator changed, where and when.

use std::path::Path;

use serde::{Deserialize, Serialize};

use super::cells;
use super::table::Table;
use crate::error::RecordsError;

const COLUMNS: [&str; 5] = ["month", "airport", "aircraft_type", "what", "rules"];
/// In the place of an airport or type: the change was for the whole fleet.
const WHOLE_FLEET: &str = "fleet";

/// One change of procedure, training or equipment. With neither airport nor type it was for the whole fleet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InterventionRow {
    /// First month in which it was in force, `YYYY-MM`.
    pub month: String,
    /// The airport it was for; null = all.
    pub airport: Option<String>,
    /// The type it was for; null = all.
    pub aircraft_type: Option<String>,
    /// What was changed, in the operator's words.
    pub what: String,
    /// Rules and families it was meant to move, separated by spaces; null = not told.
    pub rules: Option<String>,
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
            let message = "airport and aircraft_type are both empty, expected at least one; write fleet into \
                           one of them if the change was for the whole fleet";
            return Err(fault(message.to_owned()));
        }
        let place = |name: Option<String>| name.filter(|name| name != WHOLE_FLEET);
        let rules = optional("rules").map(|rules| {
            let names = rules.split([' ', ',', ';']).filter(|name| !name.is_empty());
            names.collect::<Vec<_>>().join(" ")
        });
        rows.push(InterventionRow {
            month,
            airport: place(airport),
            aircraft_type: place(aircraft_type),
            what: cell("what")?.to_owned(),
            rules,
        });
    }
    // Stable: of one month in the order of the file.
    rows.sort_by(|a, b| a.month.cmp(&b.month));
    Ok(rows)
}
