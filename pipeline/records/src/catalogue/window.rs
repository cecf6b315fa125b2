//! Columns that look back, which an operator adds under `[derived]` of `fleet.toml`. Rules do not
//! look back themselves.

use super::{Column, Origin, Storage};

/// What is taken of the seconds up to a sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Take {
    /// The lowest value.
    Min,
    /// The highest value.
    Max,
    /// The mean.
    Mean,
    /// The value less the one that many seconds before.
    Change,
}

/// One column that looks back over another.
#[derive(Debug, Clone, PartialEq)]
pub struct Window {
    /// Its name.
    pub name: String,
    /// The column it looks at, built-in or added before it.
    pub of: String,
    /// What it takes.
    pub take: Take,
    /// How far it looks back.
    pub seconds: f64,
}

impl Window {
    pub(super) fn column(&self, unit: String) -> Column {
        let take = match self.take {
            Take::Min => "lowest",
            Take::Max => "highest",
            Take::Mean => "mean",
            Take::Change => "change of",
        };
        Column {
            name: self.name.clone(),
            unit,
            storage: Storage::Float32,
            origin: Origin::Derived,
            meaning: format!("{take} {} over the last {} s", self.of, self.seconds),
        }
    }
}
