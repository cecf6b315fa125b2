//! What is no fault of a rule file and still surely not meant: rules that can never fire or never be
//! judged, levels that an override shadows, overrides that match nothing.

mod evaluable;
mod never;
mod shadow;

use std::collections::{BTreeMap, BTreeSet};

use super::checked::CheckedRule;
use super::fault::{Fault, SourceFile};
use super::pack::check_files;
use super::{RuleContext, RuleText, raw};

/// What is known of a fleet before its records are read.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct FleetFacts {
    /// Keys of its type files.
    pub aircraft_types: BTreeSet<String>,
    /// Runway ends by airport.
    pub runways: BTreeMap<String, BTreeSet<String>>,
    /// What its records can tell: a name for people, and the columns that can hold values. Empty where that
    /// is not known before the records are read.
    pub knowable: Vec<(String, BTreeSet<String>)>,
}

/// A checked rule beside its file.
pub(super) struct Read<'a> {
    pub(super) source: &'a SourceFile,
    pub(super) rule: &'a CheckedRule,
}

/// Every warning about a pack, in the order of files and places; none where a file has a fault, which comes
/// first.
#[must_use]
pub fn warnings(
    files: Vec<RuleText>,
    context: &RuleContext,
    fleet: Option<&FleetFacts>,
) -> Vec<Fault> {
    let (checked, faults) = check_files(files, context);
    if !faults.is_empty() {
        return Vec::new();
    }
    let mut found = Vec::new();
    for (source, rule) in &checked {
        let read = Read { source, rule };
        found.extend(never::warnings(&read, context));
        found.extend(shadow::warnings(&read));
        // Nobody can change the places of the demo fleet in the pack that comes with the program.
        if let Some(fleet) = fleet.filter(|_| !rule.is_builtin()) {
            found.extend(unmatched(&read, fleet));
        }
    }
    if let Some(fleet) = fleet {
        found.extend(evaluable::warnings(&checked, fleet));
    }
    found.sort_by(|one, two| {
        (&one.path, one.span.start, &one.message).cmp(&(&two.path, two.span.start, &two.message))
    });
    found
}

/// Overrides that name a type or a place which the fleet does not have.
fn unmatched(read: &Read<'_>, fleet: &FleetFacts) -> Vec<Fault> {
    // Read again for their places in the file: the checked rule keeps none.
    let (Some(raw), _) = raw::read(read.source) else {
        return Vec::new();
    };
    let mut found = Vec::new();
    for (one, raw) in read.rule.overrides.iter().zip(&raw.overrides) {
        let unknown_type = one
            .aircraft_type
            .as_ref()
            .filter(|name| !fleet.aircraft_types.contains(*name))
            .map(|name| {
                (
                    "aircraft type",
                    name.clone(),
                    list(fleet.aircraft_types.iter()),
                )
            });
        let unknown_place = one.airport.as_ref().and_then(|airport| {
            match (fleet.runways.get(airport), &one.runway) {
                (None, _) => Some(("airport", airport.clone(), list(fleet.runways.keys()))),
                (Some(ends), Some(end)) if !ends.contains(end) => {
                    Some(("runway", format!("{airport} {end}"), list(ends.iter())))
                }
                _ => None,
            }
        });
        for (what, name, known) in unknown_type.into_iter().chain(unknown_place) {
            let message = format!("the override matches nothing: the fleet has no {what} {name}");
            let fault = read
                .source
                .fault(raw.span.clone(), message, "changes nothing here");
            found.push(fault.warning().help(format!("the fleet has {known}")));
        }
    }
    found
}

/// A few names, for a message.
fn list<'n>(names: impl Iterator<Item = &'n String>) -> String {
    const SHOWN: usize = 12;
    let all: Vec<&str> = names.map(String::as_str).collect();
    match all.len() {
        0 => "none".to_owned(),
        n if n <= SHOWN => all.join(", "),
        n => format!("{} and {} more", all[..SHOWN].join(", "), n - SHOWN),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
