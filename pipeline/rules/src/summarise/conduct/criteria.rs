//! Which criterion of a gate fails, alone or with others, and which is left again below it.

use stats::{Counted, wilson};

use super::super::SummaryOptions;
use super::super::facts::{Gates, Met};
use super::super::frame::Frame;
use super::CriterionRow;
use super::parts::{Part, Periods, split};

/// How the line approaches met one criterion, by number.
#[derive(PartialEq)]
struct Criterion<'a> {
    name: &'a str,
    met: Vec<Met>,
}

/// The line approaches of one gate.
#[derive(PartialEq)]
struct Gate<'a> {
    gate_ft: Option<f64>,
    /// In the order of the rule file, with what is known.
    criteria: Vec<Criterion<'a>>,
}

pub(super) fn rows(
    frame: &Frame<'_>,
    gates: &Gates,
    options: &SummaryOptions,
) -> Vec<CriterionRow> {
    let periods = Periods::new(frame);
    let mut rows = Vec::new();
    let mut told: Vec<Gate<'_>> = Vec::new();
    for (rule, gate_ft, criteria) in gates.by_rule() {
        // A gate with one criterion is told by the rate of its rule.
        if criteria.len() < 2 {
            continue;
        }
        let of_line = criteria.iter().map(|one| Criterion {
            name: &one.name,
            met: frame.places.iter().map(|place| one.met[*place]).collect(),
        });
        let gate = Gate {
            gate_ft,
            criteria: of_line.collect(),
        };
        // Rules that ask other things of the same crossings have the same rows: the first by name tells them.
        if told.contains(&gate) {
            continue;
        }
        let failed = gate.failed(frame.rows.len());
        for criterion in &gate.criteria {
            let class = |approach: usize| {
                let is_known = criterion.met[approach] != Met::NotKnown;
                is_known.then(|| periods.of(frame, approach))
            };
            for part in split(frame, options, &class) {
                rows.push(gate.row(rule, criterion, &failed, &part, options));
            }
        }
        told.push(gate);
    }
    rows
}

impl Gate<'_> {
    /// How many criteria each approach failed.
    fn failed(&self, approaches: usize) -> Vec<usize> {
        let mut failed = vec![0; approaches];
        for criterion in &self.criteria {
            for (count, met) in failed.iter_mut().zip(&criterion.met) {
                *count += usize::from(*met == Met::Failed);
            }
        }
        failed
    }

    fn row(
        &self,
        rule: &str,
        criterion: &Criterion<'_>,
        failed_of: &[usize],
        part: &Part,
        options: &SummaryOptions,
    ) -> CriterionRow {
        let members = || part.members.iter();
        let failed = members().filter(|number| criterion.met[**number] == Met::Failed);
        let alone = failed.clone().filter(|number| failed_of[**number] == 1);
        let left = members().filter(|number| criterion.met[**number] == Met::LeftLater);
        let failed = failed.count();
        #[allow(clippy::cast_precision_loss)] // counts of approaches
        let counted = Counted::new(failed as f64, part.members.len() as f64);
        let share = wilson(counted, options.confidence, None).filter(|_| part.hidden.is_none());
        let shown = |count: usize| {
            let count = i64::try_from(count).unwrap_or(i64::MAX);
            part.hidden.is_none().then_some(count)
        };
        CriterionRow {
            rule: rule.to_owned(),
            gate_ft: self.gate_ft,
            criterion: criterion.name.to_owned(),
            group_kind: part.group.kind().to_owned(),
            group: part.group.name(),
            period: part.class.to_owned(),
            approaches: shown(part.members.len()),
            failed: shown(failed),
            failed_share: share.map(|share| share.share),
            ci_low: share.map(|share| share.low),
            ci_high: share.map(|share| share.high),
            failed_alone: shown(alone.count()),
            left_later: shown(left.count()),
            suppressed: part.hidden.map(str::to_owned),
        }
    }
}
