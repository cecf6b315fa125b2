//! A rule in which every name, type and unit is known: what compiling and judging start from.

use std::collections::{BTreeMap, BTreeSet};

use crate::expression::Expression;

/// One checked rule.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckedRule {
    /// The file's name without its ending.
    pub id: String,
    /// Raised when the meaning changes: starts a new series.
    pub version: u32,
    /// One line for people.
    pub title: String,
    /// One of [`FAMILIES`].
    pub family: String,
    /// Why the rule exists.
    pub why: String,
    /// Where its thresholds come from.
    pub source: String,
    /// Training topics it speaks to.
    pub topics: Vec<String>,
    /// Whether its signals are flagged.
    pub status: Status,
    /// Part of the approach it reads.
    pub segment: Segment,
    /// Id of the rule whose approaches with events are the denominator; all evaluable ones if none.
    pub among: Option<String>,
    /// Least share of the window with known inputs, 0…1.
    pub coverage: f64,
    /// What it looks for.
    pub shape: Shape,
    /// Values kept of an episode or change, in file order.
    pub measures: Vec<Measure>,
    /// Worst first, the first match wins; one `medium` that always holds where the file names
    /// none. Empty for an outcome, which carries its level.
    pub levels: Vec<Level>,
    /// The numbers behind `limits.NAME`, before overrides.
    pub limits: BTreeMap<String, f64>,
    /// Other numbers for some types and places.
    pub overrides: Vec<Override>,
    /// BLAKE3 of everything that can change a result; spaces, comments and words for people do not.
    pub text_hash: String,
    /// The file, as it was named to the reader.
    pub path: String,
}

/// The families a rule may belong to.
pub const FAMILIES: [&str; 8] = [
    "high-energy",
    "flap-limit",
    "unstable-gate",
    "drag-management",
    "landing",
    "go-around",
    "warnings",
    "data",
];

/// How far a rule is trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Status {
    /// Flagged in trends and hot spots.
    Core,
    /// Measured and shown, never flagged.
    Trial,
}

/// Part of an approach.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Segment {
    /// From its start to touchdown or go-around initiation.
    Approach,
    /// Landing roll.
    Roll,
    /// After go-around initiation.
    Missed,
}

/// What a rule looks for.
// Few rules, each kept once: not worth a box in every match.
#[allow(clippy::large_enum_variant)]
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// For how long, how badly did a condition hold?
    Episode {
        /// The window, and the denominator.
        within: Expression,
        /// The condition.
        when: Expression,
        /// Ends an episode; where `when` is false, if none is given.
        release: Option<Expression>,
        /// Shorter runs are no episodes, seconds.
        hold_s: f64,
        /// Breaks up to this long do not split, seconds.
        bridge_s: f64,
    },
    /// What were the values at a downward crossing, and did they stay inside?
    Gate {
        /// What crosses.
        column: String,
        /// Where.
        level: f64,
        /// Held from the gate to here; no question of holding if none.
        to: Option<f64>,
        /// What makes an event.
        asks: Asks,
        /// At least one.
        criteria: Vec<Criterion>,
    },
    /// What was true at the moment a state changed?
    Change {
        /// Column of the state.
        of: String,
        /// Which changes count.
        direction: Direction,
        /// Longest unknown stretch between the two states, seconds.
        before_s: f64,
    },
    /// What does the approach as a whole say?
    Outcome {
        /// Over columns of the approach row and ids of other rules.
        when: Expression,
        /// A number of the approach that stands for how bad it was; levels read it as `worst`.
        value: Option<Expression>,
        /// Level of every event where the rule has no levels.
        level: LevelName,
    },
}

/// What makes an event of a gate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asks {
    /// A value outside its bounds at the gate.
    At,
    /// A value that did not stay inside from the gate to the gate's `to`.
    Held,
}

/// Which changes of a state count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// To a higher number.
    Up,
    /// To a lower number.
    Down,
    /// Both.
    Any,
}

/// One demand at a gate.
#[derive(Debug, Clone, PartialEq)]
pub struct Criterion {
    /// Unique in the rule.
    pub name: String,
    /// What is looked at.
    pub value: Expression,
    /// Least allowed value, over limits and numbers.
    pub lower: Option<Expression>,
    /// Greatest allowed value, over limits and numbers.
    pub upper: Option<Expression>,
    /// Excursions after the gate up to this long are forgiven, seconds.
    pub grace_s: f64,
    /// Where it applies; everywhere if none.
    pub applies: Option<Expression>,
}

