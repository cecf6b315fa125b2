//! One flight of the invented fleet in memory, in catalogue names and units, to be damaged by hand.

use std::collections::BTreeMap;
use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use arrow::array::{Array, ArrayRef, AsArray, Float64Array, RecordBatch};
use arrow::compute::{cast, concat_batches};
use arrow::datatypes::{DataType, Float64Type};
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;

/// Rows of one flight; a cell that is `None` is empty in the file.
#[derive(Debug, Clone)]
pub(crate) struct Record {
    pub(crate) time_s: Vec<Option<f64>>,
    pub(crate) columns: BTreeMap<String, Vec<Option<f64>>>,
}

impl Record {
    /// The flight of that id out of any record below `folder`, by the maps of `fleet.toml`.
    pub(crate) fn of(fleet: &Path, flight_id: &str) -> Self {
        let text = std::fs::read_to_string(fleet.join("fleet.toml")).unwrap();
        let toml: toml::Table = toml::from_str(&text).unwrap();
        let maps = toml["map"].as_array().unwrap();
        files(&fleet.join("records"))
            .iter()
            .find_map(|path| {
                let all = read(path);
                let map = maps.iter().find(|map| {
                    let time = map["time_s"]["column"].as_str().unwrap();
                    all.column_by_name(time).is_some()
                })?;
                let rows = rows_of(&all, map, path, flight_id)?;
                Some(Self::mapped(&rows, map))
            })
            .unwrap_or_else(|| panic!("no record of {flight_id}"))
    }

    fn mapped(rows: &RecordBatch, map: &toml::Value) -> Self {
        let mut columns = BTreeMap::new();
        for (name, entry) in map.as_table().unwrap() {
            let column = rows.column_by_name(entry["column"].as_str().unwrap());
            if name == "flight_id" {
                continue;
            }
            let values = cast(column.unwrap(), &DataType::Float64).unwrap();
            let values = values.as_primitive::<Float64Type>();
            let converted = values.iter().map(|v| v.map(|v| convert(v, name, entry)));
            columns.insert(name.clone(), converted.collect());
        }
        let time_s = columns.remove("time_s").expect("a time");
        Self { time_s, columns }
    }

    /// Known cells of a column in a span of time, with their times.
    pub(crate) fn cells(
        &mut self,
        name: &str,
        from_s: f64,
        to_s: f64,
    ) -> impl Iterator<Item = (f64, &mut f64)> {
        let time_s = &self.time_s;
        let cells = self.columns.get_mut(name).into_iter().flatten();
        time_s.iter().zip(cells).filter_map(move |(time, cell)| {
            let t = time.filter(|t| *t >= from_s && *t < to_s)?;
            Some((t, cell.as_mut()?))
        })
    }

    /// Keeps, repeats and orders rows: `rows` are indices into the present ones.
    pub(crate) fn take(&mut self, rows: &[usize]) {
        self.time_s = rows.iter().map(|&row| self.time_s[row]).collect();
        for column in self.columns.values_mut() {
            *column = rows.iter().map(|&row| column[row]).collect();
        }
    }

    /// Rows in a span of time.
    pub(crate) fn rows(&self, from_s: f64, to_s: f64) -> Vec<usize> {
        let inside = |row: &usize| self.time_s[*row].is_some_and(|t| t >= from_s && t < to_s);
        (0..self.time_s.len()).filter(inside).collect()
    }

    /// Writes the flight to a file of its own. Its name goes into the file too: damages that undo
    /// each other would make two files of the same bytes, of which one is refused as a copy.
    pub(crate) fn write(&self, path: &Path) {
        let time = ("time_s".to_owned(), array(&self.time_s));
        let columns = self.columns.iter().map(|(n, v)| (n.clone(), array(v)));
        // Channels without any value keep their column: `true` is "may be empty".
        let all = std::iter::once(time)
            .chain(columns)
            .map(|(name, values)| (name, values, true));
        let batch = RecordBatch::try_from_iter_with_nullable(all).unwrap();
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let properties = WriterProperties::builder()
            .set_key_value_metadata(Some(vec![KeyValue::new("case".to_owned(), name)]))
            .build();
        let file = File::create(path).unwrap();
        let mut writer = ArrowWriter::try_new(file, batch.schema(), Some(properties)).unwrap();
        writer.write(&batch).unwrap();
        writer.close().unwrap();
    }
}

fn array(values: &[Option<f64>]) -> ArrayRef {
    Arc::new(Float64Array::from(values.to_vec()))
}

fn read(path: &Path) -> RecordBatch {
    let reader = ParquetRecordBatchReaderBuilder::try_new(File::open(path).unwrap()).unwrap();
    let schema = reader.schema().clone();
    let batches: Vec<RecordBatch> = reader.build().unwrap().map(Result::unwrap).collect();
    concat_batches(&schema, &batches).unwrap()
}

/// The rows of one flight; without a column of ids the name of the file is the id.
fn rows_of(
    all: &RecordBatch,
    map: &toml::Value,
    path: &Path,
    flight_id: &str,
) -> Option<RecordBatch> {
    let Some(ids) = all.column_by_name(map["flight_id"]["column"].as_str()?) else {
        return (path.file_stem()? == flight_id).then(|| all.clone());
    };
    let ids = cast(ids, &DataType::Utf8).unwrap();
    let ids = ids.as_string::<i32>();
    let at: Vec<usize> = (0..ids.len())
        .filter(|&row| ids.is_valid(row) && ids.value(row) == flight_id)
        .collect();
    let (first, last) = (*at.first()?, *at.last()?);
    Some(all.slice(first, last - first + 1))
}

/// A number of the recorder in the unit and sense of the catalogue.
fn convert(value: f64, name: &str, entry: &toml::Value) -> f64 {
    if let Some(values) = entry.get("values") {
        return values[&value.to_string()].as_integer().unwrap() as f64;
    }
    let unit = match entry.get("unit").and_then(toml::Value::as_str) {
        None => 1.0,
        Some("ms") => 1e-3,
        Some("m") => 1.0 / 0.3048,
        Some("m/s") if name.ends_with("_fpm") => 60.0 / 0.3048,
        Some("m/s") => 3600.0 / 1852.0,
        Some("%") => 0.01,
        Some("uA") => 1.0 / 75.0,
        Some(other) => panic!("unit {other}"),
    };
    let scale = entry.get("scale").map_or(1.0, |s| s.as_float().unwrap());
    let sense = match entry.get("positive").and_then(toml::Value::as_str) {
        Some("below" | "left") => -1.0,
        _ => 1.0,
    };
    let value = value * unit * scale * sense;
    if entry.get("invert").is_some() {
        1.0 - value
    } else {
        value
    }
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(files(&path));
        } else {
            found.push(path);
        }
    }
    found.sort();
    found
}
