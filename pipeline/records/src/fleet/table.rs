//! A table of the fleet folder as text, from CSV or Parquet.

use std::collections::BTreeMap;
use std::path::Path;

use arrow::array::{Array, StringArray};
use arrow::compute::cast;
use arrow::datatypes::DataType;

use crate::catalogue::{did_you_mean, nearest};
use crate::error::RecordsError;
use crate::load::parquet_file;

/// Header, then rows with their line number; empty cells are unknown.
#[derive(Debug)]
pub(super) struct Table {
    /// Column name to its place in a row.
    pub(super) columns: BTreeMap<String, usize>,
    /// From line 2, whatever the kind of file.
    pub(super) rows: Vec<(u64, Vec<String>)>,
    /// Lines of a CSV file with more or fewer cells than the header, and what is wrong with them.
    pub(super) ragged: Vec<(u64, String)>,
}

impl Table {
    /// Reads a file; by its ending, `.csv` or Parquet.
    ///
    /// # Errors
    /// When it cannot be read, lacks a required column, has a column twice, or a row of another length than
    /// the header.
    pub(super) fn read(path: &Path, required: &[&str]) -> Result<Self, RecordsError> {
        let table = Self::read_ragged(path, required)?;
        match table.ragged.first() {
            Some((line, message)) => Err(RecordsError::row(path, *line, message.clone())),
            None => Ok(table),
        }
    }

    /// As [`Table::read`]; rows of another length than the header are set apart.
    ///
    /// # Errors
    /// When it cannot be read, lacks a required column, or has a column twice.
    pub(super) fn read_ragged(path: &Path, required: &[&str]) -> Result<Self, RecordsError> {
        let (header, all) = if path.extension().is_some_and(|e| e == "csv") {
            csv(path)
        } else {
            parquet(path)
        }?;
        let mut columns = BTreeMap::new();
        for (i, name) in header.iter().enumerate() {
            if columns.insert(name.clone(), i).is_some() && !name.is_empty() {
                let message = format!("two columns are called `{name}`, expected one");
                return Err(RecordsError::row(path, 1, message));
            }
        }
        for name in required {
            if !columns.contains_key(*name) {
                let near = did_you_mean(&nearest(name, header.iter().map(String::as_str)));
                let message = format!("no column `{name}`{near}");
                return Err(RecordsError::row(path, 1, message));
            }
        }
        let (rows, short): (Vec<_>, Vec<_>) = all
            .into_iter()
            .partition(|(_, row)| row.len() == header.len());
        let ragged = short.into_iter().map(|(line, row)| {
            let message = format!(
                "{} cells, expected {} as in the header; the line may be cut off, or a comma stands in a \
                 text that is not in quotes",
                row.len(),
                header.len()
            );
            (line, message)
        });
        Ok(Self {
            columns,
            rows,
            ragged: ragged.collect(),
        })
    }

    /// Notes the columns that are not among the known ones.
    pub(super) fn tell_left_out(&self, path: &Path, known: &[&str], notes: &mut Vec<String>) {
        let names = self.columns.keys().map(String::as_str);
        let unknown: Vec<&str> = names.filter(|name| !known.contains(name)).collect();
        if !unknown.is_empty() {
            let unknown = unknown.join(", ");
            notes.push(format!("{}: columns left out: {unknown}", path.display()));
        }
    }

    /// A cell without the spaces around it; none where it is empty or the column is not there.
    pub(super) fn cell<'a>(&self, row: &'a [String], column: &str) -> Option<&'a str> {
        let text = row.get(*self.columns.get(column)?)?.trim();
        (!text.is_empty()).then_some(text)
    }

    /// A cell that every row must fill.
    ///
    /// # Errors
    /// In words for the user, where it is empty.
    pub(super) fn required<'a>(&self, row: &'a [String], column: &str) -> Result<&'a str, String> {
        self.cell(row, column)
            .ok_or_else(|| format!("{column} is empty, expected a value in every row"))
    }
}

type Read = (Vec<String>, Vec<(u64, Vec<String>)>);

fn csv(path: &Path) -> Result<Read, RecordsError> {
    let fault = |e: csv::Error| RecordsError::file(path, format!("not a readable table: {e}"));
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .from_path(path)
        .map_err(fault)?;
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
    Ok((header, rows))
}

fn parquet(path: &Path) -> Result<Read, RecordsError> {
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
    Ok((header, rows))
}
