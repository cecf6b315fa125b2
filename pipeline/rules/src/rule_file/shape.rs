//! The four shapes, their measures and criteria.

use std::collections::BTreeSet;

use super::check::{Checker, Surroundings};
use super::checked::{Asks, Criterion, Direction, LevelName, Measure, MeasureKind, Shape};
use super::levels::LEVEL_NAMES;
use super::raw::{RawCriterion, RawRule, RawShape};
use super::reader::{Number, NumberOrText, Text};
use crate::expression::{Comparison, Expression, Kind, NodeKind, Scope, nearest};

/// Reads the one shape; `None` after a fault.
pub(super) fn shape(
    checker: &mut Checker<'_>,
    raw: &RawRule,
    samples: &Scope,
    around: &Surroundings<'_>,
) -> Option<Shape> {
    match raw.shape.as_ref()? {
        RawShape::Episode {
            within,
            when,
            release,
            hold,
            bridge,
        } => {
            let mut read = |text: &Option<Text>| {
                text.as_ref()
                    .and_then(|text| checker.expression(text, Kind::Condition, samples))
            };
            let (within, when) = (read(within), read(when));
            let released = read(release);
            let (hold_s, bridge_s) = (
                checker.seconds(hold.as_ref()),
                checker.seconds(bridge.as_ref()),
            );
            Some(Shape::Episode {
                within: within?,
                when: when?,
                release: released,
                hold_s: hold_s?,
                bridge_s: bridge_s?,
            })
        }
        RawShape::Gate { at, to, asks } => {
            let crossing = at.as_ref().and_then(|at| crossing(checker, at, samples));
            let criteria = criteria(checker, raw, samples);
            let known = [("at", Asks::At), ("held", Asks::Held)];
            let asked = checker.choice("asks", asks.as_ref(), Asks::At, &known);
            if let (Some(Asks::Held), None, Some(asks)) = (asked, to, asks) {
                let message = "a gate that asks what held has no `to`".to_owned();
                checker
                    .reader
                    .note(asks.span.clone(), message, "held to where?")
                    .help =
                    Some("add `to = 50`, the value down to which it is followed".to_owned());
            }
            let (column, level) = crossing?;
            let to = match to {
                Some(to) => Some(below(checker, to, level)?),
                None => None,
            };
            Some(Shape::Gate {
                column,
                level,
                to,
                asks: asked?,
                criteria: criteria?,
            })
        }
        RawShape::Change {
            of,
            direction,
            before,
        } => {
            let of = of.as_ref().and_then(|of| state(checker, of, samples));
            let direction = checker.choice(
                "direction",
                direction.as_ref(),
                Direction::Any,
                &[
                    ("up", Direction::Up),
                    ("down", Direction::Down),
                    ("any", Direction::Any),
                ],
            );
            let before_s = checker.seconds(before.as_ref());
            Some(Shape::Change {
                of: of?,
                direction: direction?,
                before_s: before_s?,
            })
        }
        RawShape::Outcome { when, value, level } => {
            let scope = outcome_scope(checker, around);
            let when = when
                .as_ref()
                .and_then(|when| checker.expression(when, Kind::Condition, &scope));
            let number = value
                .as_ref()
                .map(|value| checker.expression(value, Kind::Number, &scope));
            let level = checker.choice("level", level.as_ref(), LevelName::Medium, &LEVEL_NAMES);
            Some(Shape::Outcome {
                when: when?,
                value: number.map_or(Some(None), |number| number.map(Some))?,
                level: level?,
            })
        }
    }
}

/// `COLUMN = NUMBER`.
fn crossing(checker: &mut Checker<'_>, at: &Text, samples: &Scope) -> Option<(String, f64)> {
    let expression = checker.expression(at, Kind::Condition, samples)?;
    if let NodeKind::Compare(Comparison::Equal, left, right) = &expression.tree.kind
        && let (NodeKind::Name(column), NodeKind::Number(level)) = (&left.kind, &right.kind)
    {
        return Some((column.clone(), *level));
    }
    let message = "a gate is at one column and one number".to_owned();
    checker
        .reader
        .note(expression.span, message, "COLUMN = NUMBER expected")
        .help = Some("as in `at = 'height_aal_ft = 1000'`".to_owned());
    None
}

