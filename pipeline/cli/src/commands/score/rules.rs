//! The tables with a row a rule or gate criterion.

use demo::Score;
use demo::score::{RuleScore, Share, Verdicts};

use super::{dash, figure, percent};
use crate::show::{Sections, Sheet};

/// On which approaches the rule could have fired.
pub(super) fn evaluability(score: &Score, sections: &mut Sections) {
    let mut sheet = Sheet::new(&[
        "rule",
        "approaches",
        "evaluable by truth",
        "by review",
        "agree %",
        "in band",
        "in band %",
    ]);
    for rule in &score.rules {
        let of = &rule.undamaged;
        let agrees = (of.approaches > 0)
            .then(|| of.evaluability_agrees as f64 / of.approaches as f64)
            .filter(|_| rule.in_review);
        sheet.row([
            rule.rule.clone(),
            of.approaches.to_string(),
            of.evaluable.to_string(),
            of.evaluable_in_review.to_string(),
            percent(agrees),
            of.in_band.to_string(),
            percent(of.in_band_share),
        ]);
    }
    let heading = "Could the rule be judged? In band: so close to the limit that the recorder may \
                   blur the verdict";
    sections.add(heading, sheet);
}

/// Events that happened against events that were found.
pub(super) fn events(score: &Score, sections: &mut Sections) {
    let mut sheet = Sheet::new(&[
        "rule",
        "happened",
        "found",
        "as edge only",
        "called clear",
        "not judged",
        "false",
        "recall % (95 % limits)",
        "precision % (95 % limits)",
    ]);
    for rule in &score.rules {
        let of = &rule.undamaged;
        let cells = counts(rule, of);
        sheet.row(
            cells
                .into_iter()
                .chain([limits(of.recall), limits(of.precision)]),
        );
    }
    let heading = "Events, in approaches outside the band; missed ones were called clear or not \
                   judged";
    sections.add(heading, sheet);
}

/// The same on flights whose records are damaged.
pub(super) fn on_damaged(score: &Score, sections: &mut Sections) {
    let mut sheet = Sheet::new(&[
        "rule",
        "happened",
        "found",
        "as edge only",
        "called clear",
        "not judged",
        "false",
    ]);
    for rule in &score.rules {
        if rule.damaged != Verdicts::default() {
            sheet.row(counts(rule, &rule.damaged));
        }
    }
    sections.add("Events on damaged flights, outside the band", sheet);
}

fn counts(rule: &RuleScore, of: &Verdicts) -> Vec<String> {
    let numbers = [
        of.events,
        of.found,
        of.found_as_edge_only,
        of.missed_as_clear,
        of.missed_unjudged,
        of.false_events,
    ];
    let numbers = numbers.iter().map(u64::to_string);
    std::iter::once(rule.rule.clone()).chain(numbers).collect()
}

fn limits(share: Option<Share>) -> String {
    share.map_or_else(dash, |of| {
        format!(
            "{:.1} ({:.1}–{:.1})",
            100.0 * of.share,
            100.0 * of.low,
            100.0 * of.high
        )
    })
}

/// Measured values against true ones.
pub(super) fn values(score: &Score, sections: &mut Sections) {
    let mut sheet = Sheet::new(&[
        "rule",
        "unit",
        "compared",
        "median error",
        "95 % within",
        "largest",
        "within band %",
    ]);
    for rule in &score.rules {
        let Some(values) = &rule.values else {
            continue;
        };
        sheet.row([
            rule.rule.clone(),
            values.unit.clone().unwrap_or_default(),
            values.spread.compared.to_string(),
            figure(values.spread.median),
            figure(values.spread.p95),
            figure(values.spread.max),
            percent(values.within_band),
        ]);
    }
    sections.add("Measured values: how far from the true ones", sheet);
}
