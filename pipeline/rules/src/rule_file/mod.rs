//! Rule files: TOML text → raw rule (every key of the right type) → [`CheckedRule`] (every name,
//! type and unit known).
//!
//! Every fault of every file is found in one go and shown at its place. Nothing here reads samples
//! or runs a query.

mod builtin;
mod check;
mod checked;
mod fault;
mod hash;
mod levels;
mod limits;
mod overrides;
mod pack;
mod raw;
mod reader;
mod shape;
mod warn;

pub use builtin::BUILTIN;
pub use checked::{
    Asks, CheckedRule, Criterion, Direction, FAMILIES, Level, LevelName, Measure, MeasureKind, Override,
    Segment, Shape, Status,
};
pub use fault::{Fault, RuleFaults};
pub use limits::limit_case;
pub use warn::{FleetFacts, warnings};
pub use pack::{
    BUILTIN_NAME, RuleText, builtin_pack, builtin_texts, check_pack, pack_texts, read_packs,
};

/// A column that expressions may name.
#[derive(Debug, Clone, PartialEq)]
pub struct ColumnSpec {
    /// As in the table.
    pub name: String,
    /// As in the catalogue: `kt`, `ft/min`, `0/1`, `ratio`, …; `bool` makes it a condition.
    pub unit: String,
    /// A text: only ever compared with texts.
    pub text: bool,
    /// Lowest and highest value it can have, where there are such.
    pub range: Option<(f64, f64)>,
}

/// The columns rules are checked against.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct RuleContext {
    /// Columns of samples.
    pub columns: Vec<ColumnSpec>,
    /// Columns of the approach row, for outcomes.
    pub approach_columns: Vec<ColumnSpec>,
}

pub(crate) use levels::{constant, threshold};

#[cfg(test)]
pub(crate) mod testing;
#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
