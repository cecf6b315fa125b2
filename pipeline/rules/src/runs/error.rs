//! What can go wrong while compressing or decoding.

use datafusion::common::DataFusionError;
use thiserror::Error;

/// A fault in what `runs` was given.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum RunsError {
    /// The sample number of a row is null.
    #[error(
        "runs: the sample number k is null in row {row} of a batch: every sample of a group needs \
         its number; a missing measurement is a numbered row of nulls"
    )]
    NullK {
        /// Row within the batch at hand, from 0.
        row: usize,
    },
    /// The same sample number came twice in one group.
    #[error(
        "runs: sample number k = {k} occurs twice in one group (in {first_from}..={first_to} and \
         again in {again_from}..={again_to}): the same samples were read twice, or two groups \
         share a key; check for a file listed twice"
    )]
    RepeatedK {
        /// The lowest repeated sample number.
        k: i32,
        /// First sample of the one stretch.
        first_from: i32,
        /// Last sample of the one stretch.
        first_to: i32,
        /// First sample of the other stretch.
        again_from: i32,
        /// Last sample of the other stretch.
        again_to: i32,
    },
    /// The arguments of a call don't have the expected shape.
    #[error("runs: {0}")]
    Argument(String),
    /// An array doesn't have the type that the layout promises.
    #[error("runs: expected {expected}, found {found}")]
    Array {
        /// What the layout promises.
        expected: String,
        /// What was there.
        found: String,
    },
    /// More runs than one Arrow list column can hold.
    #[error("runs: {0} runs do not fit one list column: use smaller batches of groups")]
    TooMany(usize),
}

impl From<RunsError> for DataFusionError {
    fn from(error: RunsError) -> Self {
        match error {
            RunsError::Argument(_) => DataFusionError::Plan(error.to_string()),
            other => DataFusionError::External(Box::new(other)),
        }
    }
}
