//! The flight list: `flights.parquet` or `flights.csv`, one row a flight.

use std::collections::BTreeMap;
use std::path::Path;

use arrow::array::{Array, StringArray};
use arrow::compute::cast;
use arrow::datatypes::DataType;

use super::privacy::Privacy;
use crate::catalogue::{did_you_mean, nearest};
use crate::error::RecordsError;
use crate::flight::FlightHeader;
use crate::load::parquet_file;

const COLUMNS: [&str; 10] = [
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

/// The table as text: header, then rows with their line number; empty cells are unknown.
struct Table {
    header: Vec<String>,
    rows: Vec<(u64, Vec<String>)>,
}

/// Reads the list, ids already replaced where privacy asks for it.
pub(super) fn read(
    path: &Path,
    privacy: &Privacy,
    notes: &mut Vec<String>,
) -> Result<BTreeMap<String, FlightHeader>, RecordsError> {
    let table = if path.extension().is_some_and(|e| e == "csv") {
        csv(path)
    } else {
        parquet(path)
    }?;
    let index: BTreeMap<&str, usize> = table
        .header
        .iter()
        .enumerate()
        .map(|(i, name)| (name.as_str(), i))
        .collect();
    if !index.contains_key("flight_id") {
        let near = did_you_mean(&nearest(
            "flight_id",
            table.header.iter().map(String::as_str),
        ));
        return Err(RecordsError::row(
            path,
            1,
            format!("no column `flight_id`{near}"),
        ));
    }
    let left_out: Vec<&str> = index
        .keys()
        .copied()
        .filter(|name| !COLUMNS.contains(name))
        .collect();
    if !left_out.is_empty() {
        notes.push(format!(
            "{}: columns left out: {}",
            path.display(),
            left_out.join(", ")
        ));
    }
    let mut flights = BTreeMap::new();
    for (line, row) in &table.rows {
        let cell = |name: &str| {
            let text = index
                .get(name)
                .and_then(|&i| row.get(i))
                .map_or("", |text| text.trim());
            (!text.is_empty()).then(|| text.to_owned())
        };
        let fault = |message: String| RecordsError::row(path, *line, message);
        let id = cell("flight_id").ok_or_else(|| fault("flight_id is empty".to_owned()))?;
        let header = FlightHeader {
            flight_id: privacy.id(&id)?,
            tail_id: cell("tail_id").map(|tail| privacy.id(&tail)).transpose()?,
            aircraft_type: cell("aircraft_type"),
            month: cell("month").map(month).transpose().map_err(fault)?,
            departure: cell("departure"),
            destination: cell("destination"),
            flight_purpose: cell("flight_purpose")
                .map(purpose)
                .transpose()
                .map_err(fault)?,
            day_key: cell("day_key"),
            qnh_hpa: number("qnh_hpa", cell("qnh_hpa"), 850.0, 1090.0).map_err(fault)?,
            landing_mass_kg: number("landing_mass_kg", cell("landing_mass_kg"), 1e3, 6.5e5)
                .map_err(fault)?,
        };
        if flights.insert(header.flight_id.clone(), header).is_some() {
            return Err(fault(format!(
                "flight_id `{id}` appears twice; expected one row a flight"
            )));
        }
    }
    Ok(flights)
}

fn month(text: String) -> Result<String, String> {
    let digits = |part: &str, n: usize| part.len() == n && part.bytes().all(|b| b.is_ascii_digit());
    let fits = text.split_once('-').is_some_and(|(year, month)| {
        digits(year, 4) && digits(month, 2) && ("01"..="12").contains(&month)
    });
    if fits {
        Ok(text)
    } else {
        Err(format!("month is `{text}`, expected YYYY-MM"))
    }
}

fn purpose(text: String) -> Result<String, String> {
    match text.as_str() {
        "line" | "training" | "positioning" => Ok(text),
        _ => Err(format!(
            "flight_purpose is `{text}`, expected line, training or positioning"
        )),
    }
}

fn number(name: &str, text: Option<String>, low: f64, high: f64) -> Result<Option<f64>, String> {
    let Some(text) = text else { return Ok(None) };
    match text.parse::<f64>() {
        Ok(value) if (low..=high).contains(&value) => Ok(Some(value)),
        _ => Err(format!(
            "{name} is `{text}`, expected a number from {low} to {high}"
        )),
    }
}

fn csv(path: &Path) -> Result<Table, RecordsError> {
    let fault = |e: csv::Error| RecordsError::file(path, format!("not a readable table: {e}"));
    let mut reader = csv::ReaderBuilder::new().from_path(path).map_err(fault)?;
    let header = reader
        .headers()
        .map_err(fault)?
        .iter()
        .map(str::to_owned)
        .collect();
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(fault)?;
        let line = record.position().map_or(0, csv::Position::line);
        rows.push((line, record.iter().map(str::to_owned).collect()));
    }
    Ok(Table { header, rows })
}

fn parquet(path: &Path) -> Result<Table, RecordsError> {
    let fault = |message: String| RecordsError::file(path, message);
    let builder = parquet_file::open(path).map_err(fault)?;
    let header = builder
        .schema()
        .fields()
        .iter()
        .map(|f| f.name().clone())
        .collect();
    let mut rows = Vec::new();
    for batch in builder.build().map_err(|e| fault(e.to_string()))? {
        let batch = batch.map_err(|e| fault(e.to_string()))?;
        let columns = batch
            .columns()
            .iter()
            .map(|column| cast(column, &DataType::Utf8))
            .collect::<Result<Vec<_>, _>>()
            .map_err(|e| fault(e.to_string()))?;
        let texts: Vec<Option<&StringArray>> = columns
            .iter()
            .map(|column| column.as_any().downcast_ref())
            .collect();
        for i in 0..batch.num_rows() {
            let text = |column: &Option<&StringArray>| match column {
                Some(column) if column.is_valid(i) => column.value(i).to_owned(),
                _ => String::new(),
            };
            // As if the header were line 1, so that both kinds of list count alike.
            rows.push((rows.len() as u64 + 2, texts.iter().map(text).collect()));
        }
    }
    Ok(Table { header, rows })
}
