//! What part of a difference is the mix: more of a type, of a runway, of a kind of approach.
//!
//! One multiplier for each type, runway, kind and month is fitted to the whole fleet. The multipliers of
//! what a cell consists of, times its approaches, make its weight: approaches of a fleet of average mix with
//! the same events to expect. Months are in the fit so that no other multiplier has to explain them, and in
//! no weight.

use std::collections::BTreeMap;

use stats::{Counted, Effects, Stratum as Fitted, fit_effects};

use super::frame::{Frame, Stratum};
use super::verdicts::{Judged, Verdicts};

/// Each multiplier is drawn towards 1 as if it came with so many events as expected: judgement; few events
/// make no large multiplier.
const PRIOR_EVENTS: f64 = 5.0;

/// Weights of every cell for events of at least one level.
#[derive(Debug)]
pub(super) struct Mix {
    months: usize,
    /// Approaches of average mix by group and month: everything but the month is taken out.
    weights: Vec<f64>,
    /// Approaches with an event to expect by group and month, by type and month alone.
    elsewhere: Vec<f64>,
}

/// Counts of every stratum: evaluable, and with an event of at least each level.
pub(super) type Strata = BTreeMap<Stratum, (i64, [i64; 3])>;

/// Counts the strata.
pub(super) fn strata(frame: &Frame<'_>, verdicts: &Verdicts) -> Strata {
    let mut strata = Strata::new();
    for (stratum, verdict) in frame.stratum_of.iter().zip(&verdicts.of) {
        if verdict.judged == Judged::Evaluable {
            let cell = strata.entry(*stratum).or_default();
            cell.0 += 1;
            for (level, count) in cell.1.iter_mut().enumerate() {
                *count += i64::from(verdict.worst.map(usize::from) >= Some(level));
            }
        }
    }
    strata
}

impl Mix {
    /// Fits the mix for events of at least `level`; `None` where there is no event to fit.
    #[allow(clippy::cast_precision_loss)] // counts of approaches
    pub(super) fn new(frame: &Frame<'_>, strata: &Strata, level: usize) -> Option<Self> {
        let levels = |stratum: &Stratum| {
            [
                stratum.aircraft_type,
                stratum.runway,
                stratum.kind,
                stratum.month,
            ]
            .map(|number| number as usize)
        };
        let fitted: Vec<Fitted> = strata
            .iter()
            .map(|(stratum, (evaluable, with_event))| Fitted {
                levels: levels(stratum).to_vec(),
                counted: Counted::new(with_event[level] as f64, *evaluable as f64),
            })
            .collect();
        if fitted
            .iter()
            .all(|stratum| stratum.counted.with_event <= 0.0)
        {
            return None;
        }
        let effects: Effects = fit_effects(&fitted, PRIOR_EVENTS)?;
        let months = frame.months.len();
        let mut mix = Self {
            months,
            weights: vec![0.0; frame.groups.len() * months],
            elsewhere: vec![0.0; frame.groups.len() * months],
        };
        let rate = effects.overall();
        for (stratum, (evaluable, _)) in strata {
            let [aircraft_type, runway, kind, month] = levels(stratum).map(Some);
            let n = *evaluable as f64;
            let average = effects.expected(&[aircraft_type, runway, kind, None], n) / rate;
            let elsewhere = effects.expected(&[aircraft_type, None, None, month], n);
            for group in frame.groups_of_stratum(stratum) {
                let cell = group as usize * months + stratum.month as usize;
                mix.weights[cell] += average;
                mix.elsewhere[cell] += elsewhere;
            }
        }
        Some(mix)
    }

    /// Approaches of average mix that these months of a group amount to.
    pub(super) fn weight(&self, group: usize, months: impl Iterator<Item = usize>) -> f64 {
        months
            .map(|month| self.weights[group * self.months + month])
            .sum()
    }

    /// Approaches with an event to expect in these months of a place, if only its types and its months
    /// made a difference.
    pub(super) fn elsewhere(&self, group: usize, months: impl Iterator<Item = usize>) -> f64 {
        months
            .map(|month| self.elsewhere[group * self.months + month])
            .sum()
    }
}
