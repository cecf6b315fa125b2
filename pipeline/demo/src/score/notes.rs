//! What counts as a fair note of a damage: where a reader of the review would look for it.
//!
//! | damage | fair note |
//! |---|---|
//! | of a parameter | a figure of it in `quality` that stands out |
//! | of the whole record | `quality` of `time_s` says what was done, or a figure stands out on a quarter of the parameters |
//!
//! and besides
//!
//! | kind | fair note |
//! |---|---|
//! | `missing_channel` | `missing_columns` of every approach names the parameter |
//! | `short_record`, `truncated_file` | an approach that is `incomplete` or `landing_unseen`, or a rule that could have fired and is said not to be evaluable |
//! | `wrong_qnh` | `quality` of `qnh_hpa` or `baro_altitude_ft` says so, or the heights of every approach rest on something else, as `height_source` says |
//!
//! A figure stands out where it is beyond that of 95 % of the undamaged flights of the type.

use std::collections::{BTreeMap, HashMap};

use super::damages::Damage;
use super::flown::Flown;
use super::found::{Found, Seen};
use super::quality::Quality;
use super::rules::OneSided;

/// Where notes are looked for.
pub(super) struct Notes<'a> {
    flown: &'a Flown,
    found: &'a Found,
    quality: &'a Quality,
    /// Approaches of the damaged flights, as places in `found`.
    approaches: HashMap<u32, Vec<usize>>,
    /// How many undamaged approaches of a type name a column as missing, and how many there are.
    missing: BTreeMap<u32, (u64, BTreeMap<String, u64>)>,
    one_sided: &'a HashMap<u32, Vec<(String, OneSided)>>,
}

/// Columns that this share of the undamaged approaches of a type miss too are nothing to note.
const ORDINARY_MISSES: f64 = 0.05;

impl<'a> Notes<'a> {
    /// Sorts the approaches of the review by whether their flight is damaged.
    pub(super) fn new(
        flown: &'a Flown,
        found: &'a Found,
        quality: &'a Quality,
        one_sided: &'a HashMap<u32, Vec<(String, OneSided)>>,
        is_damaged: &dyn Fn(u32) -> bool,
    ) -> Self {
        let mut notes = Self {
            flown,
            found,
            quality,
            approaches: HashMap::new(),
            missing: BTreeMap::new(),
            one_sided,
        };
        for (place, seen) in found.approaches.iter().enumerate() {
            let flight = seen.approach.flight;
            if is_damaged(flight) {
                notes.approaches.entry(flight).or_default().push(place);
            } else if let Some(kind) = flown.type_of.get(&flight) {
                let columns = notes.missing_columns(seen);
                let (all, missing) = notes.missing.entry(*kind).or_default();
                *all += 1;
                for column in columns {
                    *missing.entry(column.to_owned()).or_default() += 1;
                }
            }
        }
        notes
    }

    fn missing_columns(&self, seen: &Seen) -> Vec<&'a str> {
        let list = self.flown.words.word(seen.missing_columns);
        list.split(',')
            .filter(|column| !column.is_empty())
            .collect()
    }

    fn approaches(&self, flight: u32) -> impl Iterator<Item = &'a Seen> {
        let places = self.approaches.get(&flight).into_iter().flatten();
        places.map(|place| &self.found.approaches[*place])
    }

    fn in_quality(&self, flight: u32, parameters: &[&str]) -> Vec<String> {
        let found = parameters
            .iter()
            .flat_map(|parameter| self.quality.notes(self.flown, flight, parameter));
        found.map(str::to_owned).collect()
    }

    fn on_many(&self, flight: u32) -> Vec<String> {
        let found = self.quality.notes_on_many(self.flown, flight);
        found.into_iter().map(str::to_owned).collect()
    }

    /// Whether every approach of the flight names the parameter as missing, as few others do.
    fn names_missing(&self, flight: u32, parameter: &str) -> bool {
        let kind = self.flown.type_of.get(&flight);
        let ordinary = kind.and_then(|kind| self.missing.get(kind));
        // An acceleration is stored as its least and its greatest.
        let is_it = |column: &&str| {
            *column == parameter
                || ["_min", "_max"]
                    .iter()
                    .any(|end| column.strip_suffix(end) == Some(parameter))
        };
        let is_rare = |column: &str| {
            ordinary.is_none_or(|(all, missing)| {
                let times = missing.get(column).copied().unwrap_or_default();
                times as f64 <= ORDINARY_MISSES * *all as f64
            })
        };
        let mut seen = self.approaches(flight).peekable();
        seen.peek().is_some()
            && seen.all(|seen| {
                let columns = self.missing_columns(seen);
                columns
                    .iter()
                    .filter(|column| is_it(column))
                    .any(|column| is_rare(column))
            })
    }

    fn all_heights_rest_elsewhere(&self, flight: u32) -> bool {
        let mut seen = self.approaches(flight).peekable();
        seen.peek().is_some() && seen.all(|seen| self.flown.words.word(seen.height_source) != "qnh")
    }

    /// Where verdicts on the flight differ from the truth.
    pub(super) fn one_sided(&self, flight: u32) -> &'a [(String, OneSided)] {
        self.one_sided.get(&flight).map_or(&[], Vec::as_slice)
    }

    fn is_unjudged(&self, flight: u32) -> bool {
        let mut differences = self.one_sided(flight).iter();
        differences.any(|(_, what)| *what == OneSided::Unjudged)
    }

    fn ends_early(&self, flight: u32) -> bool {
        self.approaches(flight).any(|seen| {
            let outcome = self.flown.words.word(seen.approach.outcome);
            matches!(outcome, "incomplete" | "landing_unseen")
        })
    }
}

/// How the review notes a damage; empty = not at all.
pub(super) fn note(damage: &Damage, notes: &Notes<'_>) -> Vec<String> {
    let flight = damage.flight;
    let mut found = match &damage.parameter {
        Some(parameter) => notes.in_quality(flight, &[parameter]),
        None => {
            let times = notes.in_quality(flight, &["time_s"]);
            let times = times
                .into_iter()
                .map(|figure| format!("{figure} of time_s"));
            times.chain(notes.on_many(flight)).collect()
        }
    };
    let mut add = |is_noted: bool, note: &str| {
        if is_noted {
            found.push(note.to_owned());
        }
    };
    match damage.kind.as_str() {
        "missing_channel" => {
            let named = damage.parameter.as_deref();
            let is_named = named.is_some_and(|parameter| notes.names_missing(flight, parameter));
            add(is_named, "missing_columns");
        }
        "short_record" | "truncated_file" => {
            add(notes.ends_early(flight), "outcome");
            add(notes.is_unjudged(flight), "rules not evaluable");
        }
        "wrong_qnh" => {
            let settings = ["qnh_hpa", "baro_altitude_ft"];
            add(!notes.in_quality(flight, &settings).is_empty(), "settings");
            add(notes.all_heights_rest_elsewhere(flight), "height_source");
        }
        _ => {}
    }
    found
}
