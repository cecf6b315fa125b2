//! What a store would say under other rules. Nothing here is written to it.

mod judging;
mod packs;
mod stored;
mod sweep;

pub use packs::{ChangedVerdict, PackChange, RuleChange, compare_packs};
pub use sweep::{Sweep, SweepPoint, SweepTask, Way, sweep};

use crate::detect::DetectError;
use crate::judge::LevelsError;
use crate::store::StoreError;

/// Why a store could not be asked.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum WhatIfError {
    /// The pack has no such rule.
    #[error("there is no rule `{rule}` in the pack; `glidetally rules list` shows its rules")]
    NoRule {
        /// As asked for.
        rule: String,
    },
    /// The rule has no such limit.
    #[error("the rule `{rule}` has no limit `{limit}`{}", known(limits))]
    NoLimit {
        /// Rule id.
        rule: String,
        /// As asked for.
        limit: String,
        /// The limits it has.
        limits: Vec<String>,
    },
    /// The store holds no approaches.
    #[error("the store holds no approaches: run `glidetally review` or `glidetally load` first")]
    Empty,
    /// Judging failed.
    #[error(transparent)]
    Detect(#[from] DetectError),
    /// The store does not read.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A level failed.
    #[error(transparent)]
    Levels(#[from] LevelsError),
}

fn known(limits: &[String]) -> String {
    if limits.is_empty() {
        "; it has none: give its number a name under [limits] first".to_owned()
    } else {
        format!("; it has {}", limits.join(", "))
    }
}
