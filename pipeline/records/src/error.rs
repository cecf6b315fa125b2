//! What can stop a whole run: the fleet folder itself is wrong. Single records never do; they are
//! quarantined.

use std::path::{Path, PathBuf};

use miette::{Diagnostic, NamedSource, SourceSpan};

/// A fault of the fleet folder.
#[derive(Debug, thiserror::Error, Diagnostic)]
pub enum RecordsError {
    /// A file or folder that cannot be read or written.
    #[error("cannot {action} {}: {source}", path.display())]
    Io {
        /// `read`, `create`, …
        action: &'static str,
        /// What was tried.
        path: PathBuf,
        /// Why not.
        source: std::io::Error,
    },
    /// A fault at a place in a configuration file.
    #[error("{file}:{line}:{column}: {message}")]
    Config {
        /// File as named to the user.
        file: String,
        /// From 1.
        line: usize,
        /// From 1, in characters.
        column: usize,
        /// What is wrong and what was expected.
        message: String,
        /// The text around it.
        #[source_code]
        text: std::sync::Arc<NamedSource<String>>,
        /// Where in the text.
        #[label("here")]
        span: SourceSpan,
        /// What to do.
        #[help]
        help: Option<String>,
    },
    /// A fault in a row of a table.
    #[error("{file}:{line}: {message}")]
    Row {
        /// File as named to the user.
        file: String,
        /// From 1, the header being line 1.
        line: u64,
        /// Which column, what was found, what was expected.
        message: String,
    },
    /// A fault of a file as a whole.
    #[error("{file}: {message}")]
    File {
        /// File as named to the user.
        file: String,
        /// What is wrong and what to do.
        message: String,
    },
}

impl RecordsError {
    pub(crate) fn io(action: &'static str, path: &Path, source: std::io::Error) -> Self {
        Self::Io {
            action,
            path: path.to_owned(),
            source,
        }
    }

    pub(crate) fn file(path: &Path, message: impl Into<String>) -> Self {
        Self::File {
            file: path.display().to_string(),
            message: message.into(),
        }
    }

    pub(crate) fn row(path: &Path, line: u64, message: impl Into<String>) -> Self {
        Self::Row {
            file: path.display().to_string(),
            line,
            message: message.into(),
        }
    }

    /// A fault at a byte range of a text.
    pub(crate) fn at(
        path: &Path,
        text: &str,
        span: std::ops::Range<usize>,
        message: impl Into<String>,
        help: Option<String>,
    ) -> Self {
        let start = span.start.min(text.len());
        let before = text.get(..start).unwrap_or_default();
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        let file = path.display().to_string();
        Self::Config {
            line: before.matches('\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
            message: message.into(),
            text: std::sync::Arc::new(NamedSource::new(&file, text.to_owned())),
            span: (start, span.len()).into(),
            help,
            file,
        }
    }
}

pub(crate) fn read_text(path: &Path) -> Result<String, RecordsError> {
    std::fs::read_to_string(path).map_err(|e| RecordsError::io("read", path, e))
}

/// Parses a TOML file into its raw form, unknown keys refused with their neighbours named.
pub(crate) fn parse_toml<T: serde::de::DeserializeOwned>(
    path: &Path,
    text: &str,
) -> Result<T, RecordsError> {
    toml::from_str(text).map_err(|error| {
        let message = error.message().to_owned();
        let help = unknown_key_help(&message);
        RecordsError::at(path, text, error.span().unwrap_or(0..0), message, help)
    })
}

/// serde says ``unknown field `a`, expected one of `b`, `c` ``: the nearest of them.
fn unknown_key_help(message: &str) -> Option<String> {
    let names: Vec<&str> = message.split('`').skip(1).step_by(2).collect();
    let (unknown, expected) = names.split_first()?;
    if !message.starts_with("unknown") {
        return None;
    }
    let near = crate::catalogue::nearest(unknown, expected.iter().copied());
    (!near.is_empty()).then(|| format!("did you mean {}?", near.join(", ")))
}
