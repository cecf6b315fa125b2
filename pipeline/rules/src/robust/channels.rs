//! Which recorded channels decide a rule.

use std::collections::BTreeSet;

use records::catalogue::{Catalogue, rests_on_through};

use super::vary::Base;
use crate::expression::Expression;
use crate::rule_file::{CheckedRule, Shape};

/// Heights above the threshold are those of the pressure altitude with one offset an approach.
const HEIGHTS: [&str; 2] = ["height_aal_ft", "altitude_msl_ft"];
const ALTITUDE: &str = "pressure_altitude_ft";

/// The recorded channels that a rule's verdict may turn on; those of the rules it reads for an outcome.
///
/// `base` is an approach: what is recorded on it and what follows from that. Positions and distances are taken as
/// they are: they are not among the channels.
pub(super) fn channels(
    rule: &CheckedRule,
    pack: &[CheckedRule],
    catalogue: &Catalogue,
    base: &Base<'_>,
) -> BTreeSet<String> {
    let mut columns = BTreeSet::new();
    let mut seen = BTreeSet::from([rule.id.clone()]);
    let mut left = vec![rule];
    while let Some(rule) = left.pop() {
        for name in deciding(rule) {
            match pack.iter().find(|rule| rule.id == name) {
                Some(read) => {
                    if seen.insert(name) {
                        left.push(read);
                    }
                }
                None => {
                    columns.insert(name);
                }
            }
        }
    }
    // The operator's own columns look back over others, and may do so over one another.
    for window in catalogue.windows().iter().rev() {
        if columns.contains(&window.name) {
            columns.insert(window.of.clone());
        }
    }
    let recorded = &base.recorded;
    let mut channels: BTreeSet<String> = columns
        .iter()
        .flat_map(|column| rests_on_through(column, &|column, part| base.follows(column, part)))
        .filter(|name| recorded.contains(*name) && catalogue.lookup(name).is_some())
        .map(str::to_owned)
        .collect();
    if recorded.contains(ALTITUDE) && HEIGHTS.iter().any(|height| columns.contains(*height)) {
        channels.insert(ALTITUDE.to_owned());
    }
    channels
}

/// The names a verdict may turn on: not those of measures that are only kept beside it.
fn deciding(rule: &CheckedRule) -> BTreeSet<String> {
    let mut names = BTreeSet::new();
    let mut add = |expression: &Expression| names.extend(expression.inputs.iter().cloned());
    match &rule.shape {
        Shape::Episode {
            within,
            when,
            release,
            ..
        } => {
            add(within);
            add(when);
            release.iter().for_each(&mut add);
        }
        Shape::Gate { criteria, .. } => {
            for criterion in criteria {
                add(&criterion.value);
                criterion.applies.iter().for_each(&mut add);
            }
        }
        Shape::Change { .. } => {}
        Shape::Outcome { when, value, .. } => {
            add(when);
            value.iter().for_each(&mut add);
        }
    }
    let in_levels = |name: &String| {
        let mut levels = rule.levels.iter();
        levels.any(|level| level.when.inputs.contains(name))
    };
    for measure in &rule.measures {
        if measure.name == "worst" || in_levels(&measure.name) {
            add(&measure.expression);
        }
    }
    if let Shape::Gate { column, .. } | Shape::Change { of: column, .. } = &rule.shape {
        names.insert(column.clone());
    }
    // Whether the approach is in the denominator at all.
    names.extend(rule.among.clone());
    names
}
