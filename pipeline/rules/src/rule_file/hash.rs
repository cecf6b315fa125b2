//! What of a rule can change a result, spelled one way and hashed.

use std::fmt::Write as _;

use super::checked::{Asks, CheckedRule, Shape};
use crate::expression::Expression;

/// BLAKE3 of the rule's meaning. Titles, reasons, sources, topics and status are left out:
/// promoting a rule or rewording it re-reads no history.
pub(super) fn text_hash(rule: &CheckedRule) -> String {
    blake3::hash(meaning(rule).as_bytes()).to_hex().to_string()
}

/// The lines of two versions of a rule that are not the same, as `key = before -> key = after`.
pub fn differing_lines(before: &CheckedRule, after: &CheckedRule) -> Vec<String> {
    let (before, after) = (meaning(before), meaning(after));
    let (old, new): (Vec<&str>, Vec<&str>) = (before.lines().collect(), after.lines().collect());
    if old.len() == new.len() {
        let pairs = old.iter().zip(&new).filter(|(old, new)| old != new);
        return pairs.map(|(old, new)| format!("{old} -> {new}")).collect();
    }
    let gone = old
        .iter()
        .filter(|line| !new.contains(line))
        .map(|line| format!("{line} -> (gone)"));
    let come = new
        .iter()
        .filter(|line| !old.contains(line))
        .map(|line| format!("(new) -> {line}"));
    gone.chain(come).collect()
}

/// Everything in a rule that can change a result, a line each, in one spelling.
pub fn meaning(rule: &CheckedRule) -> String {
    let mut text = String::new();
    // Writing to a String cannot fail.
    let mut line = |key: &str, value: &dyn std::fmt::Display| {
        let _ = writeln!(text, "{key} = {value}");
    };
    let optional = |expression: &Option<Expression>| {
        expression
            .as_ref()
            .map_or_else(String::new, |expression| expression.tree.to_string())
    };
    line("id", &rule.id);
    line("version", &rule.version);
    line("family", &rule.family);
    line("segment", &rule.segment.name());
    line("among", &rule.among.as_deref().unwrap_or_default());
    line("coverage", &rule.coverage);
    match &rule.shape {
        Shape::Episode {
            within,
            when,
            release,
            hold_s,
            bridge_s,
        } => {
            line("episode within", &within.tree);
            line("when", &when.tree);
            line("release", &optional(release));
            line("hold_s", hold_s);
            line("bridge_s", bridge_s);
        }
        Shape::Gate {
            column,
            level,
            to,
            asks,
            criteria,
        } => {
            line("gate at", column);
            line("level", level);
            line("to", &to.map(|to| to.to_string()).unwrap_or_default());
            if *asks == Asks::Held {
                line("asks", &"held");
            }
            for criterion in criteria {
                line("criterion", &criterion.name);
                line("value", &criterion.value.tree);
                line("lower", &optional(&criterion.lower));
                line("upper", &optional(&criterion.upper));
                line("grace_s", &criterion.grace_s);
                line("applies", &optional(&criterion.applies));
            }
        }
        Shape::Change {
            of,
            direction,
            before_s,
        } => {
            line("change of", of);
            line("direction", &format!("{direction:?}"));
            line("before_s", before_s);
        }
        Shape::Outcome { when, value, level } => {
            line("outcome when", &when.tree);
            if let Some(value) = value {
                line("value", &value.tree);
            }
            if rule.levels.is_empty() {
                line("level", &level.name());
            }
        }
    }
    for measure in &rule.measures {
        line("measure", &measure.name);
        line(measure.kind.name(), &measure.expression.tree);
    }
    for level in &rule.levels {
        line(level.name.name(), &level.when.tree);
    }
    for (name, number) in &rule.limits {
        line(name, number);
    }
    for one in &rule.overrides {
        for (column, key) in one.keys() {
            line(column, &key.unwrap_or_default());
        }
        for (name, number) in &one.limits {
            line(name, number);
        }
    }
    text
}
