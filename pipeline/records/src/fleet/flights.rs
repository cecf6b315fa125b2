//! The flight list: `flights.parquet` or `flights.csv`, one row a flight.
//!
//! A fault of a cell makes that cell unknown and is told; only a list without flight ids, or one
//! that is no table, stops the command.

mod merge;

use std::collections::BTreeMap;
use std::path::Path;

use super::cells;
use super::dates::Day;
use super::forms::form;
use super::identifying::{Identifying, Identity};
use super::privacy::Privacy;
use super::row_notes::RowNotes;
use super::table::Table;
use crate::error::RecordsError;
use crate::flight::FlightHeader;

/// The columns that are kept.
pub(super) const COLUMNS: [&str; 10] = [
    "flight_id",
    "tail_id",
    "aircraft_type",
    "month",
    "departure",
    "destination",
    "flight_purpose",
    "day_key",
    "qnh_hpa",
    "landing_mass_kg",
];

/// Read for `month` and `day_key`, and not kept.
const DATE: &str = "date";

/// Reads the list, ids already replaced where privacy asks for it.
pub(super) fn read(
    path: &Path,
    privacy: &Privacy,
    notes: &mut Vec<String>,
) -> Result<BTreeMap<String, FlightHeader>, RecordsError> {
    let table = Table::read_ragged(path, &["flight_id"])?;
    columns(path, &table, privacy, notes)?;
    let mut reader = Reader {
        privacy,
        table: &table,
        notes: RowNotes::default(),
        cut_months: 0,
        hashed_days: 0,
    };
    for (line, message) in &table.ragged {
        let message = format!("{message}: the row is left out");
        reader.notes.push(*line, message);
    }
    let mut rows = Vec::new();
    for (line, row) in &table.rows {
        if let Some(header) = reader.header(*line, row)? {
            rows.push((*line, header));
        }
    }
    let Reader {
        notes: mut row_notes,
        cut_months,
        hashed_days,
        ..
    } = reader;
    let flights = merge::merge(rows, &mut row_notes);
    row_notes.tell(path, notes);
    let mut tell = |rows: usize, what: &str| {
        if rows > 0 {
            notes.push(format!("{}: {rows} rows: {what}", path.display()));
        }
    };
    tell(cut_months, "month is a full date; cut to the month");
    tell(
        hashed_days,
        "day_key gives the day away; replaced by a keyed hash",
    );
    if table.columns.contains_key(DATE) {
        notes.push(format!(
            "{}: column date gave month and day_key where they were empty, and was dropped",
            path.display()
        ));
    }
    Ok(flights)
}

/// Tells the columns that are left out, those that identify by themselves.
fn columns(
    path: &Path,
    table: &Table,
    privacy: &Privacy,
    notes: &mut Vec<String>,
) -> Result<(), RecordsError> {
    let unknown = table.columns.keys().map(String::as_str);
    let (mut plain, mut telling) = (Vec::new(), Vec::new());
    for name in unknown.filter(|name| !COLUMNS.contains(name) && *name != DATE) {
        match identity(name, table, privacy) {
            Some(identity) => telling.push(format!("{name} ({})", identity.as_str())),
            None => plain.push(name.to_owned()),
        }
    }
    let name = path.display();
    if !telling.is_empty() {
        let telling = telling.join(", ");
        if privacy.identifying() == Identifying::Refuse {
            let message = format!(
                "columns that identify: {telling}; take them out of the list, or set \
                 identifying = \"drop\" in [privacy] of fleet.toml"
            );
            return Err(RecordsError::row(path, 1, message));
        }
        notes.push(format!("{name}: columns that identify, dropped: {telling}"));
    }
    if !plain.is_empty() {
        notes.push(format!("{name}: columns left out: {}", plain.join(", ")));
    }
    Ok(())
}

/// What a column identifies by its name, else by the form of any of its values.
fn identity(name: &str, table: &Table, privacy: &Privacy) -> Option<Identity> {
    if privacy.identifying() == Identifying::Allow {
        return None;
    }
    let by_name = privacy
        .identifying_among([name])
        .first()
        .map(|found| found.1);
    let by_value = || {
        let mut cells = table
            .rows
            .iter()
            .filter_map(|(_, row)| table.cell(row, name));
        cells.find_map(|cell| form(cell).or_else(|| Day::read(cell).map(|_| Identity::Date)))
    };
    by_name.or_else(by_value)
}

/// Reads row after row and keeps account of what it did.
struct Reader<'a> {
    privacy: &'a Privacy,
    table: &'a Table,
    notes: RowNotes,
    cut_months: usize,
    hashed_days: usize,
}

impl Reader<'_> {
    /// The row as a header; none where it has no flight id.
    fn header(&mut self, line: u64, row: &[String]) -> Result<Option<FlightHeader>, RecordsError> {
        let (table, privacy) = (self.table, self.privacy);
        let cell = |name: &str| table.cell(row, name);
        let text = |name: &str| cell(name).map(str::to_owned);
        let Some(id) = cell("flight_id") else {
            let message = "flight_id is empty: the row is left out".to_owned();
            self.notes.push(line, message);
            return Ok(None);
        };
        let date = cell(DATE).and_then(|text| self.known(line, cells::date(text)));
        let purpose = cell("flight_purpose");
        let number = |name: &str, low, high| cell(name).map(|t| cells::number(name, t, low, high));
        let qnh_hpa = number("qnh_hpa", 850.0, 1090.0);
        let landing_mass_kg = number("landing_mass_kg", 1e3, 6.5e5);
        Ok(Some(FlightHeader {
            flight_id: privacy.id(id)?,
            tail_id: cell("tail_id").map(|tail| privacy.id(tail)).transpose()?,
            aircraft_type: text("aircraft_type"),
            month: self.month(line, cell("month"), date),
            departure: text("departure"),
            destination: text("destination"),
            flight_purpose: purpose.and_then(|text| self.known(line, cells::purpose(text))),
            day_key: self.day_key(cell("day_key"), date)?,
            qnh_hpa: qnh_hpa.and_then(|read| self.known(line, read)),
            landing_mass_kg: landing_mass_kg.and_then(|read| self.known(line, read)),
        }))
    }

    /// The value, or a note that the cell is unknown.
    fn known<T>(&mut self, line: u64, read: Result<T, String>) -> Option<T> {
        let told = |fault| self.notes.push(line, format!("{fault}; unknown"));
        read.map_err(told).ok()
    }

    fn month(&mut self, line: u64, given: Option<&str>, date: Option<Day>) -> Option<String> {
        let by_date = date.map(Day::month);
        let Some(text) = given else { return by_date };
        let (month, cut) = self.known(line, cells::month(text))?;
        self.cut_months += usize::from(cut);
        match by_date {
            Some(other) if other != month => {
                let message = format!("month is {month} and date is in {other}; month unknown");
                self.notes.push(line, message);
                None
            }
            _ => Some(month),
        }
    }

    fn day_key(
        &mut self,
        given: Option<&str>,
        date: Option<Day>,
    ) -> Result<Option<String>, RecordsError> {
        let Some(given) = given else {
            return date.map(|day| self.privacy.day(&day.iso())).transpose();
        };
        let kept = self.privacy.day_key(given)?;
        self.hashed_days += usize::from(kept != given);
        Ok(Some(kept))
    }
}

#[cfg(test)]
mod tests;
