//! Dispersion of each rule: how much more its counts vary than those of independent approaches.
//!
//! Flights of one tail and day, or of one airport and day, share what made them: aircraft, crew, weather. A
//! series of months shows the rest. Estimated for the whole fleet: single cells are too noisy.
//!
//! A month that is tested must not widen its own test: a rate that really rose would be taken for noise. Days are
//! therefore held against their own month, and the series is asked without the month.

use std::collections::BTreeMap;

use stats::{Cluster, Counted, Period};

use super::calendar::season;
use super::count::{ANY_LEVEL, Grid};
use super::frame::Frame;
use super::scene::FLEET;
use super::verdicts::{Judged, Verdicts};

/// What days and months show of one subject.
#[derive(Debug, Clone, Default)]
pub(super) struct Scatter {
    /// The larger φ of tail-days and airport-days.
    days: Option<f64>,
    /// Months of the whole fleet that are known by name, by number.
    months: Vec<(usize, Period)>,
    /// φ without each month, by number: asked for every row.
    without: Vec<Option<f64>>,
}

impl Scatter {
    pub(super) fn new(frame: &Frame<'_>, verdicts: &Verdicts, grid: &Grid) -> Self {
        let of = |days: &[Option<u32>]| stats::phi_within(&clusters(frame, days, verdicts));
        let days = [of(&frame.tail_day_of), of(&frame.airport_day_of)];
        let mut scatter = Self {
            days: days.into_iter().flatten().reduce(f64::max),
            months: months(frame, grid),
            without: Vec::new(),
        };
        let each = 0..frame.months.len();
        scatter.without = each
            .map(|month| scatter.over(|other| other != month))
            .collect();
        scatter
    }

    /// φ for figures of all months.
    pub(super) fn phi(&self) -> Option<f64> {
        self.over(|_| true)
    }

    /// φ for a month that is held against others.
    pub(super) fn without(&self, month: usize) -> Option<f64> {
        self.without.get(month).copied().flatten()
    }

    /// φ as far as these months show it.
    pub(super) fn over(&self, wanted: impl Fn(usize) -> bool) -> Option<f64> {
        let own = self.months.iter().filter(|(month, _)| wanted(*month));
        let series: Vec<Period> = own.map(|(_, period)| *period).collect();
        stats::choose_phi(&[self.days, by_month(&series)])
    }
}

/// Approaches of one day, by month: (evaluable, with an event).
fn clusters(frame: &Frame<'_>, days: &[Option<u32>], verdicts: &Verdicts) -> Vec<Vec<Cluster>> {
    let mut clusters: BTreeMap<usize, BTreeMap<u32, Cluster>> = BTreeMap::new();
    for (approach, (day, verdict)) in days.iter().zip(&verdicts.of).enumerate() {
        if let (Some(day), Judged::Evaluable) = (day, verdict.judged) {
            let month = clusters.entry(frame.month(approach)).or_default();
            let cluster = month.entry(*day).or_insert(Cluster {
                evaluable: 0,
                with_event: 0,
            });
            cluster.evaluable += 1;
            cluster.with_event += u64::from(verdict.worst.is_some());
        }
    }
    let months = clusters.into_values();
    months.map(|days| days.into_values().collect()).collect()
}

fn months(frame: &Frame<'_>, grid: &Grid) -> Vec<(usize, Period)> {
    #[allow(clippy::cast_precision_loss)] // counts of approaches
    let period = |month: usize| {
        let tally = grid.cell(FLEET, month);
        Some(Period {
            index: frame.calendar[month]?,
            counted: Counted::new(tally.at_least[ANY_LEVEL] as f64, tally.evaluable as f64),
        })
    };
    (0..frame.months.len())
        .filter(|month| frame.is_known(*month))
        .filter_map(|month| Some((month, period(month)?)))
        .collect()
}

/// Pearson's φ of the months around their own trend, which is no noise.
fn by_month(series: &[Period]) -> Option<f64> {
    let slope = stats::slope(series, season(series), 0.95)?;
    (slope.periods >= stats::dispersion::FEWEST_PERIODS).then_some(slope.phi)
}
