//! Refuses series that cannot be drawn, all faults at once.

use super::input::Retrace;
use crate::ReportError;

pub(super) fn check(input: &Retrace) -> Result<(), ReportError> {
    let mut faults = Vec::new();
    let series = &input.series;
    let samples = series.time_s.len();
    if samples < 2 {
        faults.push(format!("time_s: {samples} sample(s), expected two or more"));
    }
    let ascends = series.time_s.windows(2).all(|pair| pair[0] < pair[1]);
    if !ascends || series.time_s.iter().any(|t| !t.is_finite()) {
        faults.push("time_s: expected finite, ascending times".to_owned());
    }
    for (name, values) in series.all() {
        if values.len() != samples {
            let length = values.len();
            faults.push(format!("{name}: {length} values, expected {samples}"));
        }
        if let Some(k) = values
            .iter()
            .position(|v| v.is_some_and(|v| !v.is_finite()))
        {
            faults.push(format!("{name}: value {k} is not finite"));
        }
    }
    for (name, value) in input.measures.numbers() {
        if value.is_some_and(|value| !value.is_finite()) {
            faults.push(format!("{name}: not finite"));
        }
    }
    let moments = input
        .events
        .iter()
        .flat_map(|e| [e.start_s, e.end_s, e.worst_s, e.worst]);
    let gates = input
        .gates
        .iter()
        .flat_map(|g| [g.time_s, g.value, g.lower, g.upper]);
    if moments
        .chain(gates)
        .flatten()
        .any(|value| !value.is_finite())
    {
        faults.push("events and gates: a figure is not finite".to_owned());
    }
    if faults.is_empty() {
        Ok(())
    } else {
        Err(ReportError::Input { faults })
    }
}
