//! One figure with its denominator, or the reason why there is none.

use serde::Serialize;

/// Why a figure that exists is not shown.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub enum Suppression {
    /// The denominator holds fewer than `minimum` distinct flights.
    FewFlights {
        /// Fewest flights a shown cell rests on.
        minimum: u64,
    },
    /// The cell rests on fewer than `minimum` tail-days.
    FewTailDays {
        /// Fewest tail-days a shown cell rests on.
        minimum: u64,
    },
    /// Shown, it would give away a suppressed neighbour by subtraction.
    Secondary,
}

/// Approaches with an event out of the approaches that could have had one.
///
/// `Default` is "not evaluable": nothing known.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct RateCell {
    /// Approaches on which the rule could have fired; the denominator.
    pub evaluable: Option<u64>,
    /// Of those, approaches with at least one event.
    pub approaches_with_event: Option<u64>,
    /// Approaches with an event per 1,000 evaluable ones; none where `evaluable` is 0.
    pub rate_per_1000: Option<f64>,
    /// Lower end of the 95 % interval, per 1,000.
    pub ci_low: Option<f64>,
    /// Upper end of the 95 % interval, per 1,000.
    pub ci_high: Option<f64>,
    /// Set where the cell must not be shown.
    pub suppressed: Option<Suppression>,
}

impl RateCell {
    /// A cell whose figures must not be shown.
    #[must_use]
    pub fn hidden(why: Suppression) -> Self {
        Self {
            suppressed: Some(why),
            ..Self::default()
        }
    }
}

/// A number of approaches under a label.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct CountLine {
    /// What is counted: a type, an airport, a month, an outcome.
    pub label: String,
    /// Approaches; none where unknown.
    pub approaches: Option<u64>,
    /// Set where the number must not be shown.
    pub suppressed: Option<Suppression>,
}
