//! What to train, what to look at again, and what changed since.

use super::{RateCell, Signal, Suppression};
use serde::Serialize;

/// One topic of training, for the whole fleet.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct TopicLine {
    /// The topic, in words.
    pub topic: String,
    /// Its place, by the low end of its shrunk rate; none where it has no place.
    pub rank: Option<u32>,
    /// Approaches with an event of any rule that is evidence for it, over the months counted.
    pub cell: RateCell,
    /// The latest month against those before it.
    pub change: Signal,
    /// Airports that stand out for it.
    pub airports: Vec<String>,
    /// Codes of the competencies it asks for.
    pub competencies: Vec<String>,
    /// All of it as an instructor may read it out; none where nothing is shown.
    pub sentence: Option<String>,
}

/// What people have made of events, and what they have yet to look at.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct SecondLook {
    /// Approaches and rules on the list.
    pub listed: u64,
    /// Of those: with a verdict.
    pub looked_at: u64,
}

/// Of the events of a rule that people have looked at, how many stand.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Precision {
    /// Approaches with a verdict.
    pub looked_at: Option<u64>,
    /// Those of which the event stands.
    pub stands: Option<u64>,
    /// Lower end of the 95 % interval of their share, 0 to 1.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
    /// Why nothing is shown.
    pub suppressed: Option<Suppression>,
}

/// Flights flown against flights that came in, one month of the whole fleet.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct RecoveryLine {
    /// `YYYY-MM`.
    pub month: String,
    /// Flights flown, of the aircraft and months of which it is known.
    pub flown: Option<u64>,
    /// Of these: flights of which a record came in.
    pub received: Option<u64>,
    /// Of these: flights whose record could be used.
    pub usable: Option<u64>,
    /// Received ÷ flown, 0 to 1.
    pub share: Option<f64>,
    /// Usable ÷ flown, 0 to 1.
    pub usable_share: Option<f64>,
    /// What does not add up, in words.
    pub note: Option<String>,
    /// Why nothing is shown.
    pub suppressed: Option<Suppression>,
}

/// One side of a comparison before and after a change.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct ChangeLine {
    /// What was changed and for whom, in words.
    pub change: String,
    /// First month it applied, `YYYY-MM`.
    pub month: String,
    /// Title of the rule, or name of the family.
    pub title: String,
    /// Whether it was named beforehand as what the change is meant to move.
    pub planned: bool,
    /// Approaches with an event before, of how many evaluable.
    pub counts_before: Option<(u64, u64)>,
    /// The same since.
    pub counts_after: Option<(u64, u64)>,
    /// Rate before, per 1,000.
    pub before: Option<f64>,
    /// Rate since, per 1,000.
    pub after: Option<f64>,
    /// Since ÷ before.
    pub ratio: Option<f64>,
    /// Lower end of its 95 % interval.
    pub ratio_low: Option<f64>,
    /// Upper end of it.
    pub ratio_high: Option<f64>,
    /// What the comparison says.
    pub signal: Signal,
    /// Why there is no signal or no comparison, in words.
    pub why: Option<String>,
    /// Rise that could have been shown with 80 % power, %.
    pub detectable_rise_pct: Option<f64>,
    /// Why nothing is shown.
    pub suppressed: Option<Suppression>,
}

/// A figure of the review before that is another one now.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct RestatedLine {
    /// `YYYY-MM`.
    pub month: String,
    /// Title of the rule.
    pub title: String,
    /// Evaluable approaches in the review before, and now.
    pub evaluable: Option<(u64, u64)>,
    /// Approaches with an event in the review before, and now.
    pub with_event: Option<(u64, u64)>,
    /// Rates per 1,000 in the review before, and now; none where nothing was or is evaluable.
    pub rate: (Option<f64>, Option<f64>),
    /// Why it changed, in words.
    pub cause: String,
    /// Why nothing is shown.
    pub suppressed: Option<Suppression>,
}

/// What changed of what the review before said.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub enum Restated {
    /// There is no review of an earlier month.
    #[default]
    NothingBefore,
    /// There was one, and it can no longer be read.
    Unreadable,
    /// Month by month and rule by rule; empty where nothing changed.
    Since {
        /// Number of the run of that review.
        run: u64,
        /// Its latest month, `YYYY-MM`.
        month: Option<String>,
        /// What is another figure now.
        lines: Vec<RestatedLine>,
    },
}
