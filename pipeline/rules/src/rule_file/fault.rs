//! What is wrong with rule files, with the place in the file.

use std::fmt;
use std::ops::Range;
use std::sync::Arc;

use miette::{Diagnostic, LabeledSpan, NamedSource, Severity, SourceCode};

/// One thing wrong with one rule file; `Display` is `path:line:column: message`.
#[derive(Debug, Clone)]
pub struct Fault {
    /// The file, as it was named to the reader.
    pub path: String,
    /// From 1; 1 where the file itself could not be read.
    pub line: usize,
    /// From 1, counting characters.
    pub column: usize,
    /// What is wrong, lower case.
    pub message: String,
    /// A few words for the place itself.
    pub label: String,
    /// What to do.
    pub help: Option<String>,
    /// Bytes of the file.
    pub span: Range<usize>,
    /// Only a warning: the rule works, and is surely not meant so.
    pub is_warning: bool,
    source: Option<Arc<NamedSource<String>>>,
}

impl Fault {
    /// A fault of a file that could not even be read.
    pub(super) fn unread(path: String, message: String) -> Self {
        Self {
            path,
            line: 1,
            column: 1,
            message,
            label: String::new(),
            help: None,
            span: 0..0,
            is_warning: false,
            source: None,
        }
    }

    pub(super) fn warning(mut self) -> Self {
        self.is_warning = true;
        self
    }

    pub(super) fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}:{}:{}: {}",
            self.path, self.line, self.column, self.message
        )
    }
}

impl std::error::Error for Fault {}

impl Diagnostic for Fault {
    fn severity(&self) -> Option<Severity> {
        self.is_warning.then_some(Severity::Warning)
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.help
            .as_ref()
            .map(|help| Box::new(help) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.source
            .as_deref()
            .map(|source| source as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        self.source.as_ref()?;
        let label = LabeledSpan::new(Some(self.label.clone()), self.span.start, self.span.len());
        Some(Box::new(std::iter::once(label)))
    }
}

/// Every fault of every file, sorted by file and then by position; never empty.
#[derive(Debug, Clone)]
pub struct RuleFaults {
    /// The faults.
    pub faults: Vec<Fault>,
}

impl RuleFaults {
    pub(super) fn sorted(mut faults: Vec<Fault>) -> Self {
        faults.sort_by(|one, two| {
            let key = |fault: &Fault| (fault.path.clone(), fault.span.start, fault.span.end);
            key(one)
                .cmp(&key(two))
                .then_with(|| one.message.cmp(&two.message))
        });
        Self { faults }
    }
}

impl fmt::Display for RuleFaults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.faults.len() {
            1 => f.write_str("1 fault in the rule files"),
            count => write!(f, "{count} faults in the rule files"),
        }
    }
}

impl std::error::Error for RuleFaults {}

impl Diagnostic for RuleFaults {
    fn related<'a>(&'a self) -> Option<Box<dyn Iterator<Item = &'a dyn Diagnostic> + 'a>> {
        Some(Box::new(
            self.faults.iter().map(|fault| fault as &dyn Diagnostic),
        ))
    }
}

/// A rule file's text, for turning bytes into places.
#[derive(Debug, Clone)]
pub(super) struct SourceFile {
    pub(super) path: String,
    pub(super) text: String,
    source: Arc<NamedSource<String>>,
}

impl SourceFile {
    pub(super) fn new(path: String, text: String) -> Self {
        let source = Arc::new(NamedSource::new(path.clone(), text.clone()));
        Self { path, text, source }
    }

    pub(super) fn fault(
        &self,
        span: Range<usize>,
        message: impl Into<String>,
        label: impl Into<String>,
    ) -> Fault {
        let before = &self.text[..span.start];
        let line_start = before.rfind('\n').map_or(0, |byte| byte + 1);
        Fault {
            path: self.path.clone(),
            line: before.matches('\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
            message: message.into(),
            label: label.into(),
            help: None,
            span,
            is_warning: false,
            source: Some(Arc::clone(&self.source)),
        }
    }
}
