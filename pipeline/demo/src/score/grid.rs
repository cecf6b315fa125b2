//! Every flown approach × rule (or gate criterion): what the truth says, and what the review said.
//!
//! Held as one dense column a rule, twenty bytes a cell: a hundred thousand approaches fit easily.

use std::path::Path;

use serde::Deserialize;

use super::ScoreError;
use super::compare::Comparison;
use super::flown::{Flown, called};
use super::names::Names;
use super::table;

#[derive(Deserialize)]
struct Row {
    flight_id: String,
    approach_no: i32,
    rule: String,
    evaluable: bool,
    event: bool,
    worst: Option<f32>,
    limit: Option<f32>,
    margin: Option<f32>,
    band: Option<f32>,
}

/// What the truth says of one approach and rule.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Known {
    /// It says nothing.
    #[default]
    Absent,
    NotEvaluable,
    Clear,
    Event,
}

/// What the review says of it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Judged {
    /// It says nothing: the approach was not found, or did not cross the gate.
    #[default]
    Absent,
    /// Not evaluable, or only in part.
    NotEvaluable,
    Clear,
    Event,
}

/// One approach and rule. A value that is not known is NaN.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cell {
    pub(super) known: Known,
    pub(super) judged: Judged,
    /// The review has an event here that counts in its rates: neither edge nor partial.
    pub(super) counts: bool,
    /// The true value, as the review would state it.
    pub(super) worst: f32,
    pub(super) margin: f32,
    pub(super) band: f32,
    /// The value that the review states.
    pub(super) stated: f32,
}

impl Default for Cell {
    fn default() -> Self {
        Self {
            known: Known::default(),
            judged: Judged::default(),
            counts: false,
            worst: f32::NAN,
            margin: f32::NAN,
            band: f32::NAN,
            stated: f32::NAN,
        }
    }
}

impl Cell {
    pub(super) fn is_evaluable(self) -> bool {
        matches!(self.known, Known::Clear | Known::Event)
    }

    pub(super) fn is_judged(self) -> bool {
        matches!(self.judged, Judged::Clear | Judged::Event)
    }

    /// Whether a recorder may blur the verdict, so that it is not compared.
    pub(super) fn in_band(self) -> bool {
        self.is_evaluable() && self.margin.abs() <= self.band
    }
}

/// One rule or gate criterion.
#[derive(Debug)]
pub(super) struct Column {
    comparison: Comparison,
    /// The review has rows for it.
    pub(super) reviewed: bool,
    /// Unit in which the review states its values.
    pub(super) unit: Option<String>,
    pub(super) cells: Vec<Cell>,
}

/// All of them.
#[derive(Debug, Default)]
pub(super) struct Grid {
    /// Rules and criteria, in the order of the truth.
    pub(super) names: Names,
    pub(super) columns: Vec<Column>,
}

impl Grid {
    /// Reads what the truth says.
    pub(super) fn read(fleet: &Path, flown: &Flown) -> Result<Self, ScoreError> {
        let path = fleet.join("truth").join("rules.parquet");
        let mut grid = Self::default();
        table::of_truth(&path, |row: Row| {
            let column = grid.names.add(&row.rule) as usize;
            if column == grid.columns.len() {
                grid.columns.push(Column {
                    comparison: Comparison::of(&row.rule),
                    reviewed: false,
                    unit: None,
                    cells: vec![Cell::default(); flown.approaches.len()],
                });
            }
            let Some(place) = flown.place(&row.flight_id, row.approach_no, &path)? else {
                return Ok(());
            };
            let column = &mut grid.columns[column];
            let cell = &mut column.cells[place as usize];
            if cell.known != Known::Absent {
                return Err(ScoreError::Twice {
                    path: path.clone(),
                    of: format!(
                        "{} and {}",
                        called(&row.flight_id, row.approach_no),
                        row.rule
                    ),
                });
            }
            cell.known = match (row.evaluable, row.event) {
                (_, true) => Known::Event,
                (true, false) => Known::Clear,
                (false, false) => Known::NotEvaluable,
            };
            cell.worst = column.comparison.true_value(row.worst, row.limit);
            cell.margin = row.margin.unwrap_or(f32::NAN);
            cell.band = row.band.unwrap_or(f32::NAN);
            Ok(())
        })?;
        grid.leave_out_gates();
        Ok(grid)
    }

    /// A gate as a whole counts failed criteria: it has no value of its own to compare.
    fn leave_out_gates(&mut self) {
        let gates: Vec<String> = (0..self.names.len())
            .filter_map(|number| self.names.word(number as u32).split_once('.'))
            .map(|(gate, _)| gate.to_owned())
            .collect();
        for gate in gates {
            if let Some(column) = self.names.find(&gate) {
                let column = &mut self.columns[column as usize];
                column
                    .cells
                    .iter_mut()
                    .for_each(|cell| cell.worst = f32::NAN);
            }
        }
    }

    /// The column of a rule that the truth speaks of.
    pub(super) fn column(&mut self, rule: &str) -> Option<&mut Column> {
        let number = self.names.find(rule)?;
        self.columns.get_mut(number as usize)
    }
}
