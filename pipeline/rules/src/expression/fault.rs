//! What is wrong with an expression, and where in its own text.

use std::ops::Range;

/// One thing wrong with an expression.
#[derive(Debug, Clone, PartialEq)]
pub struct ExpressionFault {
    /// Bytes of the expression's own text.
    pub span: Range<usize>,
    /// What is wrong, lower case.
    pub message: String,
    /// A few words for the place itself.
    pub label: String,
    /// What to do.
    pub help: Option<String>,
}

impl ExpressionFault {
    pub(crate) fn new(
        span: Range<usize>,
        message: impl Into<String>,
        label: impl Into<String>,
    ) -> Self {
        Self {
            span,
            message: message.into(),
            label: label.into(),
            help: None,
        }
    }

    pub(crate) fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}
