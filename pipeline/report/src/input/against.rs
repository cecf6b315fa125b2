//! What is new, gone or changed since a review that the reader has held in hands before.

use super::Level;
use serde::Serialize;

/// This review against an earlier one.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Against {
    /// Run of the earlier review.
    pub run: u64,
    /// Its month, `YYYY-MM`.
    pub month: Option<String>,
    /// What is new, gone or changed, in the order of the table.
    pub lines: Vec<AgainstLine>,
    /// Flags that both have alike.
    pub unchanged: u64,
    /// Thresholds that are others now.
    pub settings: Vec<SettingChange>,
}

/// One flag that only one review has, or that is another one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AgainstLine {
    /// How it differs.
    pub mark: AgainstMark,
    /// What is flagged.
    pub kind: AgainstKind,
    /// Title of the rule, name of the family, or the topic.
    pub title: String,
    /// Least level of the events counted; none where events of any level are.
    pub level: Option<Level>,
    /// Whose approaches, in words.
    pub group: String,
    /// The earlier review.
    pub before: AgainstSide,
    /// This review.
    pub now: AgainstSide,
    /// Why it differs; empty where it is not known.
    pub causes: Vec<AgainstCause>,
}

/// What one review says.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct AgainstSide {
    /// The flag as the tables have it; none = not flagged.
    pub flag: Option<String>,
    /// Why it is not flagged.
    pub why_not: Option<String>,
    /// Rate per 1,000 evaluable approaches; none where it is withheld or there is none.
    pub rate_per_1000: Option<f64>,
    /// Change of the rate, % a month; of a trend.
    pub slope_pct_per_month: Option<f64>,
}

/// How a flag differs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum AgainstMark {
    /// Flagged now, not then.
    New,
    /// Flagged then and now, otherwise.
    Changed,
    /// Flagged then, not now.
    Gone,
}

/// What is flagged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum AgainstKind {
    /// The latest month against those before it.
    Month,
    /// The months as a series.
    Slope,
    /// A place against all places.
    Place,
    /// A topic of training among the first.
    Topic,
    /// Before and after a change made on purpose.
    Intervention,
}

/// Why a flag differs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum AgainstCause {
    /// Figures of months that both reviews cover are others, or only one review could tell.
    Data,
    /// Rules or thresholds are others.
    Rules,
    /// Months that only this review covers.
    Flying,
    /// Another version of the program.
    Program,
}

/// A threshold that is another one now.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct SettingChange {
    /// Its name in `run.json`.
    pub name: String,
    /// Its value then, as given.
    pub before: String,
    /// Its value now, as given.
    pub now: String,
}
