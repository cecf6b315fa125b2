//! Results as plain values, for judging.

use arrow::array::{Array, ArrayRef, Float32Array, Int8Array, Int32Array};
use arrow::buffer::OffsetBuffer;
use arrow::datatypes::{Float32Type, Int32Type};

use super::columns;
use super::error::RunsError;
use super::layout::{END_FIELDS, Layout, RUN_HEAD, VALUE_HEAD};

/// Consecutive samples of equal code.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Number of the first sample.
    pub k_first: i32,
    /// Number of the last sample, itself in the run.
    pub k_last: i32,
    /// The code; `None` where it is unknown.
    pub code: Option<i8>,
    /// The tracked values, in the order of [`Layout::values`].
    pub values: Vec<RunValue>,
    /// The end values, in the order of [`Layout::ends`].
    pub ends: Vec<Ends>,
}

/// A value at both ends of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ends {
    /// The value at `k_first`, if known there.
    pub first: Option<f32>,
    /// The value at `k_last`, if known there.
    pub last: Option<f32>,
}

/// One tracked value over a run.
#[derive(Debug, Clone, PartialEq)]
pub struct RunValue {
    /// The value at `k_first`, if known there.
    pub first: Option<f32>,
    /// The value at `k_last`, if known there.
    pub last: Option<f32>,
    /// The least value, at its lowest `k`; `None` if the value is known nowhere in the run.
    pub min: Option<Extreme>,
    /// The greatest value, at its lowest `k`; `None` if the value is known nowhere in the run.
    pub max: Option<Extreme>,
    /// Number of samples at which the value is known.
    pub known: i32,
}

/// An extreme of a value, and what else was true at that sample.
#[derive(Debug, Clone, PartialEq)]
pub struct Extreme {
    /// The extreme itself.
    pub value: f32,
    /// The sample at which it occurs.
    pub k: i32,
    /// The carried values there, in the order of [`Layout::carried`].
    pub carried: Vec<Option<f32>>,
}

/// The columns of one value, side by side.
#[derive(Debug)]
struct ValueColumns {
    first: Float32Array,
    last: Float32Array,
    min: Float32Array,
    min_k: Int32Array,
    max: Float32Array,
    max_k: Int32Array,
    known: Int32Array,
    carried_at_min: Vec<Float32Array>,
    carried_at_max: Vec<Float32Array>,
}

/// The runs of one `s` argument, for all rows.
#[derive(Debug)]
struct Column {
    layout: Layout,
    /// Row by row where its runs begin; equal ends where there are none.
    offsets: OffsetBuffer<i32>,
    empty: Vec<bool>,
    k_first: Int32Array,
    k_last: Int32Array,
    code: Int8Array,
    values: Vec<ValueColumns>,
    ends: Vec<[Float32Array; 2]>,
}

/// A whole column of results, looked into once and then read row by row.
#[derive(Debug)]
pub struct Decoder {
    columns: Vec<Column>,
    rows: usize,
}

impl Decoder {
    /// Looks into an array that `runs` returned (it may be a slice).
    ///
    /// # Errors
    /// When the array's type is not one that `runs` returns.
    pub fn new(array: &ArrayRef) -> Result<Self, RunsError> {
        let result = columns::structure(array)?;
        let columns = result
            .columns()
            .iter()
            .map(|column| {
                let layout = Layout::from_runs(column.data_type())?;
                let list = columns::list(column)?;
                let empty = (0..list.len())
                    .map(|row| result.is_null(row) || list.is_null(row))
                    .collect();
                let runs = columns::structure(list.values())?.columns();
                Ok(Column {
                    offsets: list.offsets().clone(),
                    empty,
                    k_first: columns::primitive(&runs[0])?.clone(),
                    k_last: columns::primitive(&runs[1])?.clone(),
                    code: columns::primitive(&runs[2])?.clone(),
                    values: values(runs, &layout)?,
                    ends: ends(runs, &layout)?,
                    layout,
                })
            })
            .collect::<Result<_, RunsError>>()?;
        Ok(Self {
            columns,
            rows: array.len(),
        })
    }

    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// What each `s` argument tracked and carried, in the order of the call.
    pub fn layouts(&self) -> impl Iterator<Item = &Layout> {
        self.columns.iter().map(|column| &column.layout)
    }

