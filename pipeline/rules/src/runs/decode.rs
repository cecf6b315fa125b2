//! Results read where they lie, for judging, or as plain values.

use std::ops::Range;

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

/// Consecutive samples of equal code, with what else is known of them left in the columns of the result until it
/// is asked for: an approach has hundreds of runs, and judging looks into few of them.
#[derive(Debug, Clone, Copy)]
pub struct RunView<'a> {
    /// Number of the first sample.
    pub k_first: i32,
    /// Number of the last sample, itself in the run.
    pub k_last: i32,
    /// The code; `None` where it is unknown.
    pub code: Option<i8>,
    column: &'a Column,
    at: usize,
}

impl<'a> RunView<'a> {
    fn new(column: &'a Column, at: usize) -> Self {
        Self {
            k_first: column.k_first.value(at),
            k_last: column.k_last.value(at),
            code: column.code.is_valid(at).then(|| column.code.value(at)),
            column,
            at,
        }
    }

    /// End value number `end` at `k_first`, if known there.
    ///
    /// # Panics
    /// When there is no such end value.
    #[must_use]
    pub fn first(&self, end: usize) -> Option<f32> {
        known(&self.column.ends[end][0], self.at)
    }

    /// End value number `end` at `k_last`, if known there.
    ///
    /// # Panics
    /// When there is no such end value.
    #[must_use]
    pub fn last(&self, end: usize) -> Option<f32> {
        known(&self.column.ends[end][1], self.at)
    }

    /// The least of tracked value number `value`, at its lowest `k`; `None` if it is known nowhere in the run.
    ///
    /// # Panics
    /// When there is no such value.
    #[must_use]
    pub fn min(&self, value: usize) -> Option<ExtremeView<'a>> {
        let value = &self.column.values[value];
        ExtremeView::new(&value.min, &value.min_k, &value.carried_at_min, self.at)
    }

    /// The greatest of tracked value number `value`, as [`RunView::min`].
    ///
    /// # Panics
    /// When there is no such value.
    #[must_use]
    pub fn max(&self, value: usize) -> Option<ExtremeView<'a>> {
        let value = &self.column.values[value];
        ExtremeView::new(&value.max, &value.max_k, &value.carried_at_max, self.at)
    }
}

/// An extreme of a value, with what else was true at that sample left in the columns of the result.
#[derive(Debug, Clone, Copy)]
pub struct ExtremeView<'a> {
    /// The extreme itself.
    pub value: f32,
    /// The sample at which it occurs.
    pub k: i32,
    carried: &'a [Float32Array],
    at: usize,
}

impl<'a> ExtremeView<'a> {
    fn new(
        value: &Float32Array,
        k: &Int32Array,
        carried: &'a [Float32Array],
        at: usize,
    ) -> Option<Self> {
        Some(Self {
            value: known(value, at)?,
            k: k.is_valid(at).then(|| k.value(at))?,
            carried,
            at,
        })
    }

    /// Carried value number `place` at that sample, if known there.
    ///
    /// # Panics
    /// When there is no such carried value.
    #[must_use]
    pub fn carried(&self, place: usize) -> Option<f32> {
        known(&self.carried[place], self.at)
    }
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
        column.range(row).map(|at| column.run(at)).collect()
    }

    /// The runs of `s` argument number `s` in row `row`, read where they lie.
    ///
    /// # Panics
    /// When there is no such row or argument.
    pub fn views(&self, row: usize, s: usize) -> impl Iterator<Item = RunView<'_>> {
        let column = &self.columns[s];
        column.range(row).map(|at| RunView::new(column, at))
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
    /// Where the runs of a row lie.
    fn range(&self, row: usize) -> Range<usize> {
        if self.empty[row] {
            return 0..0;
        }
        self.offsets[row] as usize..self.offsets[row + 1] as usize
    }

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
    let view = ExtremeView::new(value, k, carried, at)?;
    Some(Extreme {
        value: view.value,
        k: view.k,
        carried: (0..carried.len())
            .map(|place| view.carried(place))
            .collect(),
    })
}

#[cfg(test)]
impl Decoder {
    /// One row of runs that keep ends alone, as many each.
    pub(crate) fn of_ends(runs: &[Run]) -> Self {
        let of = |run: fn(&Run) -> i32| runs.iter().map(run).collect::<Int32Array>();
        let ends = runs.first().map_or(0, |run| run.ends.len());
        let side = |end: usize, of: fn(&Ends) -> Option<f32>| -> Float32Array {
            runs.iter().map(|run| of(&run.ends[end])).collect()
        };
        let column = Column {
            layout: Layout::default(),
            offsets: OffsetBuffer::from_lengths([runs.len()]),
            empty: vec![false],
            k_first: of(|run| run.k_first),
            k_last: of(|run| run.k_last),
            code: runs.iter().map(|run| run.code).collect(),
            values: Vec::new(),
            ends: (0..ends)
                .map(|end| [side(end, |end| end.first), side(end, |end| end.last)])
                .collect(),
        };
        Self {
            columns: vec![column],
            rows: 1,
        }
    }
}
