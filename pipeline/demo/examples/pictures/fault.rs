//! What can go wrong while a written fleet is read and drawn.

use std::path::{Path, PathBuf};

/// Why a picture could not be made.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Fault {
    /// A file or folder cannot be read.
    #[error("cannot read `{}`: {source}", path.display())]
    Read {
        path: PathBuf,
        source: std::io::Error,
    },
    /// A file cannot be written.
    #[error("cannot write `{}`: {source}", path.display())]
    Write {
        path: PathBuf,
        source: std::io::Error,
    },
    /// A Parquet file is none, or is damaged.
    #[error("`{}` is not a Parquet file that can be read: {source}", path.display())]
    Parquet {
        path: PathBuf,
        source: Box<dyn std::error::Error>,
    },
    /// A column is missing or of another kind.
    #[error("`{}`: column `{column}` must be {expected}; write the fleet anew with `demo write`", path.display())]
    Column {
        path: PathBuf,
        column: String,
        expected: &'static str,
    },
    /// A text file does not say what it must.
    #[error("`{}`: {what}", path.display())]
    Text { path: PathBuf, what: String },
    /// The plotting library refused.
    #[error("cannot draw: {0}")]
    Draw(String),
}

impl Fault {
    /// A text file with a fault in it.
    pub(crate) fn text(path: &Path, what: impl Into<String>) -> Self {
        Self::Text {
            path: path.to_owned(),
            what: what.into(),
        }
    }
}

/// The text of a file.
pub(crate) fn read_text(path: &Path) -> Result<String, Fault> {
    std::fs::read_to_string(path).map_err(|source| Fault::Read {
        path: path.to_owned(),
        source,
    })
}
