//! Every rule with why it is there, where it comes from and whose limits it uses.

use crate::input::{LimitsStatus, RuleLine};
use crate::{rates, words};
use serde::Serialize;

/// One entry of the list.
#[derive(Debug, Serialize)]
pub(crate) struct RuleView {
    anchor: String,
    id: String,
    title: String,
    family: String,
    why: String,
    source: String,
    version: u32,
    trial: bool,
    limits_status: &'static str,
    invented: bool,
    limits: Vec<String>,
}

/// Builds the list in the order given.
pub(crate) fn build(rules: &[RuleLine]) -> Vec<RuleView> {
    let views = rules.iter().enumerate().map(|(index, rule)| RuleView {
        anchor: rates::anchor(index),
        id: rule.id.clone(),
        title: rule.title.clone(),
        family: rule.family.clone(),
        why: rule.why.clone(),
        source: rule.source.clone(),
        version: rule.version,
        trial: rule.trial,
        limits_status: words::limits_status(rule.limits_status),
        invented: rule.limits_status == LimitsStatus::Invented,
        limits: rule
            .limits
            .iter()
            .map(|line| format!("{} = {}", line.name, words::limit(line.value)))
            .collect(),
    });
    views.collect()
}
