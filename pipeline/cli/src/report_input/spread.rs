//! The spread of a rule's deciding measure in the report.

use report::input::{EventSide, PeriodQuantiles, RuleDistribution, Suppression};
use rules::expression::{Comparison, NodeKind};
use rules::rule_file::{CheckedRule, MeasureKind, Shape};

use super::Subject;

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
    let periods: Vec<PeriodQuantiles> = subject
        .summary
        .spreads
        .iter()
        .filter(|spread| spread.rule == rule.id)
        .map(|spread| {
            let at = |index: usize| spread.quantiles.map(|quantiles| quantiles[index]);
            PeriodQuantiles {
                label: spread.period.clone(),
                approaches: spread.approaches,
                p5: at(0),
                p25: at(1),
                p50: at(2),
                p75: at(3),
                p95: at(4),
                suppressed: spread
                    .quantiles
                    .is_none()
                    .then_some(Suppression::FewFlights {
                        minimum: subject.options.min_flights as u64,
                    }),
            }
        })
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
