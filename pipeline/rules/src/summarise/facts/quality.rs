//! Of `quality`: how well each parameter was recorded.

use std::collections::BTreeMap;

use arrow::array::RecordBatch;

use super::names::Names;
use super::{Fold, Places, needed};
use crate::store::{numbers, texts, whole_numbers};

/// One parameter over all flights that have it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ParameterFacts {
    /// Share of its expected samples that are known, a flight each, in the order of the files.
    pub coverage: Vec<f64>,
    /// Samples that left and returned faster than physics allows.
    pub spikes: i64,
    /// Seconds held while related parameters moved.
    pub stuck_s: f64,
    /// Holes longer than 2.5 of its own intervals.
    pub gaps: i64,
    /// Samples outside the plausible range.
    pub out_of_range: i64,
    /// Samples in stale blocks.
    pub stale: i64,
    /// Flights where it was stuck: their sum goes by flight, whatever the order of the files.
    stuck: Vec<(String, f64)>,
}

/// How well each parameter was recorded.
#[derive(Debug, Clone, Default)]
pub struct Qualities {
    names: Names,
    of: Vec<ParameterFacts>,
}

impl Qualities {
    /// Every parameter that a flight has, by name.
    #[must_use]
    pub fn parameters(&self) -> BTreeMap<&str, &ParameterFacts> {
        let names = self.names.texts().iter().map(String::as_str);
        let all = names.zip(&self.of);
        all.filter(|(_, facts)| !facts.coverage.is_empty())
            .collect()
    }
}

impl Fold for Qualities {
    const TABLE: &'static str = "quality";
    const COLUMNS: &'static [&'static str] = &[
        "flight_id",
        "parameter",
        "coverage",
        "spikes",
        "stuck_s",
        "gaps",
        "out_of_range",
        "stale",
    ];

    fn add(&mut self, batch: &RecordBatch, _: &Places<'_>) -> Result<(), String> {
        let flights = needed(texts(batch, "flight_id")?, "flight_id")?;
        let parameters = needed(texts(batch, "parameter")?, "parameter")?;
        let coverage = needed(numbers(batch, "coverage")?, "coverage")?;
        let spikes = needed(whole_numbers(batch, "spikes")?, "spikes")?;
        let stuck = needed(numbers(batch, "stuck_s")?, "stuck_s")?;
        let gaps = needed(whole_numbers(batch, "gaps")?, "gaps")?;
        let out_of_range = needed(whole_numbers(batch, "out_of_range")?, "out_of_range")?;
        let stale = needed(whole_numbers(batch, "stale")?, "stale")?;

        let known: Vec<usize> = parameters
            .distinct()
            .map(|name| self.names.number(name))
            .collect();
        self.of
            .resize(self.names.texts().len(), ParameterFacts::default());
        for row in 0..batch.num_rows() {
            let Some(parameter) = parameters.number(row) else {
                continue;
            };
            // A row without coverage says that the flight lacks the parameter.
            if coverage.value(row) <= 0.0 {
                continue;
            }
            let facts = &mut self.of[known[parameter]];
            let count = |n: i64| n.max(0);
            facts.coverage.push(coverage.value(row));
            facts.spikes += count(spikes.value(row));
            facts.gaps += count(gaps.value(row));
            facts.out_of_range += count(out_of_range.value(row));
            facts.stale += count(stale.value(row));
            if stuck.value(row) != 0.0 {
                let flight = flights.text(row).unwrap_or_default().to_owned();
                facts.stuck.push((flight, stuck.value(row)));
            }
        }
        Ok(())
    }

    fn finish(&mut self) {
        for facts in &mut self.of {
            facts.stuck.sort_by(|a, b| a.0.cmp(&b.0));
            facts.stuck_s = facts.stuck.iter().map(|(_, seconds)| seconds).sum::<f64>() + 0.0;
        }
    }
}
