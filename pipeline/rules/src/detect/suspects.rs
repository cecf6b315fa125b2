//! What rules would have said without the cleaning: events of the uncleaned samples of an approach
//! that its cleaned samples do not show.

use std::collections::{BTreeMap, BTreeSet};

use records::catalogue::rests_on;
use records::rows::ApproachRow;

use crate::rows::{EventRow, SuspectRow};
use crate::rule_file::CheckedRule;

/// The suspects among `uncleaned`, the events of samples as they were before they were cleaned;
/// `events` are those of the cleaned samples.
pub(super) fn suspects(
    pack: &[CheckedRule],
    rows: &BTreeMap<i64, ApproachRow>,
    events: &[EventRow],
    uncleaned: Vec<EventRow>,
) -> Vec<SuspectRow> {
    if uncleaned.is_empty() {
        return Vec::new();
    }
    let known: BTreeSet<(&str, i32, &str)> = events.iter().map(place).collect();
    let rules: BTreeMap<&str, &CheckedRule> =
        pack.iter().map(|rule| (rule.id.as_str(), rule)).collect();
    let approaches: BTreeMap<(&str, i32), &ApproachRow> = rows
        .values()
        .map(|row| ((row.flight_id.as_str(), row.approach_no), row))
        .collect();
    let mut suspects: Vec<SuspectRow> = uncleaned
        .into_iter()
        .filter(|event| !known.contains(&place(event)))
        .filter_map(|event| {
            let row = approaches.get(&(event.flight_id.as_str(), event.approach_no))?;
            let rule = rules.get(event.rule.as_str())?;
            Some(suspect(rule, row, event))
        })
        .collect();
    suspects.sort_by(|a, b| {
        (&a.flight_id, a.approach_no, &a.rule)
            .cmp(&(&b.flight_id, b.approach_no, &b.rule))
            .then_with(|| {
                let start = |row: &SuspectRow| row.start_s.unwrap_or(f64::MAX);
                start(a).total_cmp(&start(b))
            })
    });
    suspects
}

fn place(event: &EventRow) -> (&str, i32, &str) {
    (&event.flight_id, event.approach_no, &event.rule)
}

fn suspect(rule: &CheckedRule, row: &ApproachRow, event: EventRow) -> SuspectRow {
    let limits = rule.limits_for(
        row.aircraft_type.as_deref(),
        row.airport.as_deref(),
        row.runway.as_deref(),
    );
    let limits: Vec<String> = limits
        .iter()
        .map(|(name, value)| format!("\"{name}\":{value}"))
        .collect();
    SuspectRow {
        flight_id: event.flight_id,
        approach_no: event.approach_no,
        rule: event.rule,
        rule_version: event.rule_version,
        level: event.level,
        start_s: event.start_s,
        duration_s: event.duration_s,
        worst: event.worst,
        worst_unit: event.worst_unit,
        limits: format!("{{{}}}", limits.join(",")),
        parameters: parameters(rule, &row.cleaned),
        airport: row.airport.clone(),
        month: row.month.clone(),
    }
}

/// Those of the cleaned parameters that the rule reads, or that stand behind what it reads. A column of
/// the operator's own says not what it is made of: then all of them.
fn parameters(rule: &CheckedRule, cleaned: &str) -> String {
    let inputs = rule.inputs();
    let read: BTreeSet<&str> = inputs.iter().flat_map(|input| rests_on(input)).collect();
    let cleaned = || cleaned.split(',').filter(|name| !name.is_empty());
    let mut names: Vec<&str> = cleaned().filter(|name| read.contains(name)).collect();
    if names.is_empty() {
        names = cleaned().collect();
    }
    names.join(",")
}
