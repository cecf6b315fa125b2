//! Reads the records of a demo fleet and writes them down in the second schema.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::sync::Arc;

use arrow::array::{
    ArrayRef, AsArray, BooleanArray, Float64Array, Int64Array, RecordBatch, StringArray,
    TimestampMillisecondArray,
};
use arrow::compute::{cast, concat_batches};
use arrow::datatypes::{DataType, Float64Type};
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;

use super::names::{BRAE, CORVAN, Cell, Column, TARN};
use crate::same_bytes::{parquet_files, write};

/// Midnight falls into most records whose times are those of a day.
const CLOCK_STARTS_MS: i64 = (23 * 3600 + 55 * 60) * 1000;
/// Somewhen in 2033: dates that the records' own times do not have.
const DATES_START_MS: i64 = 2_000_000_000_000;

/// One flight as the first schema holds it.
pub(crate) struct Flight {
    pub(crate) id: String,
    /// Folder of the records, which is the aircraft type.
    pub(crate) kind: String,
    /// The file, without ending.
    pub(crate) file: String,
    pub(crate) time_ms: Vec<i64>,
    columns: BTreeMap<String, Vec<Option<f64>>>,
}

impl Flight {
    /// A parameter of the catalogue in the first schema's unit; empty where the recorder has none.
    pub(crate) fn parameter(&self, name: &str) -> &[Option<f64>] {
        let column = columns(&self.kind)
            .into_iter()
            .find(|column| column.parameter == name);
        column.map_or(&[], |column| &self.columns[column.first])
    }

    /// Adds to every value of a parameter.
    pub(crate) fn raise(&mut self, name: &str, by: f64) {
        for value in self.values(name).iter_mut().flatten() {
            *value += by;
        }
    }

    fn values(&mut self, name: &str) -> &mut Vec<Option<f64>> {
        let all = columns(&self.kind);
        let column = all.into_iter().find(|column| column.parameter == name);
        self.columns.get_mut(column.unwrap().first).unwrap()
    }

    /// Leaves of a parameter only the samples of even seconds.
    pub(crate) fn halve(&mut self, name: &str) {
        let even: Vec<bool> = self
            .time_ms
            .iter()
            .map(|ms| ms.rem_euclid(2_000) < 1_000)
            .collect();
        for (value, even) in self.values(name).iter_mut().zip(even) {
            *value = value.filter(|_| even);
        }
    }
}

/// All columns of one recorder.
fn columns(kind: &str) -> Vec<&'static Column> {
    match kind {
        "corvan-c20" => CORVAN.iter().collect(),
        "tarn-t7" => TARN.iter().collect(),
        "brae-r3" => BRAE.iter().flat_map(|(_, part)| part.iter()).collect(),
        other => panic!("no recorder {other}"),
    }
}

/// The flights of a demo fleet, file by file.
pub(crate) fn flights(fleet: &Path) -> Vec<Flight> {
    let records = fleet.join("records");
    let files = parquet_files(&records);
    files
        .iter()
        .flat_map(|file| {
            let below = file.strip_prefix(&records).unwrap();
            let kind = below.iter().next().unwrap().to_str().unwrap();
            read(file, kind)
        })
        .collect()
}

