//! The thin shell between DataFusion and the plain store.

use std::sync::Arc;

use arrow::array::{Array, ArrayRef, BooleanArray, StructArray};
use arrow::datatypes::{DataType, Int32Type};
use datafusion::common::{Result, ScalarValue};
use datafusion::logical_expr::{Accumulator, EmitTo, GroupsAccumulator};

use super::columns;
use super::error::RunsError;
use super::layout::{Layout, result_layouts, result_type};
use super::spans::spans;
use super::track::Track;

/// Compresses many groups at once; one [`Track`] for each `s` argument.
///
/// The state is the result: one list of runs for each `s`. So it crosses processes as plain Arrow
/// IPC, and a single row turned into state is a run of one sample.
#[derive(Debug, Clone)]
pub struct RunsAccumulator {
    layouts: Vec<Layout>,
    tracks: Vec<Track>,
    groups: usize,
}

impl RunsAccumulator {
    /// An empty accumulator for the type of the result, which tells all about the arguments.
    ///
    /// # Errors
    /// When it is not a type that `runs` returns.
    pub fn new(result: &DataType) -> Result<Self, RunsError> {
        Ok(Self::of(result_layouts(result)?))
    }

    fn of(layouts: Vec<Layout>) -> Self {
        let tracks = layouts
            .iter()
            .map(|layout| Track::new(layout.width()))
            .collect();
        Self {
            layouts,
            tracks,
            groups: 0,
        }
    }

    fn reserve_groups(&mut self, groups: usize) {
        self.groups = self.groups.max(groups);
        for track in &mut self.tracks {
            track.reserve_groups(self.groups);
        }
    }

    /// One list of runs for each `s`, of the groups to emit, which are then forgotten.
    fn emit(&mut self, emit_to: EmitTo) -> Result<Vec<ArrayRef>, RunsError> {
        let groups = match emit_to {
            EmitTo::All => self.groups,
            EmitTo::First(groups) => groups.min(self.groups),
        };
        let columns = self
            .tracks
            .iter_mut()
            .zip(&self.layouts)
            .map(|(track, layout)| columns::write(&track.take(groups)?, layout))
            .collect::<Result<_, _>>()?;
        self.groups -= groups;
        Ok(columns)
    }

    fn check_count(&self, expected: usize, found: usize) -> Result<(), RunsError> {
        if expected == found {
            return Ok(());
        }
        Err(RunsError::Array {
            expected: format!("{expected} columns"),
            found: format!("{found} columns"),
        })
    }
}

impl GroupsAccumulator for RunsAccumulator {
    fn update_batch(
        &mut self,
        values: &[ArrayRef],
        group_indices: &[usize],
        opt_filter: Option<&BooleanArray>,
        total_num_groups: usize,
    ) -> Result<()> {
        self.check_count(1 + self.tracks.len(), values.len())?;
        self.reserve_groups(total_num_groups);
        let k = columns::primitive::<Int32Type>(&values[0])?;
        let spans = spans(k, group_indices, opt_filter)?;
        for ((track, layout), argument) in
            self.tracks.iter_mut().zip(&self.layouts).zip(&values[1..])
        {
            track.push(&spans, &columns::samples(argument, layout)?)?;
        }
        Ok(())
    }

    fn merge_batch(
        &mut self,
        values: &[ArrayRef],
        group_indices: &[usize],
        total_num_groups: usize,
    ) -> Result<()> {
        self.check_count(self.tracks.len(), values.len())?;
        self.reserve_groups(total_num_groups);
        for ((track, layout), column) in self.tracks.iter_mut().zip(&self.layouts).zip(values) {
            let (fragments, rows) = columns::read(column, layout)?;
            for (group, range) in group_indices.iter().zip(rows) {
                for from in range {
                    track.append(*group, &fragments, from)?;
                }
            }
            track.compact_if_large()?;
        }
        Ok(())
    }

    /// A group without samples has empty lists, never null ones.
    fn evaluate(&mut self, emit_to: EmitTo) -> Result<ArrayRef> {
        let columns = self.emit(emit_to)?;
        let DataType::Struct(fields) = result_type(&self.layouts) else {
            return Err(RunsError::Argument("the result is not a struct".to_owned()).into());
        };
        Ok(Arc::new(StructArray::try_new(fields, columns, None)?))
    }

    fn state(&mut self, emit_to: EmitTo) -> Result<Vec<ArrayRef>> {
        Ok(self.emit(emit_to)?)
    }

    fn convert_to_state(
        &self,
        values: &[ArrayRef],
        opt_filter: Option<&BooleanArray>,
    ) -> Result<Vec<ArrayRef>> {
        let rows = values.first().map_or(0, |k| k.len());
        let each_its_own: Vec<usize> = (0..rows).collect();
        let mut single = Self::of(self.layouts.clone());
        single.update_batch(values, &each_its_own, opt_filter, rows)?;
        single.state(EmitTo::All)
    }

    fn size(&self) -> usize {
        size_of::<Self>()
            + self.layouts.capacity() * size_of::<Layout>()
            + (self.tracks.capacity() - self.tracks.len()) * size_of::<Track>()
            + self
                .tracks
                .iter()
                .map(|t| size_of::<Track>() + t.size())
                .sum::<usize>()
    }
}

/// Compresses without groups: the same store with one group.
#[derive(Debug)]
pub(super) struct SingleAccumulator {
    runs: RunsAccumulator,
    /// As many zeros as the longest batch has rows.
    one_group: Vec<usize>,
}

impl SingleAccumulator {
    pub(super) fn new(result: &DataType) -> Result<Self, RunsError> {
        let mut runs = RunsAccumulator::new(result)?;
        // Without a single row there is a result all the same: empty lists.
        runs.reserve_groups(1);
        Ok(Self {
            runs,
            one_group: vec![],
        })
    }

    fn rows(&mut self, columns: &[ArrayRef]) -> usize {
        let rows = columns.first().map_or(0, |column| column.len());
        if rows > self.one_group.len() {
            self.one_group.resize(rows, 0);
        }
        rows
    }
}

impl Accumulator for SingleAccumulator {
    fn update_batch(&mut self, values: &[ArrayRef]) -> Result<()> {
        let rows = self.rows(values);
        self.runs
            .update_batch(values, &self.one_group[..rows], None, 1)
    }

    fn merge_batch(&mut self, states: &[ArrayRef]) -> Result<()> {
        let rows = self.rows(states);
        self.runs.merge_batch(states, &self.one_group[..rows], 1)
    }

    /// Leaves the state as it is: as a window function this is asked row by row.
    fn evaluate(&mut self) -> Result<ScalarValue> {
        let result = self.runs.clone().evaluate(EmitTo::All)?;
        ScalarValue::try_from_array(&result, 0)
    }

    fn state(&mut self) -> Result<Vec<ScalarValue>> {
        let state = self.runs.clone().state(EmitTo::All)?;
        state
            .iter()
            .map(|column| ScalarValue::try_from_array(column, 0))
            .collect()
    }

    fn size(&self) -> usize {
        size_of::<Self>() - size_of::<RunsAccumulator>()
            + self.one_group.capacity() * size_of::<usize>()
            + self.runs.size()
    }
}
