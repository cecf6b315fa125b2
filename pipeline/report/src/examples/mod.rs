//! The page that leads from each topic of training to a few approaches to talk it over with.
//!
//! The approaches are chosen elsewhere and have pages of their own ([`crate::retrace`]); here they are put under
//! their topics, with what each shows. The page names single flights, as those pages do.

mod check;
mod input;
mod page;
#[cfg(test)]
mod tests;

pub use input::{Example, Examples, Topic, Why, WithoutExamples};

use crate::ReportError;

/// Folder of the pages, beside this one: every link leads there, or to the report.
pub const FOLDER: &str = "examples/";

/// Renders the page; like the report it needs no network, no script and no font.
///
/// # Errors
/// [`ReportError::Input`] lists links that lead elsewhere than into [`FOLDER`];
/// [`ReportError::Template`] is a fault of this crate.
pub fn render(input: &Examples) -> Result<String, ReportError> {
    check::check(input)?;
    crate::filled("examples.html", page::build(input))
}
