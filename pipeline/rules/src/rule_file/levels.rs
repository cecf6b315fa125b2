//! Levels: worst first, each reachable.

use std::collections::BTreeMap;

use super::check::Checker;
use super::checked::{Level, LevelName, Measure, Shape};
use super::raw::{RawRule, RawShape};
use super::reader::Text;
use crate::expression::{Arithmetic, Comparison, Expression, Kind, Node, NodeKind, Scope, Unit};

/// As written in rules.
pub(super) const LEVEL_NAMES: [(&str, LevelName); 3] = [
    ("high", LevelName::High),
    ("medium", LevelName::Medium),
    ("low", LevelName::Low),
];

/// Reads the levels; one `medium` that always holds where a file names none.
pub(super) fn levels(
    checker: &mut Checker<'_>,
    raw: &RawRule,
    measures: &[Measure],
    shape: Option<&Shape>,
    samples: &Scope,
) -> Vec<Level> {
    let outcome = matches!(raw.shape, Some(RawShape::Outcome { .. }));
    if raw.shape.is_none() || (outcome && raw.levels.is_empty()) {
        return Vec::new();
    }
    let scope = level_scope(raw, measures, shape, samples);
    if raw.levels.is_empty() {
        let always = Expression::read("true", Kind::Condition, &scope);
        let level = always.map(|when| Level {
            name: LevelName::Medium,
            when,
        });
        return level.into_iter().collect();
    }
    let mut found: Vec<(Level, Text)> = Vec::new();
    for one in &raw.levels {
        let name = one
            .name
            .as_ref()
            .and_then(|name| checker.choice("level", Some(name), LevelName::Medium, &LEVEL_NAMES));
        let when = one
            .when
            .as_ref()
            .and_then(|when| checker.expression(when, Kind::Condition, &scope));
        let (Some(name), Some(when), Some(text)) = (name, when, &one.name) else {
            continue;
        };
        if let Some((earlier, _)) = found.iter().find(|(earlier, _)| earlier.name <= name) {
            let same = earlier.name == name;
            let message = if same {
                format!("level `{}` a second time", name.name())
            } else {
                format!("level `{}` after `{}`", name.name(), earlier.name.name())
            };
            let help = if same {
                "join the two with `or`"
            } else {
                "levels come worst first: high, medium, low"
            };
            checker.reader.note(text.span.clone(), message, "here").help = Some(help.to_owned());
        }
        unreachable(checker, raw, &found, &when);
        found.push((Level { name, when }, text.clone()));
    }
    found.into_iter().map(|(level, _)| level).collect()
}

/// Measures and `duration_s`, or criteria, `failed` and `held`.
fn level_scope(
    raw: &RawRule,
    measures: &[Measure],
    shape: Option<&Shape>,
    samples: &Scope,
) -> Scope {
    let gate = matches!(raw.shape, Some(RawShape::Gate { .. }));
    let outcome = matches!(raw.shape, Some(RawShape::Outcome { .. }));
    let mut scope = Scope {
        noun: if gate {
            "criterion"
        } else if outcome {
            "number"
        } else {
            "measure"
        },
        ..Scope::default()
    };
    scope.limits = samples.limits.clone();
    for name in samples.names.keys() {
        let help = if outcome {
            "levels of an outcome read its `value`, by the name `worst`".to_owned()
        } else if gate {
            format!("levels read criteria: add a [[criterion]] with `value = '{name}'` and name it")
        } else {
            format!("levels read measures: add one under [measures], as in `worst = 'max({name})'`")
        };
        scope.elsewhere.insert(name.clone(), help);
    }
    if outcome {
        let value = match shape {
            Some(Shape::Outcome {
                value: Some(value), ..
            }) => value.unit.clone(),
            _ => Unit::unknown(),
        };
        scope.number("worst", value);
    } else if gate {
        scope.number("failed", Unit::unknown());
        scope.number("not_held", Unit::unknown());
        scope.condition("held");
        // Names of faulty criteria too, so that one fault is not reported twice.
        for name in raw
            .criteria
            .iter()
            .filter_map(|criterion| criterion.name.as_ref())
        {
            scope.number(&name.value, Unit::unknown());
        }
        if let Some(Shape::Gate { criteria, .. }) = shape {
            for criterion in criteria {
                scope.number(&criterion.name, criterion.value.unit.clone());
            }
        }
    } else {
        scope.number("duration_s", Unit::parse("s"));
        for (name, _) in &raw.measures {
            scope.number(&name.value, Unit::unknown());
        }
        for measure in measures {
            scope.number(&measure.name, measure.expression.unit.clone());
        }
    }
    scope
}

