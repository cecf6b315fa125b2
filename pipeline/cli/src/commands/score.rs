//! `demo score`: a review against what really happened.

mod fleet;
mod rules;

use std::path::Path;

use demo::Score;

use super::Outcome;
use crate::arguments::{Format, Global};
use crate::context::note_to_stderr;
use crate::failure::Failure;
use crate::show::{Sections, print};

pub(crate) fn run(global: &Global, fleet: &Path, out: &Path) -> Result<Outcome, Failure> {
    let score = demo::score(fleet, out).map_err(Failure::plain)?;
    if global.format == Format::Json {
        let json = serde_json::to_string_pretty(&score).map_err(Failure::plain)?;
        print(global, &format!("{json}\n"))?;
    } else {
        sections(&score).print(global)?;
    }
    for note in &score.notes {
        note_to_stderr(global, note)?;
    }
    let findings = score.findings();
    for finding in &findings {
        note_to_stderr(global, &format!("needs a look: {finding}"))?;
    }
    Ok(if findings.is_empty() {
        let least = demo::score::LEAST_SHARE;
        let mut text = format!(
            "recall and precision of every rule are at least {least}, or there was nothing to find"
        );
        if score.damages.is_some() {
            text.push_str("; no damage passed in silence or caused an event");
        }
        note_to_stderr(global, &text)?;
        Outcome::Clean
    } else {
        Outcome::Findings
    })
}

fn sections(score: &Score) -> Sections {
    let mut sections = Sections::default();
    fleet::flights(score, &mut sections);
    fleet::approaches(score, &mut sections);
    rules::evaluability(score, &mut sections);
    rules::events(score, &mut sections);
    rules::values(score, &mut sections);
    rules::on_damaged(score, &mut sections);
    fleet::damages(score, &mut sections);
    fleet::effects(score, &mut sections);
    sections
}

/// A share in percent; `–` where there is none.
fn percent(share: Option<f64>) -> String {
    share.map_or_else(dash, |share| format!("{:.1}", 100.0 * share))
}

/// A number with about three digits that count.
fn figure(value: f64) -> String {
    match value.abs() {
        size if size >= 100.0 => format!("{value:.0}"),
        size if size >= 10.0 => format!("{value:.1}"),
        size if size >= 0.1 => format!("{value:.2}"),
        _ => format!("{value:.3}"),
    }
}

fn dash() -> String {
    "–".to_owned()
}
