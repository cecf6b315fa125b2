//! The output folder of a review, as far as pictures need it.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::fault::Fault;
use crate::table::Table;

/// Approaches, and the tables of the fleet.
pub(crate) struct Review {
    out: PathBuf,
    pub(crate) approaches: Table,
    keys: Vec<i64>,
}

/// The samples of one approach, in order.
pub(crate) struct Samples {
    table: Table,
    pub(crate) time_s: Vec<f64>,
    pub(crate) distance_nm: Vec<Option<f64>>,
    /// Whether a sample belongs to the approach: neither roll nor missed approach.
    pub(crate) approach: Vec<bool>,
}

impl Review {
    pub(crate) fn open(out: &Path) -> Result<Self, Fault> {
        let path = out.join("restricted/tables/approaches.parquet");
        if !path.is_file() {
            let text = "no such file: give the folder that `glidetally review --out` wrote";
            return Err(Fault::at(&path, &text));
        }
        let approaches = Table::read(&path)?;
        let keys = keys(&path)?;
        Ok(Self {
            out: out.to_owned(),
            approaches,
            keys,
        })
    }

    /// A table of the fleet.
    pub(crate) fn share(&self, name: &str) -> Result<Table, Fault> {
        Table::read(&self.out.join(format!("share/tables/{name}.parquet")))
    }

    /// Stable order of approaches that are equal otherwise.
    pub(crate) fn key(&self, row: usize) -> i64 {
        self.keys[row]
    }

    /// Rows of line approaches by flight and number.
    pub(crate) fn line(&self) -> Result<BTreeMap<(&str, i64), usize>, Fault> {
        let purpose = self.approaches.words("flight_purpose")?;
        let flights = self.approaches.words("flight_id")?;
        let numbers = self.approaches.numbers("approach_no")?;
        let rows = (0..self.approaches.rows).filter(|&k| {
            purpose[k]
                .as_deref()
                .is_none_or(|purpose| purpose == "line")
        });
        Ok(rows
            .filter_map(|k| Some(((flights[k].as_deref()?, numbers[k]? as i64), k)))
            .collect())
    }

    /// The samples of an approach. The store must be that of one review: files that later runs took out of
    /// it would give samples twice, which is refused.
    pub(crate) fn samples(&self, row: usize, columns: &[&str]) -> Result<Samples, Fault> {
        let month = self.approaches.words("month")?[row]
            .clone()
            .unwrap_or_default();
        let folder = self
            .out
            .join(format!("restricted/store/samples/month={month}"));
        let mut files = Vec::new();
        for entry in std::fs::read_dir(&folder).map_err(|error| Fault::at(&folder, &error))? {
            files.push(entry.map_err(|error| Fault::at(&folder, &error))?.path());
        }
        files.sort();
        let columns: Vec<&str> = columns
            .iter()
            .copied()
            .chain(["time_s", "distance_to_threshold_nm", "segment"])
            .collect();
        let mut found = Vec::new();
        for file in &files {
            let table = Table::of_approach(file, self.keys[row], &columns)?;
            if table.rows > 0 {
                found.push(table);
            }
        }
        let stored = self.approaches.numbers("n_samples")?[row].unwrap_or(0.0) as usize;
        match found.pop() {
            Some(table) if found.is_empty() && table.rows == stored => Samples::of(table),
            _ => Err(Fault::at(
                &folder,
                &"not the samples of one review: review into a new folder",
            )),
        }
    }
}

impl Samples {
    fn of(table: Table) -> Result<Self, Fault> {
        let times = table
            .numbers("time_s")?
            .iter()
            .flatten()
            .copied()
            .collect::<Vec<f64>>();
        let segment = table.words("segment")?.iter();
        let approach = segment
            .map(|word| word.as_deref() == Some("approach"))
            .collect();
        let distance_nm = table.numbers("distance_to_threshold_nm")?.to_vec();
        Ok(Self {
            table,
            time_s: times,
            distance_nm,
            approach,
        })
    }

    pub(crate) fn column(&self, name: &str) -> Result<&[Option<f64>], Fault> {
        self.table.numbers(name)
    }

    /// The samples of the approach segment, in order.
    pub(crate) fn own(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.time_s.len()).filter(|&k| self.approach[k])
    }

    /// Whether a sample lies in the window of distance in which habits are looked for, 20 to 3 NM.
    pub(crate) fn in_window(&self, k: usize) -> bool {
        self.distance_nm[k].is_some_and(|nm| (3.0..=20.0).contains(&nm))
    }

    /// Stretches of neighbouring samples of the approach for which something holds.
    pub(crate) fn stretches(&self, holds: impl Fn(usize) -> bool) -> Vec<(usize, usize)> {
        let mut found: Vec<(usize, usize)> = Vec::new();
        for k in self.own().filter(|&k| holds(k)) {
            match found.last_mut() {
                Some(last) if last.1 + 1 == k => last.1 = k,
                _ => found.push((k, k)),
            }
        }
        found
    }

    /// A column at a moment, on the line between two known samples.
    pub(crate) fn at(&self, values: &[Option<f64>], moment_s: f64) -> Option<f64> {
        let after = self.time_s.partition_point(|t| *t < moment_s);
        if self.time_s.get(after) == Some(&moment_s) {
            return values[after];
        }
        let before = after.checked_sub(1)?;
        let (t0, t1) = (self.time_s[before], *self.time_s.get(after)?);
        let (v0, v1) = (values[before]?, values[after]?);
        Some(v0 + (v1 - v0) * (moment_s - t0) / (t1 - t0))
    }
}

/// Keys need all their 63 bits, which a floating number does not have.
fn keys(path: &Path) -> Result<Vec<i64>, Fault> {
    use arrow::array::AsArray;
    use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
    let file = std::fs::File::open(path).map_err(|error| Fault::at(path, &error))?;
    let reader = ParquetRecordBatchReaderBuilder::try_new(file)
        .and_then(ParquetRecordBatchReaderBuilder::build)
        .map_err(|error| Fault::at(path, &error))?;
    let mut keys = Vec::new();
    for batch in reader {
        let batch = batch.map_err(|error| Fault::at(path, &error))?;
        let column = batch
            .column_by_name("approach_key")
            .and_then(|column| column.as_primitive_opt::<arrow::datatypes::Int64Type>())
            .ok_or_else(|| Fault::at(path, &"no column approach_key"))?;
        keys.extend(column.values().iter().copied());
    }
    Ok(keys)
}
