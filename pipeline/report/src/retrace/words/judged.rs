//! What the rules made of the approach.

use super::{joined, limits, plain};
use crate::retrace::input::{Gate, Retrace};
use crate::words::measure;

pub(super) fn sentences(input: &Retrace) -> Vec<String> {
    if !input.judged {
        let text =
            "The rules have not judged this approach yet: nothing is said about gates and events.";
        return vec![text.to_owned()];
    }
    let mut lines = gates(&input.gates);
    lines.push(match input.events.len() {
        0 => "No rule found an event.".to_owned(),
        1 => "One event was found; it is marked in the pictures and listed below.".to_owned(),
        n => format!("{n} events were found; they are numbered in the pictures and listed below."),
    });
    lines
}

/// Gates that were met in one sentence, each of the others in its own.
fn gates(all: &[Gate]) -> Vec<String> {
    let mut names: Vec<(&str, &str)> = Vec::new();
    for gate in all {
        if !names.contains(&(&gate.rule, &gate.name)) {
            names.push((&gate.rule, &gate.name));
        }
    }
    let (mut met, mut lines) = (Vec::new(), Vec::new());
    for (rule, name) in names {
        let criteria: Vec<&Gate> = all
            .iter()
            .filter(|gate| gate.rule == rule && gate.name == name)
            .collect();
        let known = criteria.iter().filter(|gate| gate.passed.is_some()).count();
        let outside: Vec<&&Gate> = criteria
            .iter()
            .filter(|gate| gate.passed == Some(false))
            .collect();
        if known == 0 {
            lines.push(format!(
                "At the gate at {name} ({}) no criterion could be judged.",
                plain(rule)
            ));
        } else if outside.is_empty() {
            met.push(format!("{name} ({})", plain(rule)));
        } else {
            let parts: Vec<String> = outside.iter().map(|gate| missed(gate)).collect();
            lines.push(format!(
                "At the gate at {name} ({}) {} of {known} criteria were met: {}.",
                plain(rule),
                known - outside.len(),
                parts.join("; ")
            ));
        }
    }
    if let Some(met) = joined(&met) {
        lines.insert(0, format!("Inside all known limits at the gate at {met}."));
    }
    lines
}

fn missed(gate: &Gate) -> String {
    let value = gate.value.map_or_else(|| "unknown".to_owned(), measure);
    let criterion = plain(&gate.criterion);
    format!("{criterion} was {value}, expected {}", limits(gate))
}
