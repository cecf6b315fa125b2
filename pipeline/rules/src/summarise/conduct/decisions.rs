//! What followed a verdict at the governing gate: landing or go-around.
//!
//! A go-around is the right end of an unstable approach; how many unstable ones land says more of a fleet than
//! how many there are.

use stats::{Counted, wilson};

use super::super::SummaryOptions;
use super::super::facts::{Measured, Said};
use super::super::frame::Frame;
use super::DecisionRow;
use super::parts::{ALL, Part, split};

const STABLE: &str = "stable";
const UNSTABLE: &str = "unstable";
const NOT_KNOWN: &str = "not known";

pub(super) fn rows(
    frame: &Frame<'_>,
    measured: &Measured,
    rule: &str,
    options: &SummaryOptions,
) -> Vec<DecisionRow> {
    let rule = measured.rule(rule);
    let class = |approach: usize| {
        let cell = rule.and_then(|rule| rule.cells.get(frame.places[approach]));
        Some(match cell.map(|cell| cell.said) {
            Some(Said::Event) => UNSTABLE,
            Some(Said::Clear) => STABLE,
            _ => NOT_KNOWN,
        })
    };
    let parts = split(frame, options, &class).into_iter();
    parts
        .filter(|part| part.class != ALL)
        .map(|part| row(frame, &part, options))
        .collect()
}

fn row(frame: &Frame<'_>, part: &Part, options: &SummaryOptions) -> DecisionRow {
    let mut counts = [0_i64; 3];
    for number in &part.members {
        let place = match frame.rows[*number].outcome.as_str() {
            "landing" | "landing_unseen" => 0,
            "go_around" | "go_around_touched" => 1,
            _ => 2,
        };
        counts[place] += 1;
    }
    let [landed, went_around, neither] = counts;
    #[allow(clippy::cast_precision_loss)] // counts of approaches
    let counted = Counted::new(went_around as f64, (landed + went_around) as f64);
    let share = wilson(counted, options.confidence, None).filter(|_| part.hidden.is_none());
    let shown = |count: i64| part.hidden.is_none().then_some(count);
    DecisionRow {
        group_kind: part.group.kind().to_owned(),
        group: part.group.name(),
        at_gate: part.class.to_owned(),
        approaches: shown(landed + went_around + neither),
        landed: shown(landed),
        went_around: shown(went_around),
        neither: shown(neither),
        went_around_share: share.map(|share| share.share),
        ci_low: share.map(|share| share.low),
        ci_high: share.map(|share| share.high),
        suppressed: part.hidden.map(str::to_owned),
    }
}
