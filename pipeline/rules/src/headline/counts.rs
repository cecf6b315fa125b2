//! How many rows of each shared table are withheld.

use crate::stages::Summaries;
use crate::summarise::GIVES_AWAY;

/// Rows of one shared table whose figures are withheld.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Withheld {
    /// Name of the table.
    pub table: &'static str,
    /// Its rows.
    pub rows: u64,
    /// Withheld because they rest on too few flights or tail-days.
    pub small: u64,
    /// Withheld because they would give another one away.
    pub neighbours: u64,
}

/// What every table withholds that has a column `suppressed`, in the order of `docs/tables.md`.
#[must_use]
pub fn withheld(tables: &Summaries<'_>) -> Vec<Withheld> {
    /// One table.
    macro_rules! of {
        ($table:literal, $rows:expr) => {
            count($table, $rows.iter().map(|row| row.suppressed.as_deref()))
        };
    }
    let (summary, energy, conduct) = (tables.summary, tables.energy, tables.conduct);
    vec![
        of!("rates", summary.rates),
        of!("trend_monthly", summary.trend_monthly),
        of!("trend_slope", summary.trend_slope),
        of!("hotspots", summary.hotspots),
        of!("training_topics", summary.training_topics),
        of!("interventions", summary.interventions),
        of!("precision", summary.precision),
        of!("coverage", summary.coverage),
        of!("recovery", tables.recovery),
        of!("restated", tables.restated),
        of!("energy_outcomes", energy.outcomes),
        of!("spreads", conduct.spreads),
        of!("gate_criteria", conduct.gate_criteria),
        of!("go_arounds", conduct.go_arounds),
        of!("loss_rates", tables.losses),
        of!("shortcuts", energy.shortcuts),
        of!("recoverability", energy.recoverability),
        of!("robustness", tables.robustness),
    ]
}

fn count<'a>(table: &'static str, reasons: impl Iterator<Item = Option<&'a str>>) -> Withheld {
    let mut withheld = Withheld {
        table,
        rows: 0,
        small: 0,
        neighbours: 0,
    };
    for reason in reasons {
        withheld.rows += 1;
        match reason {
            None => {}
            Some(GIVES_AWAY) => withheld.neighbours += 1,
            Some(_) => withheld.small += 1,
        }
    }
    withheld
}