    /// The runs of argument `s` (from 0) in row `row`, by rising `k`. A null row has none.
    ///
    /// # Panics
    /// When `row` or `s` is out of range.
    pub fn runs(&self, row: usize, s: usize) -> Vec<Run> {
        let column = &self.columns[s];
        if column.empty[row] {
            return vec![];
        }
        (column.offsets[row] as usize..column.offsets[row + 1] as usize)
            .map(|at| column.run(at))
            .collect()
    }

    /// The runs of every `s` argument in row `row`.
    ///
    /// # Panics
    /// When `row` is out of range.
    pub fn row(&self, row: usize) -> Vec<Vec<Run>> {
        (0..self.columns.len()).map(|s| self.runs(row, s)).collect()
    }
}

/// The runs of one row of a result, for each `s` argument. For many rows take a [`Decoder`].
///
/// # Errors
/// When the array's type is not one that `runs` returns, or there is no such row.
pub fn decode(array: &ArrayRef, row: usize) -> Result<Vec<Vec<Run>>, RunsError> {
    let decoder = Decoder::new(array)?;
    if row >= decoder.rows() {
        return Err(RunsError::Array {
            expected: format!("a row {row}"),
            found: format!("{} rows", decoder.rows()),
        });
    }
    Ok(decoder.row(row))
}

fn values(runs: &[ArrayRef], layout: &Layout) -> Result<Vec<ValueColumns>, RunsError> {
    let float = |at: usize| columns::primitive::<Float32Type>(&runs[at]).cloned();
    let whole = |at: usize| columns::primitive::<Int32Type>(&runs[at]).cloned();
    let carried = layout.width().carried;
    (0..layout.values.len())
        .map(|value| {
            let at = RUN_HEAD + value * (VALUE_HEAD + 2 * carried);
            let at_min = at + VALUE_HEAD;
            let at_max = at_min + carried;
            Ok(ValueColumns {
                first: float(at)?,
                last: float(at + 1)?,
                min: float(at + 2)?,
                min_k: whole(at + 3)?,
                max: float(at + 4)?,
                max_k: whole(at + 5)?,
                known: whole(at + 6)?,
                carried_at_min: (at_min..at_max).map(float).collect::<Result<_, _>>()?,
                carried_at_max: (at_max..at_max + carried)
                    .map(float)
                    .collect::<Result<_, _>>()?,
            })
        })
        .collect()
}

fn ends(runs: &[ArrayRef], layout: &Layout) -> Result<Vec<[Float32Array; 2]>, RunsError> {
    let width = layout.width();
    let from = RUN_HEAD + width.values * (VALUE_HEAD + 2 * width.carried);
    let float = |at: usize| columns::primitive::<Float32Type>(&runs[at]).cloned();
    (0..width.ends)
        .map(|end| from + END_FIELDS * end)
        .map(|at| Ok([float(at)?, float(at + 1)?]))
        .collect()
}

impl Column {
    fn run(&self, at: usize) -> Run {
        Run {
            k_first: self.k_first.value(at),
            k_last: self.k_last.value(at),
            code: self.code.is_valid(at).then(|| self.code.value(at)),
            values: self.values.iter().map(|value| value.at(at)).collect(),
            ends: self.ends.iter().map(|end| ends_at(end, at)).collect(),
        }
    }
}

impl ValueColumns {
    fn at(&self, at: usize) -> RunValue {
        RunValue {
            first: known(&self.first, at),
            last: known(&self.last, at),
            min: extreme(&self.min, &self.min_k, &self.carried_at_min, at),
            max: extreme(&self.max, &self.max_k, &self.carried_at_max, at),
            known: self.known.value(at),
        }
    }
}

fn ends_at([first, last]: &[Float32Array; 2], at: usize) -> Ends {
    Ends {
        first: known(first, at),
        last: known(last, at),
    }
}

fn known(column: &Float32Array, at: usize) -> Option<f32> {
    column.is_valid(at).then(|| column.value(at))
}

fn extreme(
    value: &Float32Array,
    k: &Int32Array,
    carried: &[Float32Array],
    at: usize,
) -> Option<Extreme> {
    Some(Extreme {
        value: known(value, at)?,
        k: k.is_valid(at).then(|| k.value(at))?,
        carried: carried.iter().map(|column| known(column, at)).collect(),
    })
}
