//! Rows that come rule by rule → the order of the tables: approach by approach, rule by rule.

use records::rows::ApproachRow;

use super::Detected;
use crate::rows::{EventRow, GateRow, MeasurementRow};

/// A row that says which approach it is about.
trait OfApproach {
    fn is_of(&self, approach: &ApproachRow) -> bool;
}

macro_rules! of_approach {
    ($($row:ty),*) => {$(
        impl OfApproach for $row {
            fn is_of(&self, approach: &ApproachRow) -> bool {
                self.approach_no == approach.approach_no && self.flight_id == approach.flight_id
            }
        }
    )*};
}
of_approach!(MeasurementRow, EventRow, GateRow);

/// The rows of one rule, in the order of approaches, taken approach by approach.
struct Rows<T: Iterator>(std::iter::Peekable<T>);

impl<T: OfApproach, I: Iterator<Item = T>> Rows<I> {
    fn take(&mut self, approach: &ApproachRow, into: &mut Vec<T>) {
        while let Some(row) = self.0.next_if(|row| row.is_of(approach)) {
            into.push(row);
        }
    }
}

/// Puts the rows of all rules, each in the order of `approaches`, into the order of the tables: by approach,
/// then by rule, events then by start; criteria stay in the order of the rule file.
pub(super) fn interleaved(
    mut by_rule: Vec<(&str, Detected)>,
    approaches: &[&ApproachRow],
) -> Detected {
    by_rule.sort_by_key(|(rule, _)| *rule);
    let mut all = Detected::default();
    let size = |of: fn(&Detected) -> usize| by_rule.iter().map(|(_, rows)| of(rows)).sum();
    all.measurements
        .reserve_exact(size(|rows| rows.measurements.len()));
    all.events.reserve_exact(size(|rows| rows.events.len()));
    all.gates.reserve_exact(size(|rows| rows.gates.len()));
    let mut rules: Vec<_> = by_rule
        .into_iter()
        .map(|(_, rows)| {
            (
                Rows(rows.measurements.into_iter().peekable()),
                Rows(rows.events.into_iter().peekable()),
                Rows(rows.gates.into_iter().peekable()),
            )
        })
        .collect();
    for approach in approaches {
        for (measurements, events, gates) in &mut rules {
            measurements.take(approach, &mut all.measurements);
            let from = all.events.len();
            events.take(approach, &mut all.events);
            all.events[from..].sort_by(|a, b| {
                let start = |event: &EventRow| event.start_s.unwrap_or(f64::MAX);
                start(a).total_cmp(&start(b))
            });
            gates.take(approach, &mut all.gates);
        }
    }
    all
}
