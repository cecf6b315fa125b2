//! What can go wrong with a query, with the place in its text where one is known.

use std::fmt;
use std::ops::Range;
use std::path::PathBuf;

use miette::{Diagnostic, LabeledSpan, NamedSource, SourceCode};

/// Why a query was not done.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum QueryError {
    /// The text of the query is at fault.
    #[error(transparent)]
    Fault(Box<QueryFault>),
    /// The folder holds no tables.
    #[error(
        "{} holds no table of a review: expected share/tables or restricted/tables in it; give the output \
         folder of `glidetally review`, then the question", path.display()
    )]
    NoTables {
        /// The folder.
        path: PathBuf,
    },
    /// No query has this name.
    #[error(
        "no query is called `{name}`{}; `glidetally query --list` shows all",
        nearest.as_ref().map(|near| format!("; did you mean `{near}`?")).unwrap_or_default()
    )]
    NoSuchQuery {
        /// The name that was asked for.
        name: String,
        /// The one that may have been meant.
        nearest: Option<String>,
    },
    /// A file of a table could not be read.
    #[error("cannot read {}: {detail}; run `glidetally review` again, or restore the file", path.display())]
    File {
        /// Which file.
        path: PathBuf,
        /// What is wrong.
        detail: String,
    },
    /// The engine could not be started.
    #[error("cannot start the query engine: {detail}")]
    Engine {
        /// What it said.
        detail: String,
    },
    /// Rows could not be handed on.
    #[error("cannot write the result: {0}")]
    Sink(#[from] std::io::Error),
}

/// What is wrong with the text of a query; `Display` is the message alone.
#[derive(Debug)]
pub struct QueryFault {
    /// What is wrong, lower case.
    pub message: String,
    /// A few words for the place; empty where none is needed.
    pub label: String,
    /// What to do.
    pub help: Option<String>,
    /// Bytes of the text; `None` where the place is not known.
    pub span: Option<Range<usize>>,
    source: NamedSource<String>,
}

impl QueryFault {
    /// A fault of `text`, which is shown under `name`.
    pub(super) fn new(name: &str, text: &str, message: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            label: String::new(),
            help: None,
            span: None,
            source: NamedSource::new(name, text.to_owned()),
        }
    }

    pub(super) fn at(mut self, span: Option<Range<usize>>, label: impl Into<String>) -> Self {
        self.span = span;
        self.label = label.into();
        self
    }

    pub(super) fn help(mut self, help: Option<String>) -> Self {
        self.help = help;
        self
    }
}

impl From<QueryFault> for QueryError {
    fn from(fault: QueryFault) -> Self {
        Self::Fault(Box::new(fault))
    }
}

impl fmt::Display for QueryFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for QueryFault {}

impl Diagnostic for QueryFault {
    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        let help = self.help.as_ref()?;
        Some(Box::new(help))
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.span
            .is_some()
            .then_some(&self.source as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let span = self.span.clone()?;
        let label = (!self.label.is_empty()).then(|| self.label.clone());
        let label = LabeledSpan::new(label, span.start, span.len());
        Some(Box::new(std::iter::once(label)))
    }
}
