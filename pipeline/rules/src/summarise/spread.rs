//! How the deciding measure of each rule is spread, event or not: it moves before the tail does.

use std::collections::{BTreeMap, BTreeSet};

use records::rows::ApproachRow;
use stats::quantile;

use super::SummaryOptions;
use super::verdicts::is_evaluable;
use crate::rows::MeasurementRow;

/// Quantiles of one rule's deciding measure over one period.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    /// Rule id.
    pub rule: String,
    /// The period in words.
    pub period: String,
    /// Approaches measured; `None` where suppressed.
    pub approaches: Option<u64>,
    /// 5, 25, 50, 75 and 95 %; `None` where suppressed.
    pub quantiles: Option<[f64; 5]>,
}

const SHARES: [f64; 5] = [0.05, 0.25, 0.5, 0.75, 0.95];

/// Spread of every rule in the latest month and in the months before it.
pub(super) fn spreads(
    approaches: &[ApproachRow],
    measurements: &[MeasurementRow],
    options: &SummaryOptions,
) -> Vec<Spread> {
    let months: BTreeMap<i64, &str> = approaches
        .iter()
        .filter(|row| row.is_line())
        .filter_map(|row| Some((row.approach_key, row.month.as_deref()?)))
        .collect();
    let Some(latest) = months.values().copied().max() else {
        return Vec::new();
    };
    // Whether in the latest month; the latest comes first in the list.
    type Key<'a> = (&'a str, bool);
    let mut cells: BTreeMap<Key<'_>, (Vec<f64>, BTreeSet<&str>)> = BTreeMap::new();
    for row in measurements.iter().filter(|row| is_evaluable(row)) {
        let (Some(worst), Some(month)) = (row.worst, months.get(&row.approach_key)) else {
            continue;
        };
        let cell = cells.entry((&row.rule, *month != latest)).or_default();
        cell.0.push(worst);
        cell.1.insert(&row.flight_id);
    }
    let spread =
        |((rule, earlier), (mut values, flights)): (Key<'_>, (Vec<f64>, BTreeSet<&str>))| {
            values.sort_by(f64::total_cmp);
            let shown = flights.len() >= options.min_flights;
            let quantiles = SHARES.map(|share| quantile(&values, share).unwrap_or_default());
            Spread {
                rule: rule.to_owned(),
                period: if earlier {
                    format!("before {latest}")
                } else {
                    latest.to_owned()
                },
                approaches: shown.then_some(values.len() as u64),
                quantiles: shown.then_some(quantiles),
            }
        };
    cells.into_iter().map(spread).collect()
}
