//! Damaged records: refused, noted, or passed in silence, and what that did to the events.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use serde::{Deserialize, Serialize};

use super::flown::Flown;
use super::notes::{Notes, note};
use super::quarantine::Refusals;
use super::rules::OneSided;
use super::table;
use super::{EXAMPLES, ScoreError};

#[derive(Deserialize)]
struct Row {
    flight_id: String,
    kind: String,
    parameter: Option<String>,
    file: String,
}

/// One damage.
#[derive(Clone, Debug)]
pub(super) struct Damage {
    pub(super) flight: u32,
    pub(super) kind: String,
    /// Catalogue name; `None` = the whole record.
    pub(super) parameter: Option<String>,
    /// Relative to the fleet folder.
    pub(super) file: String,
}

/// One kind of damage.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct DamageScore {
    /// Kind.
    pub kind: String,
    /// Flights that have it.
    pub flights: u64,
    /// Those of which a record was refused.
    pub refused: u64,
    /// Why, with the number of flights.
    pub reasons: BTreeMap<String, u64>,
    /// Those that were not refused, and on which every damage of the kind is noted.
    pub noted: u64,
    /// What stands out on them, with the number of flights.
    pub notes: BTreeMap<String, u64>,
    /// Those neither refused nor noted.
    pub silent: u64,
    /// These by damaged parameter.
    pub silent_of: Vec<DamageGroup>,
    /// Events of the review that the truth does not have on these flights, outside the band.
    pub events_caused: u64,
    /// These by rule.
    pub caused_by_rule: Vec<DamageGroup>,
    /// Events of the truth that the review calls clear on these flights, outside the band.
    pub events_lost_as_clear: u64,
    /// Events of the truth on approaches that were found, but not judged by that rule.
    pub events_lost_unjudged: u64,
    /// Events of the truth on approaches that were not found.
    pub events_lost_not_found: u64,
}

/// Damaged flights that have a parameter or a rule in common.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct DamageGroup {
    /// Damaged parameter, or rule of the event; null = the whole record.
    pub of: Option<String>,
    /// How often.
    pub count: u64,
    /// Some of the flights.
    pub flight_ids: Vec<String>,
}

/// All damages; `None` where the fleet has no such table.
pub(super) fn read(fleet: &Path, flown: &mut Flown) -> Result<Option<Vec<Damage>>, ScoreError> {
    let path = fleet.join("truth").join("damages.parquet");
    if !path.exists() {
        return Ok(None);
    }
    let mut damages = Vec::new();
    table::of_truth(&path, |row: Row| {
        damages.push(Damage {
            flight: flown.flights.add(&row.flight_id),
            kind: row.kind,
            parameter: row.parameter,
            file: row.file,
        });
        Ok(())
    })?;
    Ok(Some(damages))
}

/// The damaged flights of each file.
pub(super) fn flights_of_files(damages: &[Damage]) -> BTreeMap<String, BTreeSet<u32>> {
    let mut flights: BTreeMap<String, BTreeSet<u32>> = BTreeMap::new();
    for damage in damages {
        flights
            .entry(damage.file.clone())
            .or_default()
            .insert(damage.flight);
    }
    flights
}

/// Scores each kind, in the order of their names.
pub(super) fn score(
    damages: &[Damage],
    flown: &Flown,
    refusals: &Refusals,
    notes: &Notes<'_>,
) -> Vec<DamageScore> {
    let mut kinds: BTreeMap<&str, BTreeMap<u32, Vec<&Damage>>> = BTreeMap::new();
    for damage in damages {
        let flights = kinds.entry(&damage.kind).or_default();
        flights.entry(damage.flight).or_default().push(damage);
    }
    let scored = kinds.into_iter().map(|(kind, flights)| {
        let mut score = DamageScore {
            kind: kind.to_owned(),
            flights: flights.len() as u64,
            ..DamageScore::default()
        };
        for (flight, damages) in flights {
            let id = flown.flights.word(flight);
            match refusals.of_flight.get(&flight) {
                Some(reasons) => score.refuse(reasons),
                None => score.look(id, &damages, notes),
            }
            // A criterion that differs is no event: its gate tells.
            let differences = notes.one_sided(flight).iter();
            for (rule, what) in differences.filter(|(rule, _)| !rule.contains('.')) {
                score.event(id, rule, *what);
            }
        }
        score
    });
    scored.collect()
}

impl DamageScore {
    fn refuse(&mut self, reasons: &BTreeSet<String>) {
        self.refused += 1;
        for reason in reasons {
            *self.reasons.entry(reason.clone()).or_default() += 1;
        }
    }

    /// Noted only where no damage of the kind passed in silence.
    fn look(&mut self, flight_id: &str, damages: &[&Damage], notes: &Notes<'_>) {
        let mut seen = BTreeSet::new();
        let mut silent = None;
        for damage in damages {
            let found = note(damage, notes);
            if found.is_empty() && silent.is_none() {
                silent = Some(damage);
            }
            seen.extend(found);
        }
        let Some(damage) = silent else {
            self.noted += 1;
            for note in seen {
                *self.notes.entry(note).or_default() += 1;
            }
            return;
        };
        self.silent += 1;
        group(&mut self.silent_of, flight_id, damage.parameter.as_deref());
    }

    fn event(&mut self, flight_id: &str, rule: &str, what: OneSided) {
        match what {
            OneSided::Unjudged => {}
            OneSided::Caused => {
                self.events_caused += 1;
                group(&mut self.caused_by_rule, flight_id, Some(rule));
            }
            OneSided::LostAsClear => self.events_lost_as_clear += 1,
            OneSided::LostUnjudged => self.events_lost_unjudged += 1,
            OneSided::LostNotFound => self.events_lost_not_found += 1,
        }
    }
}

/// Counts a flight where it belongs, in order of the names.
fn group(groups: &mut Vec<DamageGroup>, flight_id: &str, of: Option<&str>) {
    let place = groups.binary_search_by(|group| group.of.as_deref().cmp(&of));
    let place = place.unwrap_or_else(|place| {
        groups.insert(
            place,
            DamageGroup {
                of: of.map(str::to_owned),
                count: 0,
                flight_ids: Vec::new(),
            },
        );
        place
    });
    let group = &mut groups[place];
    group.count += 1;
    if group.flight_ids.len() < EXAMPLES {
        group.flight_ids.push(flight_id.to_owned());
    }
}
