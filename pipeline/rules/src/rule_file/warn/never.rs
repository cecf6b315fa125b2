//! Conditions that nothing can meet, as far as plain thresholds show it.

use std::collections::BTreeMap;
use std::ops::Range;

use super::super::checked::{Asks, Shape};
use super::super::fault::Fault;
use super::super::levels::{constant, threshold};
use super::super::{ColumnSpec, RuleContext};
use super::Read;
use crate::expression::{Comparison, Expression, Node, NodeKind};

/// The values a name may still have.
#[derive(Debug, Clone, Copy)]
struct Left {
    low: f64,
    low_open: bool,
    high: f64,
    high_open: bool,
}

impl Left {
    fn of(column: Option<&ColumnSpec>) -> Self {
        let (low, high) = column
            .and_then(|column| column.range)
            .unwrap_or((f64::NEG_INFINITY, f64::INFINITY));
        Self {
            low,
            low_open: false,
            high,
            high_open: false,
        }
    }

    fn narrow(&mut self, operator: Comparison, number: f64) {
        use Comparison::{Equal, Greater, GreaterOrEqual, Less, LessOrEqual, Unequal};
        if matches!(operator, Greater | GreaterOrEqual | Equal) && number >= self.low {
            self.low_open = operator == Greater || (self.low_open && number == self.low);
            self.low = number;
        }
        if matches!(operator, Less | LessOrEqual | Equal) && number <= self.high {
            self.high_open = operator == Less || (self.high_open && number == self.high);
            self.high = number;
        }
        match operator {
            // Nothing is left beyond the ends.
            Greater | GreaterOrEqual | Equal if number > self.high => self.low = number,
            Less | LessOrEqual | Equal if number < self.low => self.high = number,
            Unequal if self.low == self.high && self.low == number => self.low_open = true,
            _ => {}
        }
    }

    fn is_empty(&self) -> bool {
        self.low > self.high || (self.low == self.high && (self.low_open || self.high_open))
    }
}

pub(super) fn warnings(read: &Read<'_>, context: &RuleContext) -> Vec<Fault> {
    let rule = read.rule;
    let mut found = Vec::new();
    let mut note = |span: &Range<usize>, message: String, label: &str, help: &str| {
        let fault = read.source.fault(span.clone(), message, label);
        found.push(fault.warning().help(help));
    };
    let never = |parts: &[&Expression], columns: &[ColumnSpec]| -> Option<String> {
        let mut why = None;
        for limits in rule.limit_cases() {
            why = Some(contradiction(parts, columns, &limits)?);
        }
        why
    };
    match &rule.shape {
        Shape::Episode { within, when, .. } => {
            if let Some(why) = never(&[within, when], &context.columns) {
                let message = format!("the rule can never fire: {why}");
                note(
                    &when.span,
                    message,
                    "never true in the window",
                    "compare `within` and `when`",
                );
            }
        }
        Shape::Outcome { when, .. } => {
            if let Some(why) = never(&[when], &context.approach_columns) {
                let message = format!("the rule can never fire: {why}");
                note(
                    &when.span,
                    message,
                    "never true",
                    "look at the thresholds again",
                );
            }
        }
        Shape::Gate { criteria, asks, .. } => {
            for criterion in criteria {
                if let Some(why) = always_inside(read, criterion, &context.columns) {
                    let message = format!("criterion `{}` can never fail: {why}", criterion.name);
                    note(
                        &criterion.value.span,
                        message,
                        "always inside",
                        "narrow its bounds",
                    );
                }
            }
            for level in &rule.levels {
                let name = match asks {
                    Asks::At => "failed",
                    Asks::Held => "not_held",
                };
                if let Some(asked) = more_than(&level.when.tree, name, criteria.len()) {
                    let message = format!(
                        "level `{}` can never be reached: it asks for {asked} criteria, the gate has {}",
                        level.name.name(),
                        criteria.len()
                    );
                    note(
                        &level.when.span,
                        message,
                        "never reached",
                        "lower the number",
                    );
                }
            }
        }
        Shape::Change { .. } => {}
    }
    found
}

/// How a condition contradicts itself, if it does.
fn contradiction(
    parts: &[&Expression],
    columns: &[ColumnSpec],
    limits: &BTreeMap<String, f64>,
) -> Option<String> {
    let mut left: BTreeMap<&str, Left> = BTreeMap::new();
    let mut texts: BTreeMap<&str, &str> = BTreeMap::new();
    let mut conjuncts = Vec::new();
    for part in parts {
        split(&part.tree, &mut conjuncts);
    }
    for node in conjuncts {
        if matches!(node.kind, NodeKind::Boolean(false)) {
            return Some("it says `false`".to_owned());
        }
        if let NodeKind::Compare(Comparison::Equal, one, two) = &node.kind
            && let (NodeKind::Name(name), NodeKind::Text(text)) = (&one.kind, &two.kind)
        {
            let before = texts.insert(name, text);
            if before.is_some_and(|before| before != text) {
                return Some(format!("`{name}` cannot be two texts"));
            }
        }
        let Some(threshold) = threshold(node, limits) else {
            continue;
        };
        let column = columns.iter().find(|column| column.name == threshold.name);
        let of_name = left
            .entry(threshold.name)
            .or_insert_with(|| Left::of(column));
        of_name.narrow(threshold.operator, threshold.number);
        if of_name.is_empty() {
            let range = column.and_then(|column| column.range);
            return Some(match range {
                Some((low, high)) => format!(
                    "no value of `{}` meets all that is asked of it; it lies between {low} and {high}",
                    threshold.name
                ),
                None => format!(
                    "no value of `{}` meets all that is asked of it",
                    threshold.name
                ),
            });
        }
    }
    None
}

/// The parts of a condition that must all hold.
fn split<'n>(node: &'n Node, into: &mut Vec<&'n Node>) {
    if let NodeKind::And(one, two) = &node.kind {
        split(one, into);
        split(two, into);
    } else {
        into.push(node);
    }
}

/// Why a criterion on a plain column is inside its bounds whatever the column says.
fn always_inside(
    read: &Read<'_>,
    criterion: &super::super::checked::Criterion,
    columns: &[ColumnSpec],
) -> Option<String> {
    let NodeKind::Name(name) = &criterion.value.tree.kind else {
        return None;
    };
    let column = columns.iter().find(|column| column.name == *name)?;
    let (low, high) = column.range?;
    for limits in read.rule.limit_cases() {
        let bound = |bound: &Option<Expression>, open: f64| match bound {
            Some(bound) => constant(&bound.tree, &limits),
            None => Some(open),
        };
        let lower = bound(&criterion.lower, f64::NEG_INFINITY)?;
        let upper = bound(&criterion.upper, f64::INFINITY)?;
        if lower > low || upper < high {
            return None;
        }
    }
    Some(format!("`{name}` lies between {low} and {high}"))
}

/// The number of criteria a level asks for, where there are not that many.
fn more_than(node: &Node, name: &str, criteria: usize) -> Option<f64> {
    let threshold = threshold(node, &BTreeMap::new())?;
    #[allow(clippy::cast_precision_loss)] // a handful of criteria
    let most = criteria as f64;
    let beyond = match threshold.operator {
        Comparison::Greater => threshold.number >= most,
        Comparison::GreaterOrEqual | Comparison::Equal => threshold.number > most,
        _ => false,
    };
    (threshold.name == name && beyond).then_some(threshold.number)
}
