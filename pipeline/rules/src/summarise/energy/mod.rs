//! The energy of the fleet: which class at which checkpoint ended how, which checkpoint decides, and what
//! each configuration really loses.
//!
//! Predictive, not causal: a checkpoint tells who will be unstable, not why.

mod calibrate;
mod decisive;
mod frontier;
mod outcomes;
mod rows;
mod shortcuts;
mod verdict;

use records::energy::EnergyClass;
use records::rows::{ApproachRow, ArrivalRow};

pub use calibrate::{LossTable, calibrate, loss_rates, reclassify};
pub use rows::{DecisiveRow, LossRateRow, OutcomeRow, RecoverabilityRow, ShortcutRow};
pub use shortcuts::Routing;
pub use verdict::settle_approaches;

use shortcuts::Ledger;

use super::SummaryOptions;
use super::facts::{Checkpoints, Gates, Measured, Moves};

/// Checkpoints in the order in which they are flown.
pub const CHECKPOINTS: [&str; 9] = [
    "20nm", "15nm", "10nm", "7nm", "5nm", "4nm", "3nm", "1000ft", "500ft",
];

/// Tables of the energy of the fleet that may be passed round.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Energy {
    /// Rule whose verdict an approach is held against; none where no gate stands at the governing height.
    pub gate_rule: Option<String>,
    /// Group × checkpoint × class: how it ended.
    pub outcomes: Vec<OutcomeRow>,
    /// Group × checkpoint: how well its class tells the end.
    pub decisive: Vec<DecisiveRow>,
    /// Route × routing: what direct routings take away and do.
    pub shortcuts: Vec<ShortcutRow>,
    /// Type × mass × drag × excess: how close in it still worked.
    pub recoverability: Vec<RecoverabilityRow>,
}

/// What the energy tables are made of.
#[derive(Debug, Clone, Copy)]
pub struct EnergyInput<'a> {
    /// All approaches.
    pub approaches: &'a [ApproachRow],
    /// Their energy at the checkpoints.
    pub checkpoints: &'a Checkpoints,
    /// How they came in.
    pub arrivals: &'a [ArrivalRow],
    /// When drag was taken.
    pub lever_moves: &'a Moves,
    /// Verdicts.
    pub measured: &'a Measured,
    /// Criteria, which tell at which height a rule's gate stands.
    pub gates: &'a Gates,
}

/// Summarises the energy of the fleet.
#[must_use]
pub fn energy(input: &EnergyInput<'_>, options: &SummaryOptions) -> Energy {
    let gate_rule = input.gates.rule_at(options.governing_gate_ft);
    let ended = gate_rule
        .as_deref()
        .map(|rule| verdict::ended(input, rule))
        .unwrap_or_default();
    let ledger = Ledger::of(input.approaches, input.arrivals, options);
    Energy {
        outcomes: outcomes::outcomes(&ended, &ledger, options),
        shortcuts: shortcuts::shortcuts(&ledger, &ended, input.checkpoints, options),
        recoverability: frontier::frontier(&ended, input.lever_moves, options),
        decisive: decisive::decisive(&ended, options),
        gate_rule,
    }
}

/// Number of a class, in the order of [`EnergyClass::ALL`].
pub(super) fn class_number(name: &str) -> Option<usize> {
    EnergyClass::ALL
        .iter()
        .position(|class| class.as_str() == name)
}

#[cfg(test)]
mod tests;