/// Which sample of a run a measure reads.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MeasureKind {
    /// The greatest value.
    Max,
    /// The least value.
    Min,
    /// The value at the first sample.
    First,
    /// The value at the last sample.
    Last,
    /// The value where `worst` was reached.
    AtWorst,
}

/// A value kept of an event.
#[derive(Debug, Clone, PartialEq)]
pub struct Measure {
    /// Unique in the rule; `worst` is the one trends and levels speak of.
    pub name: String,
    /// Which sample.
    pub kind: MeasureKind,
    /// Of what; its unit is the measure's.
    pub expression: Expression,
}

/// Severity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LevelName {
    /// Least.
    Low,
    /// Between.
    Medium,
    /// Worst.
    High,
}

/// One severity and its condition.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// Which.
    pub name: LevelName,
    /// Over measures and `duration_s` (episode, change), or criteria, `failed`, `held` and `not_held`
    /// (gate), or `worst` (outcome).
    pub when: Expression,
}

/// Other limits for some approaches; a key that is `None` matches every approach.
#[derive(Debug, Clone, PartialEq)]
pub struct Override {
    /// Key of a type file.
    pub aircraft_type: Option<String>,
    /// Airport code.
    pub airport: Option<String>,
    /// Runway end; only with an airport.
    pub runway: Option<String>,
    /// The numbers it changes.
    pub limits: BTreeMap<String, f64>,
    /// Why.
    pub why: String,
}

impl LevelName {
    /// As written in rules and tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::Low => "low",
            Self::Medium => "medium",
            Self::High => "high",
        }
    }
}

impl Segment {
    /// As written in rules and in the `segment` column.
    pub fn name(self) -> &'static str {
        match self {
            Self::Approach => "approach",
            Self::Roll => "roll",
            Self::Missed => "missed",
        }
    }
}

impl MeasureKind {
    /// As written in rules.
    pub fn name(self) -> &'static str {
        match self {
            Self::Max => "max",
            Self::Min => "min",
            Self::First => "first",
            Self::Last => "last",
            Self::AtWorst => "at_worst",
        }
    }
}

impl CheckedRule {
    /// Whether it is of the pack that comes with the program.
    pub fn is_builtin(&self) -> bool {
        let folder = self.path.split('/').next();
        folder == Some(super::BUILTIN_NAME)
    }

    /// The measure trends speak of.
    pub fn worst(&self) -> Option<&Measure> {
        self.measures.iter().find(|measure| measure.name == "worst")
    }

    /// Every name it reads that may be another rule's id: the inputs of an outcome, and `among`.
    pub fn may_read(&self) -> BTreeSet<String> {
        let mut names = match self.shape {
            Shape::Outcome { .. } => self.inputs(),
            _ => BTreeSet::new(),
        };
        names.extend(self.among.clone());
        names
    }

    /// Every column its expressions read: sample columns, or for an outcome columns of the approach
    /// row and ids of other rules.
    pub fn inputs(&self) -> BTreeSet<String> {
        self.collect(true)
    }

    /// The columns without which the rule cannot be judged: those of the window, the condition,
    /// the gate, the state and `worst`, but not of the other measures.
    pub fn required_inputs(&self) -> BTreeSet<String> {
        self.collect(false)
    }

    fn collect(&self, all: bool) -> BTreeSet<String> {
        let mut names = BTreeSet::new();
        let mut add = |expression: &Expression| {
            names.extend(
                if all {
                    &expression.inputs
                } else {
                    &expression.required
                }
                .iter()
                .cloned(),
            );
        };
        match &self.shape {
            Shape::Episode {
                within,
                when,
                release,
                ..
            } => {
                [Some(within), Some(when), release.as_ref()]
                    .into_iter()
                    .flatten()
                    .for_each(&mut add);
            }
            Shape::Gate { criteria, .. } => {
                for criterion in criteria {
                    add(&criterion.value);
                    criterion.applies.iter().for_each(&mut add);
                }
            }
            Shape::Change { .. } => {}
            Shape::Outcome { when, value, .. } => {
                add(when);
                value.iter().for_each(&mut add);
            }
        }
        for measure in self
            .measures
            .iter()
            .filter(|measure| all || measure.name == "worst")
        {
            add(&measure.expression);
        }
        match &self.shape {
            Shape::Gate { column, .. } | Shape::Change { of: column, .. } => {
                names.insert(column.clone());
            }
            Shape::Episode { .. } | Shape::Outcome { .. } => {}
        }
        names
    }
}
