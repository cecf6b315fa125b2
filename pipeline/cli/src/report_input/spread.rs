//! The spread of a rule's deciding measure in the report.

use report::input::{EventSide, PeriodQuantiles, RuleDistribution};
use rules::expression::{Comparison, NodeKind};
use rules::rule_file::{CheckedRule, MeasureKind, Shape};
use rules::summarise::SpreadRow;

use super::rule::suppression;
use super::{Subject, count};

/// The spread of a rule's deciding measure; none for rules that only say yes or no.
pub(super) fn distribution(subject: &Subject<'_>, rule: &CheckedRule) -> Option<RuleDistribution> {
    let (measure, unit, event_side) = match &rule.shape {
        Shape::Gate { criteria, .. } => match criteria.as_slice() {
            [only] => {
                let side = match only.upper {
                    Some(_) => EventSide::Above,
                    None => EventSide::Below,
                };
                (only.value.sql.clone(), only.value.unit.name(), side)
            }
            _ => return None,
        },
        Shape::Outcome { value, .. } => {
            let value = value.as_ref()?;
            (value.sql.clone(), value.unit.name(), side_of_levels(rule))
        }
        _ => {
            let worst = rule.worst()?;
            let side = match worst.kind {
                MeasureKind::Min => EventSide::Below,
                _ => EventSide::Above,
            };
            (
                worst.expression.sql.clone(),
                worst.expression.unit.name(),
                side,
            )
        }
    };
    let limits: Vec<f64> = rule.limits.values().copied().collect();
    let periods: Vec<PeriodQuantiles> = [LATEST, BEFORE]
        .into_iter()
        .flat_map(|period| {
            let own = subject.conduct.spreads.iter();
            own.filter(move |row| row.period == period && row.rule.as_deref() == Some(&rule.id))
        })
        .map(|row| quantiles(subject, period_name(subject, &row.period), row))
        .collect();
    (!periods.is_empty()).then(|| RuleDistribution {
        rule_id: rule.id.clone(),
        title: rule.title.clone(),
        measure,
        unit: unit.unwrap_or_default(),
        // One limit is where events begin; several belong to several levels.
        limit: match limits.as_slice() {
            [only] => Some(*only),
            _ => None,
        },
        event_side,
        periods,
    })
}

/// Period of all months in the tables.
pub(super) const ALL: &str = "all";
/// Period of the latest month.
pub(super) const LATEST: &str = "latest";
/// Period of the months before it.
pub(super) const BEFORE: &str = "before";

/// A period in words.
pub(super) fn period_name(subject: &Subject<'_>, period: &str) -> String {
    let latest = subject.review_month().unwrap_or("the latest month");
    match period {
        LATEST => latest.to_owned(),
        BEFORE => format!("before {latest}"),
        _ => "all months".to_owned(),
    }
}

/// The quantiles of a row under a label.
pub(super) fn quantiles(subject: &Subject<'_>, label: String, row: &SpreadRow) -> PeriodQuantiles {
    PeriodQuantiles {
        label,
        approaches: count(row.approaches),
        p5: row.p5,
        p25: row.p25,
        p50: row.median,
        p75: row.p75,
        p95: row.p95,
        suppressed: row
            .suppressed
            .as_deref()
            .map(|why| suppression(subject, why)),
    }
}

/// The side on which the levels of a rule lie; above where they do not say.
fn side_of_levels(rule: &CheckedRule) -> EventSide {
    let below = rule.levels.iter().any(|level| {
        matches!(
            level.when.tree.kind,
            NodeKind::Compare(Comparison::Less | Comparison::LessOrEqual, ..)
        )
    });
    if below {
        EventSide::Below
    } else {
        EventSide::Above
    }
}
