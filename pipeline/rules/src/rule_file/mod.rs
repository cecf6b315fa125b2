//! Rule files: TOML text → raw rule (every key of the right type) → [`CheckedRule`] (every name,
//! type and unit known).
//!
//! Every fault of every file is found in one go and shown at its place. Nothing here reads samples
//! or runs a query.

mod builtin;
mod check;
mod checked;
mod context;
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

pub use crate::expression::nearest as nearest_name;
pub use builtin::BUILTIN;
pub use checked::{
    Asks, CheckedRule, Criterion, Direction, FAMILIES, Level, LevelName, Measure, MeasureKind,
    Override, Segment, Shape, Status,
};
pub use context::{ColumnSpec, RuleContext};
pub use fault::{Fault, RuleFaults};
pub use hash::{differing_lines, meaning};
pub use limits::limit_case;
pub use pack::{
    BUILTIN_NAME, RuleText, builtin_pack, builtin_texts, check_pack, pack_texts, read_packs,
};
pub use warn::{FleetFacts, warnings};

pub(crate) use levels::threshold;

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