/// Notes a level that an earlier one always takes first, where plain thresholds show it.
fn unreachable(
    checker: &mut Checker<'_>,
    raw: &RawRule,
    earlier: &[(Level, Text)],
    when: &Expression,
) {
    let mut cases = vec![checker.limits.clone()];
    for one in &raw.overrides {
        let mut limits = checker.limits.clone();
        limits.extend(
            one.limits
                .iter()
                .map(|(name, number)| (name.value.clone(), number.value)),
        );
        cases.push(limits);
    }
    let taken = earlier.iter().find(|(level, _)| {
        let mut cases = cases.iter();
        cases.all(|limits| taken_by(&when.tree, &level.when.tree, limits))
    });
    if let Some((level, _)) = taken {
        let message = format!(
            "level can never be reached: `{}` comes first",
            level.name.name()
        );
        checker
            .reader
            .note(when.span.clone(), message, "never reached")
            .help = Some(format!(
            "wherever this holds, `{}` holds already: raise that threshold or lower this one",
            level.when.sql
        ));
    }
}

/// Whether `first` holds wherever `later` does, as far as plain thresholds show it.
pub(super) fn taken_by(later: &Node, first: &Node, limits: &BTreeMap<String, f64>) -> bool {
    matches!(first.kind, NodeKind::Boolean(true))
        || first.to_string() == later.to_string()
        || implies(later, first, limits)
}

/// A comparison of one name with a number.
pub(crate) struct Threshold<'a> {
    pub(crate) name: &'a str,
    pub(crate) operator: Comparison,
    pub(crate) number: f64,
}

fn implies(later: &Node, first: &Node, limits: &BTreeMap<String, f64>) -> bool {
    use Comparison::{Equal, Greater, GreaterOrEqual, Less, LessOrEqual};
    let (Some(later), Some(first)) = (threshold(later, limits), threshold(first, limits)) else {
        return false;
    };
    if later.name != first.name {
        return false;
    }
    let (x, limit) = (later.number, first.number);
    match (later.operator, first.operator) {
        (Greater, Greater | GreaterOrEqual) | (GreaterOrEqual, GreaterOrEqual) => x >= limit,
        (GreaterOrEqual | Equal, Greater) => x > limit,
        (Less, Less | LessOrEqual) | (LessOrEqual, LessOrEqual) => x <= limit,
        (LessOrEqual | Equal, Less) => x < limit,
        (Equal, GreaterOrEqual) => x >= limit,
        (Equal, LessOrEqual) => x <= limit,
        _ => false,
    }
}

/// A comparison of one name with an expression of numbers and limits alone.
pub(crate) fn threshold<'a>(
    node: &'a Node,
    limits: &BTreeMap<String, f64>,
) -> Option<Threshold<'a>> {
    let NodeKind::Compare(operator, left, right) = &node.kind else {
        return None;
    };
    match (&left.kind, &right.kind) {
        (NodeKind::Name(name), _) => Some(Threshold {
            name,
            operator: *operator,
            number: constant(right, limits)?,
        }),
        (_, NodeKind::Name(name)) => Some(Threshold {
            name,
            operator: operator.turned(),
            number: constant(left, limits)?,
        }),
        _ => None,
    }
}

/// The value of an expression of numbers and limits alone.
pub(crate) fn constant(node: &Node, limits: &BTreeMap<String, f64>) -> Option<f64> {
    Some(match &node.kind {
        NodeKind::Number(number) => *number,
        NodeKind::Limit(name) => *limits.get(name)?,
        NodeKind::Negate(inner) => -constant(inner, limits)?,
        NodeKind::Arithmetic(operator, left, right) => {
            let (left, right) = (constant(left, limits)?, constant(right, limits)?);
            match operator {
                Arithmetic::Plus => left + right,
                Arithmetic::Minus => left - right,
                Arithmetic::Times => left * right,
                Arithmetic::Over if right != 0.0 => left / right,
                Arithmetic::Over => return None,
            }
        }
        _ => return None,
    })
}
