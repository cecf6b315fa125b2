//! `rules check`: every fault, and what is surely not meant.

use std::io::Write as _;

use records::fleet::Fleet;
use records::knowable::knowable;
use rules::rule_file::{FleetFacts, RuleContext, pack_texts, warnings};

use super::super::Outcome;
use crate::arguments::{Global, Pack};
use crate::context::{note_to_stderr, open_fleet, or_builtin, read_rules};
use crate::failure::Failure;
use crate::show::Sheet;

pub(super) fn check(global: &Global, pack: &Pack) -> Result<Outcome, Failure> {
    let fleet = match &pack.fleet {
        Some(fleet) => Some(open_fleet(global, fleet)?),
        None => None,
    };
    let catalogue = fleet
        .as_ref()
        .map(|fleet| fleet.catalogue.clone())
        .unwrap_or_default();
    let rules = read_rules(&catalogue, &pack.folders)?;
    let texts = pack_texts(&or_builtin(&pack.folders)).map_err(Failure::diagnostic)?;
    let facts = fleet.as_ref().map(facts);
    let warned = warnings(texts, &RuleContext::of(&catalogue), facts.as_ref());
    if !global.quiet {
        let mut stderr = std::io::stderr().lock();
        for warning in &warned {
            write!(stderr, "{:?}", miette::Report::new(warning.clone()))?;
        }
    }
    let mut sheet = Sheet::new(&["rule", "version", "reads"]);
    for rule in &rules {
        let inputs: Vec<String> = rule.inputs().into_iter().collect();
        sheet.row([rule.id.clone(), rule.version.to_string(), inputs.join(", ")]);
    }
    sheet.print(global)?;
    let counted = match warned.len() {
        0 => String::new(),
        1 => ", 1 warning".to_owned(),
        many => format!(", {many} warnings"),
    };
    note_to_stderr(global, &format!("{} rules, no fault{counted}", rules.len()))?;
    Ok(Outcome::Clean)
}

/// What is known of a fleet before its records are read.
fn facts(fleet: &Fleet) -> FleetFacts {
    let mut facts = FleetFacts {
        aircraft_types: fleet.aircraft.keys().cloned().collect(),
        ..FleetFacts::default()
    };
    for end in &fleet.runways.ends {
        let ends = facts.runways.entry(end.airport.clone()).or_default();
        ends.insert(end.ident.clone());
    }
    facts.knowable = knowable(fleet)
        .into_iter()
        .map(|one| {
            let name = match &one.aircraft_type {
                Some(name) => format!("type {name} with parameter map {}", one.map),
                None => format!("parameter map {}", one.map),
            };
            (name, one.columns)
        })
        .collect();
    facts
}