fn read(file: &Path, kind: &str) -> Vec<Flight> {
    let reader = ParquetRecordBatchReaderBuilder::try_new(fs::File::open(file).unwrap()).unwrap();
    let schema = reader.schema().clone();
    let batches: Vec<RecordBatch> = reader.build().unwrap().map(Result::unwrap).collect();
    let all = concat_batches(&schema, &batches).unwrap();
    let stem = file.file_stem().unwrap().to_str().unwrap();
    let ids: Vec<String> = ["flight_id", "FLT", "flight"]
        .iter()
        .find_map(|name| all.column_by_name(name))
        .map_or_else(
            || vec![stem.to_owned(); all.num_rows()],
            |ids| {
                let ids = cast(ids, &DataType::Utf8).unwrap();
                let ids = ids.as_string::<i32>().iter();
                ids.map(|id| id.unwrap().to_owned()).collect()
            },
        );
    let numbers = |name: &str| -> Vec<Option<f64>> {
        let column = all
            .column_by_name(name)
            .unwrap_or_else(|| panic!("no column {name}"));
        let column = cast(column, &DataType::Float64).unwrap();
        column.as_primitive::<Float64Type>().iter().collect()
    };
    let (time, per_ms) = match kind {
        "corvan-c20" => ("time_s", 1000.0),
        "tarn-t7" => ("T_MS", 1.0),
        _ => ("elapsed_milliseconds", 1.0),
    };
    let time = numbers(time);
    let values: Vec<(&str, Vec<Option<f64>>)> = columns(kind)
        .iter()
        .map(|column| (column.first, numbers(column.first)))
        .collect();
    let mut flights = Vec::new();
    let mut from = 0;
    for to in 1..=ids.len() {
        if to < ids.len() && ids[to] == ids[from] {
            continue;
        }
        flights.push(Flight {
            id: ids[from].clone(),
            kind: kind.to_owned(),
            file: stem.to_owned(),
            time_ms: time[from..to]
                .iter()
                .map(|t| (t.unwrap() * per_ms).round() as i64)
                .collect(),
            columns: values
                .iter()
                .map(|(name, values)| ((*name).to_owned(), values[from..to].to_vec()))
                .collect(),
        });
        from = to;
    }
    flights
}

/// Writes the flights into `to` as a fleet of the second schema; all but records and maps is that of `first`.
pub(crate) fn write_second(flights: &[Flight], first: &Path, to: &Path) {
    for name in ["flights.parquet", "runways.csv"] {
        fs::create_dir_all(to).unwrap();
        fs::copy(first.join(name), to.join(name)).unwrap();
    }
    fs::create_dir(to.join("aircraft")).unwrap();
    for entry in fs::read_dir(first.join("aircraft")).unwrap() {
        let path = entry.unwrap().path();
        fs::copy(&path, to.join("aircraft").join(path.file_name().unwrap())).unwrap();
    }
    let toml = fs::read_to_string(first.join("fleet.toml")).unwrap();
    fs::write(to.join("fleet.toml"), fleet_toml(&toml)).unwrap();
    let mut by_file: BTreeMap<(&str, &str), Vec<&Flight>> = BTreeMap::new();
    for flight in flights {
        let file = match flight.kind.as_str() {
            "tarn-t7" => "all",
            _ => flight.file.as_str(),
        };
        let group = by_file.entry((flight.kind.as_str(), file)).or_default();
        group.push(flight);
    }
    for ((kind, file), flights) in by_file {
        let folder = to.join("records").join(kind);
        fs::create_dir_all(&folder).unwrap();
        match kind {
            "corvan-c20" => flights.iter().for_each(|flight| csv(flight, &folder)),
            "tarn-t7" => {
                let times = |ms: Vec<i64>| -> ArrayRef {
                    let ms = ms.into_iter().map(|ms| ms + DATES_START_MS);
                    Arc::new(TimestampMillisecondArray::from_iter_values(ms))
                };
                let batch = table(&flights, &TARN, ("id", "when"), times);
                write(&folder.join("all.parquet"), &batch);
            }
            _ => {
                for (mark, columns) in BRAE {
                    let batch = table(&flights, columns, ("leg", "T"), |ms| part_times(mark, ms));
                    write(&folder.join(format!("{file}{mark}.parquet")), &batch);
                }
            }
        }
    }
}

/// Each part counts in another unit.
fn part_times(mark: &str, ms: Vec<i64>) -> ArrayRef {
    let numbers = |scale: f64| -> ArrayRef {
        Arc::new(Float64Array::from_iter_values(
            ms.iter().map(|ms| *ms as f64 * scale),
        ))
    };
    match mark {
        "_1hz" => numbers(0.001),
        "_8hz" => Arc::new(Int64Array::from(ms)),
        "_4hz" => Arc::new(Int64Array::from_iter_values(ms.iter().map(|ms| ms * 1000))),
        _ => numbers(1.0 / 60_000.0),
    }
}

fn fleet_toml(first: &str) -> String {
    let rest = &first[first.find("[privacy]").unwrap()..];
    let marks: Vec<String> = BRAE.iter().map(|(mark, _)| format!("{mark:?}")).collect();
    let mut toml = format!("[records]\nrate_hz = 1\nparts = [{}]\n\n", marks.join(", "));
    map(&mut toml, &CORVAN, "time_s = { column = \"clock\" }");
    let tarn = "flight_id = { column = \"id\" }\ntime_s = { column = \"when\" }";
    map(&mut toml, &TARN, tarn);
    for ((_, columns), unit) in BRAE.iter().zip(["s", "ms", "us", "min"]) {
        let keys = format!(
            "flight_id = {{ column = \"leg\" }}\ntime_s = {{ column = \"T\", unit = \"{unit}\" }}"
        );
        map(&mut toml, columns, &keys);
    }
    toml + rest
}

