//! Which criterion of a gate fails, alone or with others, and which is left again below it.

use std::collections::{BTreeMap, BTreeSet};

use stats::{Counted, wilson};

use super::super::SummaryOptions;
use super::super::frame::Frame;
use super::CriterionRow;
use super::parts::{Part, Periods, split};
use crate::rows::GateRow;

/// How one approach met one criterion.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Met {
    passed: bool,
    /// Left again before 50 ft.
    left_later: bool,
}

/// The approaches of one gate, by number.
#[derive(Default, PartialEq)]
struct Gate<'a> {
    gate_ft: Option<f64>,
    /// In the order of the rule file, with what is known.
    criteria: Vec<(&'a str, BTreeMap<usize, Met>)>,
    /// How many criteria failed.
    failed: BTreeMap<usize, usize>,
}

pub(super) fn rows(
    frame: &Frame<'_>,
    gates: &[GateRow],
    options: &SummaryOptions,
) -> Vec<CriterionRow> {
    let keys: BTreeMap<(&str, i32), usize> = frame
        .rows
        .iter()
        .zip(0..)
        .map(|(row, number)| ((row.flight_id.as_str(), row.approach_no), number))
        .collect();
    let mut by_rule: BTreeMap<&str, Gate<'_>> = BTreeMap::new();
    for row in gates {
        if let Some(number) = keys.get(&(row.flight_id.as_str(), row.approach_no)) {
            by_rule.entry(&row.rule).or_default().add(*number, row);
        }
    }
    let periods = Periods::new(frame);
    let mut rows = Vec::new();
    let mut told: Vec<&Gate<'_>> = Vec::new();
    // A gate with one criterion is told by the rate of its rule.
    for (rule, gate) in by_rule.iter().filter(|(_, gate)| gate.criteria.len() > 1) {
        // Rules that ask other things of the same crossings have the same rows: the first by name tells them.
        if told.contains(&gate) {
            continue;
        }
        told.push(gate);
        for (criterion, met) in &gate.criteria {
            let class = |approach: usize| {
                met.contains_key(&approach)
                    .then(|| periods.of(frame, approach))
            };
            for part in split(frame, options, &class) {
                rows.push(gate.row(rule, criterion, met, &part, options));
            }
        }
    }
    rows
}

impl<'a> Gate<'a> {
    fn add(&mut self, approach: usize, row: &'a GateRow) {
        self.gate_ft = self.gate_ft.or(row.gate_ft);
        let place = self
            .criteria
            .iter()
            .position(|(name, _)| *name == row.criterion)
            .unwrap_or_else(|| {
                self.criteria.push((&row.criterion, BTreeMap::new()));
                self.criteria.len() - 1
            });
        if row.applies != Some(true) {
            return;
        }
        let Some(passed) = row.passed else {
            return;
        };
        *self.failed.entry(approach).or_default() += usize::from(!passed);
        let left_later = passed && row.held_to_50ft == Some(false);
        let met = Met { passed, left_later };
        self.criteria[place].1.insert(approach, met);
    }

    fn row(
        &self,
        rule: &str,
        criterion: &str,
        met: &BTreeMap<usize, Met>,
        part: &Part,
        options: &SummaryOptions,
    ) -> CriterionRow {
        let failed: BTreeSet<usize> = part
            .members
            .iter()
            .copied()
            .filter(|number| !met[number].passed)
            .collect();
        let alone = failed.iter().filter(|number| self.failed[number] == 1);
        let left = part.members.iter().filter(|number| met[number].left_later);
        #[allow(clippy::cast_precision_loss)] // counts of approaches
        let counted = Counted::new(failed.len() as f64, part.members.len() as f64);
        let share = wilson(counted, options.confidence, None).filter(|_| part.hidden.is_none());
        let shown = |count: usize| {
            let count = i64::try_from(count).unwrap_or(i64::MAX);
            part.hidden.is_none().then_some(count)
        };
        CriterionRow {
            rule: rule.to_owned(),
            gate_ft: self.gate_ft,
            criterion: criterion.to_owned(),
            group_kind: part.group.kind().to_owned(),
            group: part.group.name(),
            period: part.class.to_owned(),
            approaches: shown(part.members.len()),
            failed: shown(failed.len()),
            failed_share: share.map(|share| share.share),
            ci_low: share.map(|share| share.low),
            ci_high: share.map(|share| share.high),
            failed_alone: shown(alone.count()),
            left_later: shown(left.count()),
            suppressed: part.hidden.map(str::to_owned),
        }
    }
}
