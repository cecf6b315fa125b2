//! One approach of a store as a page: what happened where, for a debrief.
//!
//! As in the report, nothing is measured here: series, checkpoints, gates and events come from outside and
//! are drawn, worded and put side by side. The page says what was, not who or why.

mod axis;
mod check;
mod input;
mod measures;
mod page;
mod panel;
mod pictures;
mod strips;
#[cfg(test)]
mod tests;
mod words;

pub use input::{Checkpoint, Event, Gate, Lever, LeverMove, Retrace, Series};
pub use measures::Measures;

use crate::ReportError;

/// Renders the page of one approach; like the report it needs no network, no script and no font.
///
/// # Errors
/// [`ReportError::Input`] lists series of unequal length, values that are not finite and times that do not
/// ascend; [`ReportError::Template`] is a fault of this crate.
pub fn render(input: &Retrace) -> Result<String, ReportError> {
    check::check(input)?;
    crate::filled("retrace.html", page::build(input))
}
