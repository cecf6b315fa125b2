//! Writes an invented fleet with known truth; shares no code with what detects.
//!
//! [`write()`] makes a fleet folder: records of three invented aircraft types with three kinds of recorder,
//! invented airports, and beside them `truth/`: what really happened in every approach, worked out
//! from the noise-free history by this crate's own reading of the definitions. A detector that gets
//! its answers right on such a fleet gets them right for a reason.
//!
//! Nothing here reads a record, and nothing depends on the clock: the same options give the same
//! bytes, whatever the number of threads. [`score()`] compares the tables of a finished review with
//! that truth.

mod channels;
mod damage;
mod dice;
mod flight;
mod flying;
mod folder;
mod plan;
mod recorder;
pub mod score;
mod steady;
mod truth;
mod world;

pub use folder::write;
pub use score::{Score, ScoreError, score};

use std::collections::BTreeMap;
use std::path::PathBuf;

/// What a fleet is for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Profile {
    /// As an airline would see it: rates of the published order, its recorders as they are, a few
    /// damaged records, and the fleet-level effects.
    #[default]
    Airline,
    /// Many deviations on both sides of every limit, recorders as they are, nothing damaged.
    Proving,
    /// As `Proving`, with recorders that blur nothing.
    Exact,
    /// As `Airline`, with one record in eight damaged.
    Damaged,
}

impl Profile {
    /// All of them, with the names they go by.
    pub const ALL: [(&'static str, Self); 4] = [
        ("airline", Self::Airline),
        ("proving", Self::Proving),
        ("exact", Self::Exact),
        ("damaged", Self::Damaged),
    ];

    /// Share of its flights whose records are damaged.
    #[must_use]
    pub const fn damaged(self) -> f64 {
        match self {
            Self::Airline => 0.02,
            Self::Proving | Self::Exact => 0.0,
            Self::Damaged => 0.125,
        }
    }
}

/// What to write.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// Number of flights; a few of them hold two approaches.
    pub flights: usize,
    /// Months they are spread over.
    pub months: usize,
    /// Everything random follows from this.
    pub seed: u64,
    /// What the fleet is for.
    pub profile: Profile,
    /// First month: year, month 1…12.
    pub first_month: (i32, u32),
    /// Share of a proving fleet's flights in which something is planted at a gate, and in which
    /// something is planted further out. In other fleets 0 plants nothing, anything else what an
    /// airline sees.
    pub planted: f64,
    /// Share of flights whose records are damaged; none = what the profile says.
    pub damaged: Option<f64>,
    /// How many of the first flights of the second type get a file each.
    pub single_files: usize,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            flights: 1_800,
            months: 14,
            seed: 1,
            profile: Profile::default(),
            first_month: (2025, 1),
            planted: 0.2,
            damaged: None,
            single_files: 220,
        }
    }
}

impl Options {
    /// The month with an index, as `YYYY-MM`.
    fn month(&self, index: usize) -> String {
        let months = self.first_month.1 as usize - 1 + index;
        format!(
            "{:04}-{:02}",
            self.first_month.0 + (months / 12) as i32,
            months % 12 + 1
        )
    }
}

/// What was written.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Summary {
    /// Flights.
    pub flights: u64,
    /// Approaches.
    pub approaches: u64,
    /// Rows of samples.
    pub samples: u64,
    /// By rule or gate criterion.
    pub rules: BTreeMap<String, RuleCount>,
}

/// How often a rule's truth is what.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct RuleCount {
    /// Approaches on which the rule could have fired.
    pub evaluable: u64,
    /// Approaches on which it did.
    pub events: u64,
    /// Events within two measuring bands of the limit.
    pub narrow_events: u64,
    /// No event, but within two measuring bands of one.
    pub near_misses: u64,
}

/// Why a fleet could not be written.
#[derive(Debug, thiserror::Error)]
pub enum DemoError {
    /// The output is there already, and is not an empty folder.
    #[error("`{}` exists and is not an empty folder: name a new folder, or remove it first", path.display())]
    NotEmpty {
        /// The output that was asked for.
        path: PathBuf,
    },
    /// An option is out of range.
    #[error("{option} must be {expected}, got {given}")]
    Option {
        /// Its name.
        option: &'static str,
        /// What it may be.
        expected: &'static str,
        /// What it was.
        given: String,
    },
    /// A file or folder could not be written.
    #[error("cannot write `{}`", path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A Parquet file could not be written.
    #[error("cannot write a parquet file of the fleet")]
    Parquet(#[from] parquet::errors::ParquetError),
    /// Columns did not fit together: a fault of this crate.
    #[error("cannot build the columns of a fleet file")]
    Arrow(#[from] arrow::error::ArrowError),
    /// Rows did not fit their table: a fault of this crate.
    #[error("cannot build the rows of a fleet table")]
    Rows(#[from] serde_arrow::Error),
    /// The thread that writes the files stopped.
    #[error("the writer of the fleet stopped before its work was done")]
    WriterStopped,
}
