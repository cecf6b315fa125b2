//! A bounded look into files of one kind: some files, their first rows, every column.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use arrow::array::{Array, ArrayRef, AsArray};
use arrow::compute::cast;
use arrow::datatypes::{DataType, Float64Type};

use crate::load::{Times, table_file};

/// Files of a kind that are looked into, by judgement.
pub(super) const FILES: usize = 6;
/// Cells that are held at a time, by judgement: 130 MB.
const CELLS: usize = 16_000_000;
const ROWS_A_FILE: usize = 100_000;
/// Different words and numbers that are listed.
const DISTINCT: usize = 12;

/// What was seen of a column.
#[derive(Debug, Clone, Default)]
pub struct Column {
    /// Name in the file.
    pub name: String,
    /// Type in the file.
    pub data_type: String,
    /// Cells that hold something.
    pub filled: usize,
    /// Median seconds between filled cells.
    pub interval_s: Option<f64>,
    /// Smallest number.
    pub low: Option<f64>,
    /// Largest number.
    pub high: Option<f64>,
    /// The different values, where they are few; empty otherwise.
    pub distinct: Vec<String>,
    /// Numbers, NaN where there is none.
    pub(super) values: Vec<f64>,
    pub(super) is_time: bool,
    pub(super) is_text: bool,
    seen: BTreeSet<String>,
    times: Times,
}

/// What was looked at.
#[derive(Debug, Default)]
pub(super) struct Look {
    pub(super) columns: Vec<Column>,
    /// First row of each file.
    pub(super) starts: Vec<usize>,
    pub(super) rows: usize,
    pub(super) files: usize,
}

/// Reads some rows of some of the files.
pub(super) fn look(
    files: &[PathBuf],
    names: &[(String, String)],
    refused: &mut Vec<(PathBuf, String)>,
) -> Look {
    let mut look = Look::default();
    let columns = names.iter().map(|(name, data_type)| Column {
        name: name.clone(),
        data_type: data_type.clone(),
        ..Column::default()
    });
    look.columns = columns.collect();
    let count = files.len().min(FILES);
    let rows = (CELLS / names.len().max(1) / count.max(1)).clamp(1_000, ROWS_A_FILE);
    for i in 0..count {
        // Evenly over the list, its first and its last among them.
        let at = if count > 1 {
            i * (files.len() - 1) / (count - 1)
        } else {
            0
        };
        look.starts.push(look.rows);
        match file(&files[at], rows, &mut look) {
            Ok(()) => look.files += 1,
            Err(why) => refused.push((files[at].clone(), why)),
        }
        let all = look.rows;
        for column in &mut look.columns {
            column.values.resize(all, f64::NAN);
        }
    }
    for column in &mut look.columns {
        finish(column);
    }
    look
}

fn file(path: &Path, rows: usize, look: &mut Look) -> Result<(), String> {
    let names: Vec<String> = look.columns.iter().map(|c| c.name.clone()).collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let mut batches = table_file::open(path)?.read(&names)?;
    let end = look.rows + rows;
    while look.rows < end {
        let Some(batch) = batches.next()? else {
            return Ok(());
        };
        let batch = batch.slice(0, batch.num_rows().min(end - look.rows));
        for column in &mut look.columns {
            if let Some(cells) = batch.column_by_name(&column.name) {
                append(column, cells);
            }
        }
        look.rows += batch.num_rows();
        let all = look.rows;
        for column in &mut look.columns {
            column.values.resize(all, f64::NAN);
        }
    }
    Ok(())
}

fn append(column: &mut Column, cells: &ArrayRef) {
    column.filled += cells.len() - cells.null_count();
    match cells.data_type() {
        DataType::Dictionary(_, value) => {
            column.filled -= cells.len() - cells.null_count();
            if let Ok(plain) = cast(cells, value) {
                append(column, &plain);
            }
        }
        DataType::Utf8 | DataType::LargeUtf8 | DataType::Utf8View => {
            let Ok(texts) = cast(cells, &DataType::Utf8) else {
                return;
            };
            let texts = texts.as_string::<i32>();
            let word = |text: &str| text.trim().parse::<f64>().is_err();
            let first = texts.iter().flatten().find(|text| !text.trim().is_empty());
            column.is_text |= first.is_some_and(word);
            if column.is_text {
                for text in texts.iter().flatten() {
                    keep(column, text.trim().to_owned());
                }
                // What was once no time is not tried again.
                if column.times.unreadable.is_none() {
                    let mut times = std::mem::take(&mut column.times);
                    let read = times.read(cells, &crate::fleet::Entry::as_is(&column.name));
                    column.is_time = read.is_ok() && times.unreadable.is_none();
                    let from = column.values.len().min(times.seconds.len());
                    column.values.extend(times.unrolled().iter().skip(from));
                    column.times = times;
                }
            } else {
                let number = |text: Option<&str>| {
                    text.and_then(|t| t.trim().parse().ok()).unwrap_or(f64::NAN)
                };
                column.values.extend(texts.iter().map(number));
            }
        }
        DataType::Timestamp(..)
        | DataType::Time32(_)
        | DataType::Time64(_)
        | DataType::Duration(_) => {
            let mut times = Times::default();
            let read = times.read(cells, &crate::fleet::Entry::as_is(&column.name));
            column.is_time = read.is_ok();
            column.values.extend(times.seconds);
        }
        _ => {
            let Ok(numbers) = cast(cells, &DataType::Float64) else {
                return;
            };
            let numbers = numbers.as_primitive::<Float64Type>();
            column
                .values
                .extend(numbers.iter().map(|n| n.unwrap_or(f64::NAN)));
        }
    }
}

fn keep(column: &mut Column, word: String) {
    if column.seen.len() <= DISTINCT {
        column.seen.insert(word);
    }
}

fn finish(column: &mut Column) {
    let known = || column.values.iter().copied().filter(|v| v.is_finite());
    if !column.is_text {
        column.low = known().reduce(f64::min);
        column.high = known().reduce(f64::max);
        let mut different: Vec<f64> = Vec::new();
        for value in known() {
            if !different.contains(&value) {
                different.push(value);
                if different.len() > DISTINCT {
                    break;
                }
            }
        }
        if different.len() <= DISTINCT {
            different.sort_by(f64::total_cmp);
            column.distinct = different.iter().map(f64::to_string).collect();
        }
    } else if column.seen.len() <= DISTINCT {
        column.distinct = column.seen.iter().cloned().collect();
    }
}

impl Column {
    /// The share of its numbers that lie in this range.
    pub(super) fn share_in(&self, low: f64, high: f64) -> f64 {
        let known = self.values.iter().filter(|v| v.is_finite());
        let (mut inside, mut all) = (0_usize, 0_usize);
        for value in known {
            all += 1;
            inside += usize::from((low..=high).contains(value));
        }
        if all == 0 {
            0.0
        } else {
            inside as f64 / all as f64
        }
    }

    /// The number below which this share of its numbers lies.
    pub(super) fn quantile(&self, share: f64) -> Option<f64> {
        let mut known: Vec<f64> = self
            .values
            .iter()
            .copied()
            .filter(|v| v.is_finite())
            .collect();
        known.sort_by(f64::total_cmp);
        known
            .get(((known.len().max(1) - 1) as f64 * share) as usize)
            .copied()
    }
}
