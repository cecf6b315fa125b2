//! How each approach ended at the governing gate, beside its class at every checkpoint.

use records::rows::ApproachRow;

use super::super::facts::{Gates, Measured, Said};
use super::{CHECKPOINTS, EnergyInput};

/// A line approach whose verdict at the governing gate is known.
pub(super) struct Ended<'a> {
    pub(super) row: &'a ApproachRow,
    /// Its place among all approaches.
    pub(super) place: usize,
    pub(super) unstable: bool,
    /// Number of the class by checkpoint, where it has one.
    class: [Option<usize>; CHECKPOINTS.len()],
}

impl Ended<'_> {
    /// Number of the class at a checkpoint, where it has one.
    pub(super) fn class(&self, checkpoint: &str) -> Option<usize> {
        let place = CHECKPOINTS.iter().position(|known| *known == checkpoint)?;
        self.class[place]
    }
}

/// Approaches that reached the gate with everything known.
pub(super) fn ended<'a>(input: &EnergyInput<'a>, rule: &str) -> Vec<Ended<'a>> {
    let Some(rule) = input.measured.rule(rule) else {
        return Vec::new();
    };
    let rows = input.approaches.iter().enumerate();
    rows.filter(|(_, row)| row.is_line())
        .filter_map(|(place, row)| {
            let unstable = match rule.cells.get(place)?.said {
                Said::Event => true,
                Said::Clear => false,
                _ => return None,
            };
            Some(Ended {
                row,
                place,
                unstable,
                class: std::array::from_fn(|checkpoint| input.checkpoints.class(checkpoint, place)),
            })
        })
        .collect()
}

/// Gives every approach the height from which it was settled, by the rule of the governing gate.
pub fn settle_approaches(
    approaches: &mut [ApproachRow],
    measured: &Measured,
    gates: &Gates,
    governing_gate_ft: f64,
) {
    let Some(rule) = gates.rule_at(governing_gate_ft) else {
        return;
    };
    let Some(rule) = measured.rule(&rule) else {
        return;
    };
    for (place, row) in approaches.iter_mut().enumerate() {
        if let Some((word, from)) = measured.settled(rule, place) {
            row.stabilised = word.map(str::to_owned);
            row.stabilised_height_ft = from;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::facts::facts_of;
    use super::*;
    use crate::rows::GateRow;

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
        let approach = ApproachRow {
            flight_id: "f".to_owned(),
            approach_no: 1,
            ..ApproachRow::default()
        };
        let gates: Gates = facts_of(&[approach], &gates);
        assert_eq!(gates.rule_at(500.0).as_deref(), Some("stable"));
        assert_eq!(gates.rule_at(1000.0).as_deref(), Some("a_thousand"));
        assert_eq!(gates.rule_at(300.0), None);
    }
}
