//! `rules explain`: what the program makes of a pack.

use std::fmt::Write as _;

use records::samples;
use rules::rule_file::meaning;

use super::super::Outcome;
use super::show::one;
use crate::arguments::{Explain, ExplainStage, Global};
use crate::context::{engine, note_to_stderr, read_rules};
use crate::failure::Failure;
use crate::show::print;

pub(super) fn explain(global: &Global, command: &Explain) -> Result<Outcome, Failure> {
    let catalogue = super::catalogue(global, command.fleet.as_deref())?;
    let pack = read_rules(&catalogue, &command.rules)?;
    let mut asked = Vec::new();
    for id in &command.rule {
        asked.push(one(&pack, id)?.clone());
    }
    let asked = if asked.is_empty() { pack } else { asked };
    match command.stage {
        ExplainStage::Checked => {
            let mut text = String::new();
            for rule in &asked {
                // Writing to a string cannot fail.
                let _ = writeln!(text, "{}", meaning(rule));
            }
            print(global, &text)?;
        }
        ExplainStage::Plan => {
            let engine = engine(global)?;
            let plan = engine
                .explain_empty(&asked, &samples::schema(&catalogue))
                .map_err(Failure::plain)?;
            print(global, &format!("{}\n", plan.text))?;
            let text = format!(
                "{} rules: {} aggregate over {} scan, {} arguments",
                asked.len(),
                plan.aggregates,
                plan.scans,
                plan.arguments
            );
            note_to_stderr(global, &text)?;
        }
    }
    Ok(Outcome::Clean)
}
