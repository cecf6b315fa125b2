//! What can go wrong between the tables and the page.

/// Why no page was rendered.
#[derive(Debug, thiserror::Error)]
pub enum ReportError {
    /// Figures that cannot be true; each fault names its place in the input. A page with a wrong
    /// figure is worse than no page.
    #[error("the report's input holds {} fault(s): {}", .faults.len(), .faults.join("; "))]
    Input {
        /// One line a fault, in page order.
        faults: Vec<String>,
    },
    /// A template and its data do not fit together: a fault of this crate.
    #[error("the report's template could not be filled in")]
    Template(#[from] minijinja::Error),
}
