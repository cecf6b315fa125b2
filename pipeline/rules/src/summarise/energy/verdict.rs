//! How each approach ended at the governing gate, beside its class at every checkpoint.

use std::collections::{BTreeMap, BTreeSet};

use records::rows::ApproachRow;

use super::{EnergyInput, class_number};
use crate::rows::{GateRow, MeasurementRow};

/// A line approach whose verdict at the governing gate is known.
pub(super) struct Ended<'a> {
    pub(super) row: &'a ApproachRow,
    pub(super) unstable: bool,
    /// Number of the class by checkpoint, where it has one.
    pub(super) class: BTreeMap<&'a str, usize>,
}

/// The rule whose gate stands at a height. Of several the one with the most criteria, which says most of what
/// being stable asks for; of these the first by name.
pub(super) fn gate_rule(gates: &[GateRow], height_ft: f64) -> Option<String> {
    let mut criteria: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for row in gates.iter().filter(|row| row.gate_ft == Some(height_ft)) {
        criteria
            .entry(&row.rule)
            .or_default()
            .insert(&row.criterion);
    }
    let mut best: Option<(&str, usize)> = None;
    for (rule, criteria) in criteria {
        if best.is_none_or(|(_, most)| criteria.len() > most) {
            best = Some((rule, criteria.len()));
        }
    }
    best.map(|(rule, _)| rule.to_owned())
}

/// Approaches that reached the gate with everything known.
pub(super) fn ended<'a>(input: &EnergyInput<'a>, rule: &str) -> Vec<Ended<'a>> {
    let mut class: BTreeMap<(&str, i32), BTreeMap<&str, usize>> = BTreeMap::new();
    for row in input.checkpoints {
        let number = row.energy_class.as_deref().and_then(class_number);
        if let Some(number) = number {
            class
                .entry((&row.flight_id, row.approach_no))
                .or_default()
                .insert(&row.checkpoint, number);
        }
    }
    let verdicts: BTreeMap<i64, bool> = input
        .measurements
        .iter()
        .filter(|row| row.rule == rule)
        .filter_map(|row| match row.status.as_str() {
            "event" => Some((row.approach_key, true)),
            "clear" => Some((row.approach_key, false)),
            _ => None,
        })
        .collect();
    input
        .approaches
        .iter()
        .filter(|row| row.is_line())
        .filter_map(|row| {
            Some(Ended {
                unstable: *verdicts.get(&row.approach_key)?,
                class: class
                    .remove(&(row.flight_id.as_str(), row.approach_no))
                    .unwrap_or_default(),
                row,
            })
        })
        .collect()
}

/// Gives every approach the height from which it was settled, by the rule of the governing gate.
pub fn settle_approaches(
    approaches: &mut [ApproachRow],
    measurements: &[MeasurementRow],
    gates: &[GateRow],
    governing_gate_ft: f64,
) {
    let Some(rule) = gate_rule(gates, governing_gate_ft) else {
        return;
    };
    let of_rule = measurements.iter().filter(|row| row.rule == rule);
    let settled: BTreeMap<i64, &MeasurementRow> =
        of_rule.map(|row| (row.approach_key, row)).collect();
    for row in approaches {
        if let Some(found) = settled.get(&row.approach_key) {
            row.stabilised.clone_from(&found.stabilised);
            row.stabilised_height_ft = found.stabilised_from;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gate(rule: &str, criterion: &str, height_ft: f64) -> GateRow {
        GateRow {
            flight_id: "f".to_owned(),
            approach_no: 1,
            rule: rule.to_owned(),
            gate_column: "height_aal_ft".to_owned(),
            gate_value: height_ft,
            gate_ft: Some(height_ft),
            criterion: criterion.to_owned(),
            gate_s: None,
            value: None,
            lower: None,
            upper: None,
            applies: None,
            passed: None,
            held_to_50ft: None,
            robustness: None,
        }
    }

    #[test]
    fn the_gate_with_the_most_criteria_governs_and_of_these_the_first_by_name() {
        let gates = [
            gate("a_speed", "speed", 500.0),
            gate("stable", "speed", 500.0),
            gate("stable", "sink", 500.0),
            gate("unsettled", "speed", 500.0),
            gate("unsettled", "sink", 500.0),
            gate("a_thousand", "speed", 1000.0),
        ];
        assert_eq!(gate_rule(&gates, 500.0).as_deref(), Some("stable"));
        assert_eq!(gate_rule(&gates, 1000.0).as_deref(), Some("a_thousand"));
        assert_eq!(gate_rule(&gates, 300.0), None);
    }
}
