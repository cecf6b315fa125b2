//! Why pictures could not be drawn.

use std::fmt;
use std::path::Path;

/// One sentence for whoever started it.
#[derive(Debug)]
pub(crate) struct Fault(String);

impl Fault {
    pub(crate) fn new(text: impl Into<String>) -> Self {
        Self(text.into())
    }

    /// What went wrong with a file.
    pub(crate) fn at(path: &Path, error: &dyn fmt::Display) -> Self {
        Self(format!("{}: {error}", path.display()))
    }

    /// The same, of a picture.
    pub(crate) fn of(self, picture: &str) -> Self {
        Self(format!("picture {picture}: {}", self.0))
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}
