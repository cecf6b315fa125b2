//! Rows that come rule by rule → the order of the tables: approach by approach, rule by rule.

use datafusion::error::DataFusionError;
use records::rows::ApproachRow;

use super::{DetectError, Detected};
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
///
/// # Errors
/// Rows are in another order, which is a fault of whoever made them: they would be lost.
pub(super) fn interleaved(
    mut by_rule: Vec<(&str, Detected)>,
    approaches: &[&ApproachRow],
) -> Result<Detected, DetectError> {
    by_rule.sort_by_key(|(rule, _)| *rule);
    let mut all = Detected::default();
    let mut sizes = [0; 3];
    for (_, rows) in &by_rule {
        for (sum, size) in sizes.iter_mut().zip(counts(rows)) {
            *sum += size;
        }
    }
    all.measurements.reserve_exact(sizes[0]);
    all.events.reserve_exact(sizes[1]);
    all.gates.reserve_exact(sizes[2]);
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
    if counts(&all) != sizes {
        let text = "rows of a rule are not in the order of the approaches";
        return Err(DataFusionError::Internal(text.to_owned()).into());
    }
    Ok(all)
}

fn counts(rows: &Detected) -> [usize; 3] {
    [rows.measurements.len(), rows.events.len(), rows.gates.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn approach(flight_id: &str) -> ApproachRow {
        ApproachRow {
            flight_id: flight_id.to_owned(),
            approach_no: 1,
            ..ApproachRow::default()
        }
    }

    fn event(flight_id: &str, rule: &str, start_s: f64) -> EventRow {
        EventRow {
            flight_id: flight_id.to_owned(),
            approach_no: 1,
            rule: rule.to_owned(),
            rule_version: 1,
            family: String::new(),
            level: "low".to_owned(),
            start_s: Some(start_s),
            end_s: None,
            duration_s: None,
            worst: None,
            worst_unit: String::new(),
            worst_s: None,
            height_aal_ft: None,
            distance_nm: None,
            edge: None,
            partial: false,
            robustness: None,
            measures: String::new(),
        }
    }

    fn events(rows: Vec<EventRow>) -> Detected {
        Detected {
            events: rows,
            ..Detected::default()
        }
    }

    #[test]
    fn rows_go_by_approach_then_rule_then_start() {
        let (f, g) = (approach("f"), approach("g"));
        let b = events(vec![event("f", "b", 1.0), event("g", "b", 2.0)]);
        let a = events(vec![event("g", "a", 9.0), event("g", "a", 3.0)]);
        let all = interleaved(vec![("b", b), ("a", a)], &[&f, &g]).unwrap();
        let order: Vec<_> = all
            .events
            .iter()
            .map(|e| (e.flight_id.as_str(), e.rule.as_str(), e.start_s))
            .collect();
        assert_eq!(
            order,
            [
                ("f", "b", Some(1.0)),
                ("g", "a", Some(3.0)),
                ("g", "a", Some(9.0)),
                ("g", "b", Some(2.0))
            ]
        );
    }

    #[test]
    fn rows_in_another_order_are_an_error_and_not_lost() {
        let (f, g) = (approach("f"), approach("g"));
        let wrong = events(vec![event("g", "a", 1.0), event("f", "a", 1.0)]);
        let error = interleaved(vec![("a", wrong)], &[&f, &g]).unwrap_err();
        assert!(error.to_string().contains("order of the approaches"));
    }
}
