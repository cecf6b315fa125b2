//! What a review says of one damaged flight.

use std::collections::BTreeMap;

use crate::fleet::Review;
use crate::table::{Row, number};

/// The rows of one flight.
#[derive(Debug, Default)]
pub(super) struct Found {
    approaches: Vec<Row>,
    quality: BTreeMap<String, Row>,
    quarantine: Vec<Row>,
    pub(super) events: Vec<Row>,
    /// When each gate was passed, by rule and gate; none where that is unknown.
    gates: BTreeMap<(String, String), Option<f64>>,
    /// The approach of the flight without damage, and its gates.
    clean: Row,
    clean_gates: BTreeMap<(String, String), Option<f64>>,
}

impl Found {
    /// The tables of a review, by flight; `named` are the files that hold one flight each.
    pub(super) fn by_flight(review: &Review, named: &[String]) -> BTreeMap<String, Self> {
        let mut all: BTreeMap<String, Self> = named
            .iter()
            .map(|name| (name.clone(), Self::default()))
            .collect();
        let mut of = |id: &str, add: &mut dyn FnMut(&mut Self)| {
            add(all
                .get_mut(id)
                .unwrap_or_else(|| panic!("a flight `{id}` that nobody wrote")));
        };
        for row in review.restricted("approaches") {
            of(&row["flight_id"], &mut |f| f.approaches.push(row.clone()));
        }
        for row in review.restricted("events") {
            of(&row["flight_id"], &mut |f| f.events.push(row.clone()));
        }
        for row in review.restricted("quality") {
            of(&row["flight_id"], &mut |f| {
                f.quality.insert(row["parameter"].clone(), row.clone());
            });
        }
        for row in review.restricted("gates") {
            of(&row["flight_id"], &mut |f| {
                let gate = (row["rule"].clone(), row["gate_value"].clone());
                f.gates.insert(gate, number(&row, "gate_s"));
            });
        }
        for row in review.restricted("quarantine") {
            let file = row["file"].rsplit('/').next().unwrap_or_default();
            let id = file.trim_end_matches(".parquet").to_owned();
            of(&id, &mut |f| f.quarantine.push(row.clone()));
        }
        all
    }

    /// What there is to compare with: the same flight without damage.
    pub(super) fn compare_with(&mut self, clean: &Self) {
        self.clean = clean.only_approach().clone();
        self.clean_gates = clean.gates.clone();
    }

    /// Gates that are said to have been passed at another moment than on the flight without damage.
    pub(super) fn moved_gates(&self, by_more_than_s: f64) -> usize {
        let moved = |(gate, at_s): (&(String, String), &Option<f64>)| {
            let clean_s = self.clean_gates.get(gate).copied().flatten();
            at_s.zip(clean_s)
                .is_some_and(|(a, b)| (a - b).abs() > by_more_than_s)
        };
        self.gates.iter().filter(|gate| moved(*gate)).count()
    }

    pub(super) fn known_gates(&self) -> usize {
        self.gates.values().flatten().count()
    }

    /// Whether the flight is neither loaded nor refused with a reason.
    pub(super) fn is_lost(&self) -> bool {
        let refused = self.quarantine.iter().any(|row| !row["reason"].is_empty());
        self.quality.is_empty() && !refused
    }

    pub(super) fn approaches(&self) -> usize {
        self.approaches.len()
    }

    fn only_approach(&self) -> &Row {
        assert_eq!(self.approaches(), 1, "{}", self.line());
        &self.approaches[0]
    }

    /// Whether nothing was done to any parameter.
    pub(super) fn is_untouched(&self) -> bool {
        self.quality.values().all(|row| row["action"] == "none")
    }

    /// The only approach's cell.
    pub(super) fn approach(&self, column: &str) -> Option<&str> {
        match self.approaches.as_slice() {
            [only] => Some(only[column].as_str()),
            _ => None,
        }
    }

    /// Whether the only approach has the figure of the clean one, within that much.
    pub(super) fn as_clean(&self, column: &str, within: f64) -> bool {
        let [only] = self.approaches.as_slice() else {
            return false;
        };
        number(only, column)
            .zip(number(&self.clean, column))
            .is_some_and(|(a, b)| (a - b).abs() <= within)
    }

    pub(super) fn figure(&self, parameter: &str, column: &str) -> Option<f64> {
        number(self.quality.get(parameter)?, column)
    }

    /// A count of the quality row; none without a row.
    pub(super) fn count(&self, parameter: &str, column: &str) -> f64 {
        self.figure(parameter, column).unwrap_or(-1.0)
    }

    /// Whether samples of the parameter were made unknown.
    pub(super) fn nulled(&self, parameter: &str) -> bool {
        self.says(parameter, "samples set to unknown")
    }

    pub(super) fn says(&self, parameter: &str, words: &str) -> bool {
        self.quality
            .get(parameter)
            .is_some_and(|row| row["action"].contains(words))
    }

    pub(super) fn refused(&self, reason: &str) -> bool {
        self.quarantine.iter().any(|row| row["reason"] == reason)
    }

    /// In a line, for those who look into a failure.
    pub(super) fn line(&self) -> String {
        let events: Vec<_> = self
            .events
            .iter()
            .map(|row| format!("{} {} {}", row["rule"], row["worst_s"], row["worst"]))
            .collect();
        let outcomes: Vec<_> = self
            .approaches
            .iter()
            .map(|row| format!("{} by {}", row["outcome"], row["height_source"]))
            .collect();
        let quality: Vec<_> = self
            .quality
            .values()
            .filter(|row| row["action"] != "none")
            .map(|row| {
                let of = |column: &str| row[column].clone();
                format!(
                    "{}: {} spikes, stuck {} s, {} gaps, {} out of range, {} stale, {}",
                    of("parameter"),
                    of("spikes"),
                    of("stuck_s"),
                    of("gaps"),
                    of("out_of_range"),
                    of("stale"),
                    of("action")
                )
            })
            .collect();
        let refused: Vec<_> = self.quarantine.iter().map(|row| &row["reason"]).collect();
        format!("events {events:?}; approaches {outcomes:?}; quality {quality:?}; {refused:?}")
    }
}
