//! One line a rule: its month against the months before.

use super::rows::RuleHeadline;
use super::{ANY_LEVEL, FLEET, NO_MONTH, digits};
use crate::summarise::{RuleNote, Summary, TrendRow};

/// The month of a rule, whole fleet, events of any level.
pub(super) fn of_month<'a>(
    summary: &'a Summary,
    rule: &str,
    month: Option<&str>,
) -> Option<&'a TrendRow> {
    let month = month?;
    summary.trend_monthly.iter().find(|row| {
        row.rule.as_deref() == Some(rule)
            && row.month == month
            && row.group_kind == FLEET
            && row.at_least_level == ANY_LEVEL
    })
}

/// Why a rule has no row in the month.
pub(super) fn no_row(month: Option<&str>) -> &'static str {
    if month.is_some() {
        "no approach in the month"
    } else {
        NO_MONTH
    }
}

pub(super) fn line(
    summary: &Summary,
    rule: &str,
    note: &RuleNote,
    month: Option<&str>,
) -> RuleHeadline {
    let named = RuleHeadline {
        rule: rule.to_owned(),
        title: note.title.clone(),
        family: note.family.clone(),
        ..RuleHeadline::default()
    };
    let Some(row) = of_month(summary, rule, month) else {
        let why = || Some(no_row(month).to_owned());
        return RuleHeadline {
            why_no_rate: why(),
            why_no_baseline: why(),
            why_no_ratio: why(),
            why_no_signal: why(),
            why_no_detectable_rise: why(),
            why_no_coverage: why(),
            ..named
        };
    };
    let (coverage_share, why_no_coverage) = coverage(summary, rule, row);
    let why_no_baseline = without(row.baseline_rate, || row.why_no_signal.as_deref());
    let no_event = || {
        why_no_baseline
            .as_deref()
            .or(Some("no event in the baseline"))
    };
    RuleHeadline {
        evaluable: row.evaluable,
        approaches_with_event: row.approaches_with_event,
        rate_per_1000: digits(row.rate_per_1000),
        ci_low: digits(row.ci_low),
        ci_high: digits(row.ci_high),
        why_no_rate: without(row.rate_per_1000, || {
            row.suppressed.as_deref().or(Some("nothing evaluable"))
        }),
        baseline_rate: digits(row.baseline_rate),
        ratio: digits(row.ratio),
        ratio_low: digits(row.ratio_low),
        ratio_high: digits(row.ratio_high),
        why_no_ratio: without(row.ratio, no_event),
        q: digits(row.q),
        signal: row.signal.clone(),
        why_no_signal: row.why_no_signal.clone(),
        detectable_rise_pct: digits(row.detectable_rise_pct),
        why_no_detectable_rise: without(row.detectable_rise_pct, no_event),
        why_no_baseline: why_no_baseline.clone(),
        coverage_share,
        why_no_coverage,
        ..named
    }
}

/// The reason where there is no figure.
fn without<'a>(value: Option<f64>, why: impl Fn() -> Option<&'a str>) -> Option<String> {
    match value {
        Some(_) => None,
        None => Some(why().unwrap_or("not computed").to_owned()),
    }
}

fn coverage(summary: &Summary, rule: &str, of: &TrendRow) -> (Option<f64>, Option<String>) {
    let mut rows = summary.coverage.iter();
    let row = rows.find(|row| row.rule == rule && row.month == of.month && row.group_kind == FLEET);
    let share = row.and_then(|row| row.share_of_scope);
    let why = without(share, || row.and_then(|row| row.suppressed.as_deref()));
    (digits(share), why)
}
