//! Compares a finished review with the truth of an invented fleet.
//!
//! Both are read as tables, in their published columns and nothing else: what is scored shares no
//! code with what scores. Verdicts that a recorder may blur, those within the truth's own band, are
//! left out of every comparison and counted apart.

mod approaches;
mod compare;
mod damages;
mod effects;
mod error;
mod flown;
mod found;
mod grid;
mod judged;
mod listed;
mod names;
mod notes;
mod places;
mod quality;
mod quarantine;
mod rules;
mod series;
mod share;
mod shared;
mod spread;
mod table;
mod told;
mod verdict;

use std::collections::HashMap;
use std::fs;
use std::path::Path;

use serde::{Deserialize, Serialize};

pub use approaches::{ApproachDifference, ApproachScore};
pub use damages::{DamageGroup, DamageScore};
pub use effects::{EffectScore, EffectsScore, Verdict};
pub use error::ScoreError;
pub use listed::FlightScore;
pub use places::{PlaceExample, PlacesScore};
pub use rules::{RuleScore, Values, Verdicts};
pub use share::Share;
pub use spread::Spread;
pub use verdict::LEAST_SHARE;

use flown::Flown;
use found::Found;
use grid::Grid;
use notes::Notes;
use quality::Quality;
use rules::{OneSided, Sides};

/// How many examples are given of one kind of difference.
pub const EXAMPLES: usize = 5;

/// A review against the truth. Null is nothing to say, never zero.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Score {
    /// Month under review, where the review was asked for one; later approaches are left out.
    pub month: Option<String>,
    /// Whether the flights add up; null where the fleet has no flight list.
    pub flights: Option<FlightScore>,
    /// Approaches of flights without damage.
    pub approaches: ApproachScore,
    /// Approaches of damaged flights; null where the truth tells of no damage.
    pub approaches_of_damaged: Option<ApproachScore>,
    /// Rules first, then the criteria of the gates.
    pub rules: Vec<RuleScore>,
    /// By kind of damage; null where the truth tells of none.
    pub damages: Option<Vec<DamageScore>>,
    /// Fleet-level effects; null where the truth lists none.
    pub effects: Option<EffectsScore>,
    /// What could not be scored, and why.
    pub notes: Vec<String>,
}

#[derive(Deserialize)]
struct Run {
    month: Option<String>,
}

/// Compares the review in `out` with the truth of the fleet in `fleet`.
///
/// # Errors
/// When a table is missing, unreadable or not of its form, or the two have no flight in common.
pub fn score(fleet: &Path, out: &Path) -> Result<Score, ScoreError> {
    let month = month(out)?;
    let mut notes = Vec::new();
    let mut flown = Flown::read(fleet, month.as_deref())?;
    let mut grid = Grid::read(fleet, &flown)?;
    let listed = listed::read(fleet, &mut flown)?;
    let damages = damages::read(fleet, &mut flown)?;
    let found = Found::read(out, &mut flown)?;
    let beyond = judged::read(out, &flown, &found, &mut grid)?;
    note_absences(&mut notes, &flown, &damages, &listed);
    note_unscored(&mut notes, &found, &beyond);

    let mut damaged = vec![false; flown.flights.len()];
    for damage in damages.iter().flatten() {
        damaged[damage.flight as usize] = true;
    }
    let is_damaged = |flight: u32| damaged.get(flight as usize).copied().unwrap_or(false);

    let mut one_sided: HashMap<u32, Vec<(String, OneSided)>> = HashMap::new();
    let rules = rules::score(
        &grid,
        &beyond,
        &mut Sides {
            flight_of: &flown
                .approaches
                .iter()
                .map(|a| a.flight)
                .collect::<Vec<_>>(),
            is_found: &found
                .of_flown
                .iter()
                .map(Option::is_some)
                .collect::<Vec<_>>(),
            is_damaged: &is_damaged,
            one_sided: &mut |flight, rule, what| {
                let events = one_sided.entry(flight).or_default();
                events.push((rule.to_owned(), what));
            },
        },
    );
    drop(grid);

    let quality = Quality::read(out, &mut flown, &is_damaged)?;
    let of_file = damages::flights_of_files(damages.as_deref().unwrap_or_default());
    let refusals = quarantine::read(out, &flown, &of_file)?;
    let scored_damages = damages.as_ref().map(|damages| {
        let notes = Notes::new(&flown, &found, &quality, &one_sided, &is_damaged);
        damages::score(damages, &flown, &refusals, &notes)
    });
    let is_refused = |flight: u32| refusals.of_flight.contains_key(&flight);
    let approaches = |damaged: bool| {
        let counted = |flight: u32| is_damaged(flight) == damaged;
        approaches::score(&flown, &found, &counted, &is_refused)
    };
    let effects = effects::score(fleet, out)?
        .map_err(|why| notes.push(format!("effects are not scored: {why}")))
        .ok();
    Ok(Score {
        month,
        flights: listed.map(|listed| listed::score(&listed, &quality.loaded, &refusals, &flown)),
        approaches: approaches(false),
        approaches_of_damaged: damages.is_some().then(|| approaches(true)),
        rules,
        damages: scored_damages,
        effects,
        notes,
    })
}

/// The month that the review was asked for.
fn month(out: &Path) -> Result<Option<String>, ScoreError> {
    let path = out.join("share/run.json");
    let text = fs::read_to_string(&path).map_err(|source| match source.kind() {
        std::io::ErrorKind::NotFound => ScoreError::NoReview { path: path.clone() },
        _ => ScoreError::File {
            path: path.clone(),
            source,
        },
    })?;
    let run: Run =
        serde_json::from_str(&text).map_err(|source| ScoreError::Json { path, source })?;
    Ok(run.month)
}

fn note_absences(
    notes: &mut Vec<String>,
    flown: &Flown,
    damages: &Option<Vec<damages::Damage>>,
    listed: &Option<Vec<u32>>,
) {
    if listed.is_none() {
        notes.push("the fleet has no flights.parquet: flights are not counted".to_owned());
    }
    if damages.is_none() {
        let text = "the fleet has no truth/damages.parquet: its flights are taken as undamaged";
        notes.push(text.to_owned());
    }
    if flown.later > 0 {
        notes.push(format!(
            "{} approaches are later than the month under review and left out",
            flown.later
        ));
    }
}

fn note_unscored(notes: &mut Vec<String>, found: &Found, beyond: &judged::Beyond) {
    let unknown = found.unknown_flights();
    if unknown > 0 {
        notes.push(format!(
            "{unknown} flights of the review are not in the fleet and not scored: copies under \
             another name, or ids that `privacy.rekey` replaced because they look like dates or \
             registrations"
        ));
    }
    if !beyond.unknown_rules.is_empty() {
        let rules: Vec<&str> = beyond.unknown_rules.iter().map(String::as_str).collect();
        notes.push(format!(
            "not scored, as the truth does not speak of them: {}",
            rules.join(", ")
        ));
    }
}