fn map(toml: &mut String, columns: &[Column], keys: &str) {
    let _ = writeln!(toml, "[[map]]\n{keys}");
    for column in columns {
        let more = match column.entry {
            "" => String::new(),
            entry => format!(", {entry}"),
        };
        let (parameter, name) = (column.parameter, column.second);
        let _ = writeln!(toml, "{parameter} = {{ column = \"{name}\"{more} }}");
    }
    toml.push('\n');
}

/// A table of several flights, without the rows in which none of the columns has a value.
fn table(
    flights: &[&Flight],
    columns: &[Column],
    (id_name, time_name): (&str, &str),
    times: impl Fn(Vec<i64>) -> ArrayRef,
) -> RecordBatch {
    let mut ids: Vec<&str> = Vec::new();
    let mut time_ms = Vec::new();
    let mut cells: Vec<Vec<Option<Cell>>> = columns.iter().map(|_| Vec::new()).collect();
    for flight in flights {
        for (row, ms) in flight.time_ms.iter().enumerate() {
            let value = |column: &Column| flight.columns[column.first][row];
            if columns.iter().all(|column| value(column).is_none()) {
                continue;
            }
            ids.push(&flight.id);
            time_ms.push(*ms);
            for (column, cells) in columns.iter().zip(&mut cells) {
                cells.push(value(column).map(|value| column.form.cell(value)));
            }
        }
    }
    let ids: ArrayRef = Arc::new(StringArray::from(ids));
    let mut all = vec![(id_name, ids), (time_name, times(time_ms))];
    let arrays = columns.iter().zip(&cells);
    all.extend(arrays.map(|(column, cells)| (column.second, array(cells))));
    RecordBatch::try_from_iter_with_nullable(all.into_iter().map(|(name, a)| (name, a, true)))
        .unwrap()
}

/// Cells of one form, or none at all.
fn array(cells: &[Option<Cell>]) -> ArrayRef {
    match cells.iter().flatten().next() {
        Some(Cell::Word(_)) => {
            let words = cells.iter().map(|cell| match cell {
                Some(Cell::Word(word)) => Some(*word),
                _ => None,
            });
            Arc::new(words.collect::<StringArray>())
        }
        Some(Cell::Truth(_)) => {
            let truths = cells.iter().map(|cell| match cell {
                Some(Cell::Truth(truth)) => Some(*truth),
                _ => None,
            });
            Arc::new(truths.collect::<BooleanArray>())
        }
        _ => {
            let numbers = cells.iter().map(|cell| match cell {
                Some(Cell::Number(number)) => Some(*number),
                _ => None,
            });
            Arc::new(numbers.collect::<Float64Array>())
        }
    }
}

/// One flight as text, named after it: semicolons, times of day, no flight id.
fn csv(flight: &Flight, folder: &Path) {
    let mut text = String::from("clock");
    for column in &CORVAN {
        let _ = write!(text, ";{}", column.second);
    }
    text.push('\n');
    for (row, ms) in flight.time_ms.iter().enumerate() {
        let ms = (ms + CLOCK_STARTS_MS) % 86_400_000;
        let (hour, minute) = (ms / 3_600_000, ms / 60_000 % 60);
        let (second, part) = (ms / 1000 % 60, ms % 1000);
        let _ = write!(text, "{hour:02}:{minute:02}:{second:02}.{part:03}");
        for column in &CORVAN {
            let value = flight.columns[column.first][row];
            let _ = match value.map(|value| column.form.cell(value)) {
                Some(Cell::Number(number)) => write!(text, ";{number}"),
                Some(Cell::Word(word)) => write!(text, ";{word}"),
                Some(Cell::Truth(truth)) => write!(text, ";{truth}"),
                None => write!(text, ";"),
            };
        }
        text.push('\n');
    }
    fs::write(folder.join(format!("{}.csv", flight.id)), text).unwrap();
}
