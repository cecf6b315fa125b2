//! What runs of equal samples mean: events, their measures, gate verdicts, denominators.
//!
//! Plain Rust over the few runs of one approach at a time, always in order of `k`, whatever the
//! plan did before. Samples never appear here; neither do months, airports or rates.

mod change;
mod episode;
mod gate;
mod levels;
mod outcome;
mod scope;
mod stabilised;

use records::rows::ApproachRow;

pub(crate) use levels::{Levels, LevelsError, constant};
pub(crate) use outcome::{Approaches, OutcomeFound, outcomes};
pub use scope::is_out_of_scope;
pub(crate) use stabilised::Stabilised;

use crate::compile::{FRAME_SLOT, Places, segment_code};
use crate::rows::GateRow;
use crate::rule_file::{CheckedRule, Shape};
use crate::runs::RunView;

/// The runs of one approach, slot by slot, with what places them.
pub(crate) struct ApproachRuns<'a> {
    pub(crate) row: &'a ApproachRow,
    pub(crate) slots: Vec<Vec<RunView<'a>>>,
    /// Seconds from one sample to the next.
    pub(crate) step_s: f64,
}

/// Samples to time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Clock {
    /// Number and time of the first sample, where it is known.
    first: Option<(i32, f32)>,
    step_s: f64,
}

impl Clock {
    /// Time of sample `k`, seconds from the start of the record.
    pub(crate) fn time_s(&self, k: f64) -> Option<f64> {
        let (first_k, time) = self.first?;
        Some(f64::from(time) + (k - f64::from(first_k)) * self.step_s)
    }
}

impl ApproachRuns<'_> {
    /// When its samples were.
    pub(crate) fn clock(&self) -> Clock {
        let first = self.slots[FRAME_SLOT].first();
        Clock {
            first: first.and_then(|run| Some((run.k_first, run.first(0)?))),
            step_s: self.step_s,
        }
    }

    /// Time of sample `k`, seconds from the start of the record.
    pub(crate) fn time_s(&self, k: f64) -> Option<f64> {
        self.clock().time_s(k)
    }

    /// Number of samples the scan has seen.
    pub(crate) fn samples(&self) -> i64 {
        self.slots[FRAME_SLOT]
            .iter()
            .map(|run| i64::from(run.k_last - run.k_first) + 1)
            .sum()
    }

    /// One past the last sample of the rule's segment, and how many samples it has.
    pub(crate) fn segment(&self, rule: &CheckedRule) -> (i32, i32) {
        let code = segment_code(rule.segment);
        let runs = self.slots[FRAME_SLOT]
            .iter()
            .filter(|run| run.code == Some(code));
        runs.fold((0, 0), |(end, samples), run| {
            (
                end.max(run.k_last + 1),
                samples + run.k_last - run.k_first + 1,
            )
        })
    }
}

/// Whether the rule could have fired on the approach.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Evaluable {
    /// Everything needed was known.
    Yes,
    /// Something was missing; an event seen all the same is `partial`.
    No(String),
}

/// A candidate event: it becomes one when a level matches.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Found {
    /// First sample.
    pub(crate) start_k: f64,
    /// One past the last sample.
    pub(crate) end_k: f64,
    /// Values of the names usable in levels, in the order of `Levels::names`.
    pub(crate) values: Vec<Option<f64>>,
    /// The deciding measure.
    pub(crate) worst: Option<f64>,
    /// At which sample.
    pub(crate) worst_k: Option<f64>,
    /// Height and track distance there.
    pub(crate) place: [Option<f64>; 2],
    /// Rests on a lever position between two samples.
    pub(crate) edge: Option<bool>,
    /// Rests on partly known input.
    pub(crate) partial: bool,
}

/// What a rule makes of one approach, before levels.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Judged {
    pub(crate) evaluable: Evaluable,
    pub(crate) found: Vec<Found>,
    /// The extreme of the deciding measure over the window, event or not.
    pub(crate) worst: Option<f64>,
    pub(crate) worst_k: Option<f64>,
    pub(crate) gates: Vec<GateRow>,
    /// From where every criterion of a gate stayed true; none for other rules.
    pub(crate) stabilised: Option<Stabilised>,
}

/// What the rule needs besides the runs.
pub(crate) struct Setting<'a> {
    pub(crate) rule: &'a CheckedRule,
    pub(crate) places: &'a Places,
    /// Lower and upper bound of each criterion under the limits that apply here.
    pub(crate) bounds: &'a [(Option<f64>, Option<f64>)],
    /// Whether a criterion reads a state that holds between samples rather than a quantity.
    pub(crate) holds: &'a [bool],
}

/// Judges one rule that reads samples on one approach; `None` for a rule that does not.
pub(crate) fn judge(approach: &ApproachRuns<'_>, setting: &Setting<'_>) -> Option<Judged> {
    match (&setting.rule.shape, setting.places) {
        (
            Shape::Episode {
                hold_s, bridge_s, ..
            },
            Places::Episode { .. },
        ) => episode::judge(approach, setting, *hold_s, *bridge_s),
        (Shape::Gate { .. }, Places::Gate { .. }) => gate::judge(approach, setting),
        (
            Shape::Change {
                direction,
                before_s,
                of,
            },
            Places::Change {
                slot,
                measures,
                place,
            },
        ) => Some(change::judge(
            approach,
            setting.rule,
            (*slot, measures, *place),
            of,
            *direction,
            *before_s,
        )),
        _ => None,
    }
}

/// Why inputs are not known, in words that can be counted.
pub(crate) fn why_unknown<'n>(
    row: &ApproachRow,
    inputs: impl IntoIterator<Item = &'n String>,
) -> Option<String> {
    let missing: Vec<&str> = row
        .missing_columns
        .split(',')
        .filter(|name| !name.is_empty())
        .collect();
    let mut absent: Vec<&str> = inputs
        .into_iter()
        .map(String::as_str)
        .filter(|input| missing.contains(input))
        .collect();
    absent.sort_unstable();
    absent.dedup();
    if absent.is_empty() {
        return None;
    }
    let why = if row.aircraft_type.is_none() {
        " (no aircraft type)"
    } else {
        ""
    };
    Some(format!("no data: {}{why}", absent.join(", ")))
}