fn below(checker: &mut Checker<'_>, to: &Number, level: f64) -> Option<f64> {
    if to.value < level {
        return Some(to.value);
    }
    let message = format!("`to` is not below the gate's {level}");
    checker
        .reader
        .note(to.span.clone(), message, "never reached after the gate")
        .help =
        Some("a gate is crossed downwards: what is held is held to a lower value".to_owned());
    None
}

fn state(checker: &mut Checker<'_>, of: &Text, samples: &Scope) -> Option<String> {
    match samples.names.get(&of.value) {
        Some(known) if known.kind == Kind::Number => Some(of.value.clone()),
        Some(_) => {
            let message = format!("`{}` is a text, a state in numbers expected", of.value);
            checker
                .reader
                .note(of.span.clone(), message, "not a number");
            None
        }
        None => {
            let message = format!("unknown column `{}`", of.value);
            let help = nearest(&of.value, samples.names.keys().map(String::as_str))
                .map_or("name one column".to_owned(), |near| {
                    format!("did you mean `{near}`?")
                });
            checker
                .reader
                .note(of.span.clone(), message, "not a column here")
                .help = Some(help);
            None
        }
    }
}

/// Columns of the approach row and ids of the other rules.
fn outcome_scope(checker: &Checker<'_>, around: &Surroundings<'_>) -> Scope {
    let mut scope = Scope {
        noun: "approach column or rule",
        ..Scope::default()
    };
    scope.limits = checker.limits.keys().cloned().collect();
    for column in &around.context.columns {
        scope.elsewhere.insert(
            column.name.clone(),
            format!(
                "`{}` is a column of samples: an outcome reads the approach row and other rules",
                column.name
            ),
        );
    }
    for column in &around.context.approach_columns {
        scope.elsewhere.remove(&column.name);
        column.add_to(&mut scope);
    }
    for id in around.ids {
        scope.condition(id);
    }
    scope
}

/// The measures of an episode or a change, in file order.
pub(super) fn measures(checker: &mut Checker<'_>, raw: &RawRule, samples: &Scope) -> Vec<Measure> {
    let mut measures = Vec::new();
    let has_worst = raw.measures.iter().any(|(name, _)| name.value == "worst");
    for (name, text) in &raw.measures {
        checker.plain_name("measure", name);
        if ["duration_s", "failed", "held", "not_held", "limits"].contains(&name.value.as_str()) {
            let message = format!("measure `{}` has a name that is taken", name.value);
            checker
                .reader
                .note(name.span.clone(), message, "built in")
                .help = Some("choose another name".to_owned());
        }
        let (function, expression) = match Expression::read_measure(&text.value, samples) {
            Ok((function, expression)) => (function, checker.placed(text, expression)),
            Err(faults) => {
                checker.used_limits.extend(checker.limits.keys().cloned());
                checker.reader.expression_faults(text, faults);
                continue;
            }
        };
        let kind = match function.as_str() {
            "max" => MeasureKind::Max,
            "min" => MeasureKind::Min,
            "first" => MeasureKind::First,
            "last" => MeasureKind::Last,
            _ => MeasureKind::AtWorst,
        };
        if name.value == "worst" && !matches!(kind, MeasureKind::Max | MeasureKind::Min) {
            let message = "`worst` is a max or a min".to_owned();
            checker
                .reader
                .note(text.span.clone(), message, "has no worst sample")
                .help = Some("write max(…) or min(…), whichever is worse".to_owned());
        }
        if kind == MeasureKind::AtWorst && !has_worst {
            let message = "`at_worst` without a measure `worst`".to_owned();
            checker
                .reader
                .note(text.span.clone(), message, "at what?")
                .help = Some("add `worst = 'max(…)'` or `worst = 'min(…)'`".to_owned());
        }
        measures.push(Measure {
            name: name.value.clone(),
            kind,
            expression,
        });
    }
    measures
}

