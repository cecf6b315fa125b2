//! How approaches are flown: energy on the way in, flaps against their limits, what fails at the gates, what
//! follows, and what routings do.

mod bands;
mod decisions;
mod energy;
mod gates;
mod ledger;
mod margins;
mod outcomes;

use crate::input::{Flown, ShareCell};
use crate::plots::shares;
use serde::Serialize;

pub(crate) use gates::name as criterion;
pub(crate) use outcomes::sentence as decisive;

/// The section.
#[derive(Debug, Serialize)]
pub(crate) struct FlownView {
    energy: energy::EnergyView,
    outcomes: outcomes::OutcomesView,
    margins: margins::MarginsView,
    gates: gates::GatesView,
    decisions: decisions::DecisionsView,
    ledger: ledger::LedgerView,
}

/// Builds the section.
pub(crate) fn build(flown: &Flown) -> FlownView {
    FlownView {
        energy: energy::build(&flown.energy),
        outcomes: outcomes::build(&flown.outcomes, &flown.decisive),
        margins: margins::build(&flown.margins),
        gates: gates::build(flown),
        decisions: decisions::build(&flown.decisions),
        ledger: ledger::build(flown),
    }
}

/// A share as a table shows it.
#[derive(Debug, Serialize)]
pub(crate) struct ShareView {
    /// Whether there are figures; otherwise the words stand alone.
    known: bool,
    approaches: String,
    part: String,
    share: String,
    interval: String,
    words: String,
}

/// Words for a share.
pub(crate) fn share(cell: &ShareCell) -> ShareView {
    use crate::words::{count_or_unknown, percent};
    let figures = shares::drawn(cell);
    let of = |read: fn((f64, f64, f64)) -> String| figures.map(read).unwrap_or_default();
    let shown = |count: Option<u64>| match cell.suppressed {
        Some(_) => String::new(),
        None => count_or_unknown(count),
    };
    ShareView {
        known: figures.is_some(),
        approaches: shown(cell.approaches),
        part: shown(cell.part),
        share: of(|(share, _, _)| percent(share)),
        interval: of(|(_, low, high)| format!("{} to {}", percent(low), percent(high))),
        words: shares::in_words(cell),
    }
}

/// "20nm" → "20 NM", "1000ft" → "1,000 ft".
pub(crate) fn checkpoint(name: &str) -> String {
    let (number, unit) = match name.strip_suffix("nm") {
        Some(number) => (number, "NM"),
        None => match name.strip_suffix("ft") {
            Some(number) => (number, "ft"),
            None => return name.to_owned(),
        },
    };
    match number.parse() {
        Ok(number) => format!("{} {unit}", crate::words::count(number)),
        Err(_) => name.to_owned(),
    }
}

/// An energy class in words: what it would have taken.
pub(crate) fn class(name: &str) -> &str {
    match name {
        "low" => "below the plan",
        "on_profile" => "on the plan",
        "clean" => "high: idle is enough",
        "drag" => "high: flap or speedbrake",
        "gear" => "high: only the gear",
        "beyond" => "high: nothing is enough",
        other => other,
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn checkpoints_are_written_with_their_unit() {
        assert_eq!(super::checkpoint("20nm"), "20 NM");
        assert_eq!(super::checkpoint("1000ft"), "1,000 ft");
        assert_eq!(super::checkpoint("elsewhere"), "elsewhere");
    }
}
