//! How much of each shared table is withheld.

use report::input::WithheldLine;
use rules::summarise::GIVES_AWAY;

use super::Subject;

/// One line a table that withholds anything, in the order of `docs/tables.md`.
pub(super) fn lines(subject: &Subject<'_>) -> Vec<WithheldLine> {
    let (summary, energy, conduct) = (subject.summary, subject.energy, subject.conduct);
    /// The reasons of the rows of a table.
    macro_rules! of {
        ($table:literal, $rows:expr) => {
            line($table, $rows.iter().map(|row| row.suppressed.as_deref()))
        };
    }
    let lines = [
        of!("rates", summary.rates),
        of!("trend_monthly", summary.trend_monthly),
        of!("trend_slope", summary.trend_slope),
        of!("hotspots", summary.hotspots),
        of!("training_topics", summary.training_topics),
        of!("interventions", summary.interventions),
        of!("precision", summary.precision),
        of!("coverage", summary.coverage),
        of!("recovery", subject.recovery),
        of!("restated", subject.restated),
        of!("energy_outcomes", energy.outcomes),
        of!("spreads", conduct.spreads),
        of!("gate_criteria", conduct.gate_criteria),
        of!("go_arounds", conduct.go_arounds),
        of!("loss_rates", subject.losses),
        of!("shortcuts", energy.shortcuts),
        of!("recoverability", energy.recoverability),
    ];
    lines
        .into_iter()
        .filter(|line| line.small + line.neighbours > 0)
        .collect()
}

fn line<'a>(table: &str, reasons: impl Iterator<Item = Option<&'a str>>) -> WithheldLine {
    let mut line = WithheldLine {
        table: table.to_owned(),
        ..WithheldLine::default()
    };
    for reason in reasons {
        line.rows += 1;
        match reason {
            None => {}
            Some(GIVES_AWAY) => line.neighbours += 1,
            Some(_) => line.small += 1,
        }
    }
    line
}