fn criteria(checker: &mut Checker<'_>, raw: &RawRule, samples: &Scope) -> Option<Vec<Criterion>> {
    if raw.criteria.is_empty() {
        let message = "the gate has no criterion".to_owned();
        checker.reader.note(0..0, message, "in this file").help =
            Some("add a [[criterion]] with name, value and a bound".to_owned());
        return None;
    }
    let mut names = BTreeSet::new();
    let mut criteria = Vec::new();
    for one in &raw.criteria {
        if let Some(name) = &one.name {
            checker.plain_name("criterion", name);
            let taken = ["failed", "held", "not_held", "limits"].contains(&name.value.as_str());
            if taken || !names.insert(name.value.clone()) {
                let message = format!("criterion `{}` has a name that is taken", name.value);
                checker
                    .reader
                    .note(name.span.clone(), message, "a second one")
                    .help = Some("choose another name".to_owned());
            }
        }
        criteria.push(criterion(checker, one, samples));
    }
    criteria.into_iter().collect()
}

fn criterion(checker: &mut Checker<'_>, raw: &RawCriterion, samples: &Scope) -> Option<Criterion> {
    let value = raw
        .value
        .as_ref()
        .and_then(|text| checker.expression(text, Kind::Number, samples));
    let applies = raw
        .applies
        .as_ref()
        .map(|text| checker.expression(text, Kind::Condition, samples));
    let grace_s = checker.seconds(raw.grace.as_ref());
    let scope = bound_scope(samples);
    let mut bound = |bound: &Option<NumberOrText>| match bound {
        None => Some(None),
        Some(bound) => bound_expression(checker, bound, &scope, value.as_ref()).map(Some),
    };
    let (lower, upper) = (bound(&raw.lower), bound(&raw.upper));
    if let (Some(NumberOrText::Number(lower)), Some(NumberOrText::Number(upper))) =
        (&raw.lower, &raw.upper)
        && lower.value > upper.value
    {
        let message = format!("lower {} is above upper {}", lower.value, upper.value);
        checker
            .reader
            .note(lower.span.clone(), message, "nothing can meet both")
            .help = Some("exchange them".to_owned());
    }
    Some(Criterion {
        name: raw.name.as_ref()?.value.clone(),
        value: value?,
        lower: lower?,
        upper: upper?,
        grace_s: grace_s?,
        applies: applies.map_or(Some(None), |applies| applies.map(Some))?,
    })
}

/// Only limits: a bound is one number for the whole approach.
fn bound_scope(samples: &Scope) -> Scope {
    let elsewhere = samples.names.keys().map(|name| {
        let help = format!("a bound holds for the whole approach: put `{name}` into `value`");
        (name.clone(), help)
    });
    Scope {
        noun: "name",
        limits: samples.limits.clone(),
        elsewhere: elsewhere.collect(),
        ..Scope::default()
    }
}

fn bound_expression(
    checker: &mut Checker<'_>,
    bound: &NumberOrText,
    scope: &Scope,
    value: Option<&Expression>,
) -> Option<Expression> {
    let text = match bound {
        NumberOrText::Number(number) => {
            let written = checker.reader.file.text[number.span.clone()].to_owned();
            return Some(Expression::number(
                number.value,
                written,
                number.span.clone(),
            ));
        }
        NumberOrText::Text(text) => text,
    };
    let expression = checker.expression(text, Kind::Number, scope)?;
    if let Some(value) = value
        && !value.unit.fits(&expression.unit)
    {
        let message = format!(
            "the bound is in {}, the value `{}` in {}: unlike units",
            expression.unit, value.sql, value.unit
        );
        let label = format!("{} against {}", expression.unit, value.unit);
        checker
            .reader
            .note(expression.span.clone(), message, &label)
            .help = Some(
            "bound it with a limit in the value's unit; nothing is converted in a rule".to_owned(),
        );
    }
    Some(expression)
}
