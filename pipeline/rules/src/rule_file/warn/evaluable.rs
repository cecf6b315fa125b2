//! Rules that no record of a fleet can ever be judged by.

use std::collections::{BTreeMap, BTreeSet};

use super::super::checked::{CheckedRule, Criterion, Shape};
use super::super::fault::{Fault, SourceFile};
use super::{FleetFacts, list};

/// A warning for each rule that needs what no record has.
pub(super) fn warnings(checked: &[(SourceFile, CheckedRule)], fleet: &FleetFacts) -> Vec<Fault> {
    if fleet.knowable.is_empty() {
        return Vec::new();
    }
    let mut never: BTreeMap<&str, String> = BTreeMap::new();
    // Rules that read rules come after them, however long the chain.
    loop {
        let before = never.len();
        for (_, rule) in checked {
            if never.contains_key(rule.id.as_str()) {
                continue;
            }
            if let Some(why) = why(rule, fleet, &never) {
                never.insert(&rule.id, why);
            }
        }
        if never.len() == before {
            break;
        }
    }
    checked
        .iter()
        .filter_map(|(source, rule)| {
            let why = never.get(rule.id.as_str())?;
            let first_line = 0..source.text.lines().next().unwrap_or_default().len();
            let message = format!("the rule can never be evaluated on this fleet: {why}");
            let fault = source.fault(first_line, message, "not evaluable throughout");
            Some(fault.warning().help(
                "map the parameter in fleet.toml, add what the type or runway file lacks, or leave the \
                 rule out",
            ))
        })
        .collect()
}

fn why(rule: &CheckedRule, fleet: &FleetFacts, never: &BTreeMap<&str, String>) -> Option<String> {
    let reads = rule.may_read().into_iter();
    for id in reads {
        if never.contains_key(id.as_str()) {
            return Some(format!("it reads `{id}`, which never can"));
        }
    }
    if matches!(rule.shape, Shape::Outcome { .. }) {
        return None;
    }
    let required = required(rule);
    let mut nearest: Option<(usize, &str, BTreeSet<&String>)> = None;
    for (name, known) in &fleet.knowable {
        let missing: BTreeSet<&String> = required.difference(known).collect();
        if missing.is_empty() {
            return None;
        }
        if nearest
            .as_ref()
            .is_none_or(|(least, ..)| missing.len() < *least)
        {
            nearest = Some((missing.len(), name, missing));
        }
    }
    let everywhere: BTreeSet<&String> = required
        .iter()
        .filter(|name| {
            fleet
                .knowable
                .iter()
                .all(|(_, known)| !known.contains(*name))
        })
        .collect();
    if !everywhere.is_empty() {
        return Some(format!(
            "nothing in it tells of {}",
            list(everywhere.into_iter())
        ));
    }
    let (_, name, missing) = nearest?;
    Some(format!(
        "{name} tells nothing of {}",
        list(missing.into_iter())
    ))
}

/// Without these columns no approach is in the denominator. A criterion that applies only somewhere may not
/// be needed at all.
fn required(rule: &CheckedRule) -> BTreeSet<String> {
    let Shape::Gate {
        column, criteria, ..
    } = &rule.shape
    else {
        return rule.required_inputs();
    };
    let everywhere = |criterion: &&Criterion| criterion.applies.is_none();
    let mut names: BTreeSet<String> = criteria
        .iter()
        .filter(everywhere)
        .flat_map(|criterion| criterion.value.required.clone())
        .collect();
    names.insert(column.clone());
    names
}
