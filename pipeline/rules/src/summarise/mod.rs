//! Summarise: verdicts to rates, per rule, level, month and group, fit to be passed round.
//!
//! Every rate divides by the approaches on which that rule could have fired. Small cells are
//! suppressed here, before anything leaves. Nothing here reads a file, and nothing here can name
//! a flight: only counts come out.

mod count;
mod dispersion;
mod energy;
mod group;
mod hotspots;
mod robustness;
mod rows;
mod spread;
mod suppress;

use std::collections::{BTreeMap, BTreeSet};

use ::records::rows::ApproachRow;
use stats::Counted;

pub use energy::{
    CHECKPOINTS, DecisiveRow, Energy, EnergyInput, LossRateRow, LossTable, OutcomeRow,
    RecoverabilityRow, Routing, ShortcutRow, calibrate, energy, loss_rates, reclassify,
    settle_approaches,
};
pub use robustness::{RuleRobustnessRow, robustness};
pub use rows::{CoverageRow, HotspotRow, RateRow, TrendRow};
pub use spread::Spread;

use crate::rows::{EventRow, MeasurementRow};
use count::{Cells, LEVELS, Tally};
use group::{Group, UNKNOWN};
use suppress::Mask;

/// How to summarise; printed in every report.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SummaryOptions {
    /// Cells with fewer distinct flights in the denominator are suppressed.
    pub min_flights: usize,
    /// Cells with fewer distinct tail-days are suppressed, where days are known.
    pub min_tail_days: usize,
    /// Confidence of every interval.
    pub confidence: f64,
    /// Height of the gate that decides whether an approach was stable.
    pub governing_gate_ft: f64,
}

impl Default for SummaryOptions {
    fn default() -> Self {
        Self {
            min_flights: 10,
            min_tail_days: 3,
            confidence: 0.95,
            governing_gate_ft: 500.0,
        }
    }
}

/// The tables that may be passed round.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Summary {
    /// Rule × level × group over all months.
    pub rates: Vec<RateRow>,
    /// Rule × level × month × group.
    pub trend_monthly: Vec<TrendRow>,
    /// Airport (× runway) × rule.
    pub hotspots: Vec<HotspotRow>,
    /// Rule × month × group: on how much could the rule be judged.
    pub coverage: Vec<CoverageRow>,
    /// Spread of the deciding measures, for the report; no table of its own.
    pub spreads: Vec<Spread>,
}

/// Why a cell is suppressed: fewer distinct flights than a shown cell must have.
pub const FEW_FLIGHTS: &str = "too few flights";
/// Why a cell is suppressed: fewer distinct tail-days than a shown cell must have.
pub const FEW_DAYS: &str = "too few tail-days";
/// Why a cell is suppressed: with it, the size of another could be found by subtraction.
pub const GIVES_AWAY: &str = "would give another cell away";

/// Summarises verdicts over all months that are given.
///
/// The rules of `trial` are measured and shown, and never classed, ranked or flagged.
///
/// Only line flights count; training and positioning flights stay in the row-level tables.
#[must_use]
pub fn summarise(
    approaches: &[ApproachRow],
    measurements: &[MeasurementRow],
    events: &[EventRow],
    trial: &BTreeSet<String>,
    options: &SummaryOptions,
) -> Summary {
    let cells = count::count(approaches, measurements, events);
    let phis = dispersion::phi_by_rule(approaches, measurements, events);
    let mut summary = Summary {
        spreads: spread::spreads(approaches, measurements, options),
        ..Summary::default()
    };
    let everything = Mask::new(&count::everything(approaches), options);
    for (rule, cells) in &cells {
        let phi = phis.get(rule).copied().flatten();
        let status = if trial.contains(rule) {
            "trial"
        } else {
            "core"
        };
        let mask = Mask::new(cells, options);
        let rate = |tally: &Tally, level: usize| Shown::new(tally, level, options, phi);
        for (group, tally) in &cells.total {
            // Without anything evaluable the number of approaches is all there is to hide.
            // The size of the whole fleet is on the first page of every report.
            let unseen = everything
                .hides_total(group)
                .filter(|_| *group != Group::Fleet);
            let hidden = mask
                .hides_total(group)
                .or(unseen.filter(|_| tally.evaluable == 0));
            for level in 0..LEVELS.len() {
                let shown = rate(tally, level).unless(hidden);
                summary.rates.push(RateRow::new(
                    cells,
                    (rule, status),
                    group,
                    tally,
                    level,
                    &shown,
                    phi,
                    unseen.is_some(),
                ));
            }
        }
        let in_months = cells.monthly.iter();
        for ((group, month), tally) in in_months.filter(|((_, month), _)| month != UNKNOWN) {
            let unseen = everything
                .hides_month(group, month)
                .filter(|_| *group != Group::Fleet);
            let hidden = mask
                .hides_month(group, month)
                .or(unseen.filter(|_| tally.evaluable == 0));
            for level in 0..LEVELS.len() {
                let shown = rate(tally, level).unless(hidden);
                summary.trend_monthly.push(TrendRow::new(
                    cells,
                    (rule, status),
                    (group, month),
                    tally,
                    level,
                    &shown,
                    phi,
                ));
            }
            // How much of the whole fleet could be judged is about recorders, not about anyone.
            let hidden = hidden.or(unseen).filter(|_| *group != Group::Fleet);
            summary.coverage.push(CoverageRow::new(
                rule,
                (group, month),
                tally,
                hidden,
                options,
            ));
        }
        summary.hotspots.extend(hotspots::hotspots(
            (rule, status),
            cells,
            &mask,
            options,
            phi,
        ));
    }
    summary
}

/// Numbers of a cell as they may be shown.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Shown {
    /// Why nothing is shown.
    hidden: Option<&'static str>,
    evaluable: Option<i64>,
    approaches_with_event: Option<i64>,
    events: Option<i64>,
    events_edge: Option<i64>,
    rate: Option<stats::Rate>,
}

impl Shown {
    fn new(tally: &Tally, level: usize, options: &SummaryOptions, phi: Option<f64>) -> Self {
        Self {
            hidden: None,
            evaluable: Some(tally.evaluable),
            approaches_with_event: Some(tally.at_least[level]),
            events: Some(tally.events[level]),
            events_edge: Some(tally.edge[level]),
            rate: stats::rate_per_1000(counted(tally, level), options.confidence, phi),
        }
    }

    fn unless(self, hidden: Option<&'static str>) -> Self {
        if hidden.is_some() {
            Self {
                hidden,
                ..Self::default()
            }
        } else {
            self
        }
    }
}

#[allow(clippy::cast_precision_loss)] // counts of approaches
fn counted(tally: &Tally, level: usize) -> Counted {
    Counted::new(tally.at_least[level] as f64, tally.evaluable as f64)
}

type ByRule = BTreeMap<String, Cells>;
