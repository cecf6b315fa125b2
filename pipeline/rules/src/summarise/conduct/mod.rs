//! How approaches are flown, whatever the rules say: where quantities lie, which criterion fails at a gate,
//! and what follows an unstable one.
//!
//! A distribution moves before its tail does, and a criterion says more than "unstable". All of it counts
//! line approaches; small cells are withheld as everywhere.

mod criteria;
mod decisions;
mod parts;
mod quantities;
mod rows;

pub use rows::{CriterionRow, DecisionRow, SpreadRow};

use super::SummaryOptions;
use super::energy::EnergyInput;
use super::frame::Frame;

/// The tables of how approaches are flown; fit to be passed round.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Conduct {
    /// Quantity × group × period: its quantiles.
    pub spreads: Vec<SpreadRow>,
    /// Gate × criterion × group × period: how often it fails.
    pub gate_criteria: Vec<CriterionRow>,
    /// Group × verdict at the governing gate: what followed.
    pub go_arounds: Vec<DecisionRow>,
}

/// Summarises how approaches are flown. `gate_rule` is the rule of the governing gate, where there is one.
#[must_use]
pub fn conduct(
    input: &EnergyInput<'_>,
    gate_rule: Option<&str>,
    options: &SummaryOptions,
) -> Conduct {
    let frame = Frame::new(input.approaches);
    Conduct {
        spreads: quantities::rows(&frame, input, options),
        gate_criteria: criteria::rows(&frame, input.gates, options),
        go_arounds: gate_rule
            .map(|rule| decisions::rows(&frame, input.measured, rule, options))
            .unwrap_or_default(),
    }
}

#[cfg(test)]
mod tests;
