//! Why a review could not be scored: which file, what was expected, what to do.

use std::path::PathBuf;

/// Why a review could not be scored.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ScoreError {
    /// The fleet does not say what really happened in it.
    #[error("`{}` is missing: only fleets written by `glidetally demo write` can be scored", path.display())]
    NoTruth {
        /// The file that should be there.
        path: PathBuf,
    },
    /// The output is not that of a finished review.
    #[error("`{}` is missing: name the folder that a finished `glidetally review FLEET --out OUT` wrote", path.display())]
    NoReview {
        /// The file that should be there.
        path: PathBuf,
    },
    /// A file could not be read.
    #[error("cannot read `{}`", path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A file is no Parquet file, or a damaged one.
    #[error("cannot read `{}` as a parquet file; write it again", path.display())]
    Parquet {
        /// Which.
        path: PathBuf,
        /// Why.
        source: parquet::errors::ParquetError,
    },
    /// A page of a Parquet file could not be decoded.
    #[error("cannot decode `{}`; write it again", path.display())]
    Batch {
        /// Which.
        path: PathBuf,
        /// Why.
        source: arrow::error::ArrowError,
    },
    /// A table lacks a column.
    #[error("`{}` has no column `{column}`, only {there}; write it again with this version of the program", path.display())]
    Column {
        /// The table.
        path: PathBuf,
        /// The column that is missing.
        column: String,
        /// The columns that are there.
        there: String,
    },
    /// A column holds something else than it should.
    #[error("a column of `{}` holds other values than it should; write it again with this version of the program", path.display())]
    Rows {
        /// The table.
        path: PathBuf,
        /// Which column, and what was expected.
        source: serde_arrow::Error,
    },
    /// A JSON file does not say what it should.
    #[error("cannot read `{}` as the JSON it should be", path.display())]
    Json {
        /// Which.
        path: PathBuf,
        /// Why.
        source: serde_json::Error,
    },
    /// A column holds a word that is not one of its own.
    #[error("`{}`: column `{column}` says `{word}`, expected {expected}", path.display())]
    Word {
        /// The table.
        path: PathBuf,
        /// The column.
        column: &'static str,
        /// What it says.
        word: String,
        /// What it may say.
        expected: &'static str,
    },
    /// A table says two things about one.
    #[error("`{}` has two rows for {of}: one was expected", path.display())]
    Twice {
        /// The table.
        path: PathBuf,
        /// What they are about.
        of: String,
    },
    /// A table speaks of an approach that the approaches table does not have.
    #[error("`{}` speaks of {of}, which `{}` does not have", path.display(), other.display())]
    Stray {
        /// The table.
        path: PathBuf,
        /// What it is about.
        of: String,
        /// The table that should know it.
        other: PathBuf,
    },
    /// Fleet and review have no flight in common.
    #[error("no flight of `{}` is in `{}`: the review is of another fleet, or replaced its ids (`privacy.rekey`)", review.display(), truth.display())]
    Unrelated {
        /// Approaches of the review.
        review: PathBuf,
        /// Approaches of the truth.
        truth: PathBuf,
    },
}
