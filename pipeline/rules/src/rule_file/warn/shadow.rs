//! Levels that an override puts out of reach.

use super::super::fault::Fault;
use super::super::levels::taken_by;
use super::Read;

pub(super) fn warnings(read: &Read<'_>) -> Vec<Fault> {
    let rule = read.rule;
    let mut found = Vec::new();
    for (at, level) in rule.levels.iter().enumerate() {
        for one in &rule.overrides {
            let mut limits = rule.limits.clone();
            limits.extend(one.limits.clone());
            let earlier = &rule.levels[..at];
            let Some(first) = earlier
                .iter()
                .find(|first| taken_by(&level.when.tree, &first.when.tree, &limits))
            else {
                continue;
            };
            let keys: Vec<String> = one
                .keys()
                .into_iter()
                .filter_map(|(column, key)| Some(format!("{column} {}", key?)))
                .collect();
            let message = format!(
                "level `{}` can never be reached for {}: `{}` comes first there",
                level.name.name(),
                keys.join(", "),
                first.name.name()
            );
            let fault =
                read.source
                    .fault(level.when.span.clone(), message, "shadowed by an override");
            found.push(fault.warning().help(format!(
                "with the limits of that override, `{}` holds wherever this does",
                first.when.sql
            )));
        }
    }
    found
}
