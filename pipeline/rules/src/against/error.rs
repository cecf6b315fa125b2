//! Why a review cannot be compared with another.

use std::path::PathBuf;

use crate::store::StoreError;

/// What is wrong with the review before, and what to do.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum AgainstError {
    /// The folder holds no review.
    #[error(
        "no review in {}: expected share/run.json and share/tables, or run.json and tables of a share folder; \
         give the output folder of an earlier review", path.display()
    )]
    NoReview {
        /// The folder that was given.
        path: PathBuf,
    },
    /// `run.json` is not what a review writes.
    #[error(
        "{} cannot be compared with: {detail}; make that review again with this version of the program \
         (`glidetally report --as-of`) and give its folder", path.display()
    )]
    Run {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        detail: String,
    },
    /// A table lacks columns that this version reads.
    #[error(
        "{} has no column {}: it was written by version {version} of the program, this is {}; make that review \
         again with this version (`glidetally report --as-of {run}`) and give its folder",
        path.display(), missing.join(", "), env!("CARGO_PKG_VERSION")
    )]
    Columns {
        /// The file.
        path: PathBuf,
        /// The columns that it lacks.
        missing: Vec<String>,
        /// Version that wrote it.
        version: String,
        /// Run of the review.
        run: u64,
    },
    /// A table is missing or damaged.
    #[error("{}: {source}; give a folder with all tables of a review", path.display())]
    Table {
        /// The folder of the tables.
        path: PathBuf,
        /// What is wrong.
        source: StoreError,
    },
    /// No month to compare.
    #[error(
        "the review in {} has no month, so nothing of it can be compared: expected months in its trend_monthly; \
         the flight list gives them", path.display()
    )]
    NoMonth {
        /// The folder that was given.
        path: PathBuf,
    },
    /// The review is the later one.
    #[error(
        "the review in {} is of {then}, later than {now}, the month of this one: give an earlier review to \
         --against, or ask for {then} or later with --month", path.display()
    )]
    Newer {
        /// The folder that was given.
        path: PathBuf,
        /// Its latest month.
        then: String,
        /// The latest month of the review being written.
        now: String,
    },
    /// The two have nothing in common.
    #[error(
        "the review in {} is of another fleet: it has {what} in common with this one; give a review of the same \
         fleet to --against", path.display()
    )]
    AnotherFleet {
        /// The folder that was given.
        path: PathBuf,
        /// What they do not have in common.
        what: &'static str,
    },
}
