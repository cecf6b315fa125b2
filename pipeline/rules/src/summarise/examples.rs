//! `examples`: a few approaches to talk a topic of training over with.
//!
//! A typical case teaches more than the worst: it is the one that will be met again, and the extreme one is easily
//! put down as somebody else's. So the events in the middle of their kind come first, and beside them one approach
//! that came out of it. Tails, places, months and types are kept apart, so that the list is of the topic
//! and never the record of an aircraft. Row-level: it names flights, and stays restricted.

mod candidate;
mod choose;
#[cfg(test)]
mod tests;

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use super::core_events::{CoreEvent, core_events};
use super::count::LEVELS;
use super::group::Group;
use super::window::Window;
use super::{Scene, SummaryInput, TopicRow};
use candidate::{Candidate, candidates};
use choose::choose;

/// Topic × place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ExampleRow {
    /// The topic, as in `training_topics`.
    pub topic: String,
    /// From 1 to 3: the order in which to show them.
    pub place: i32,
    /// Opaque flight id.
    pub flight_id: String,
    /// From 1, in flight order.
    pub approach_no: i32,
    /// Rule whose event makes it an example.
    pub rule: String,
    /// Worst level of that rule's events here.
    pub level: String,
    /// `YYYY-MM`; null where unknown.
    pub month: Option<String>,
    /// Airport; null where unknown.
    pub airport: Option<String>,
    /// Runway end; null where unknown.
    pub runway: Option<String>,
    /// Key of a type file.
    pub aircraft_type: Option<String>,
    /// How the approach ended, as in `approaches`.
    pub outcome: String,
    /// `typical` or `recovered`.
    pub why: String,
}

/// The rows: topics of the whole fleet that have a rank, in its order, each with up to three places.
pub(super) fn rows(
    scene: &Scene<'_>,
    input: &SummaryInput<'_>,
    topics: &[TopicRow],
    window: &Window,
) -> Vec<ExampleRow> {
    let mut ranked: Vec<&TopicRow> = topics
        .iter()
        .filter(|row| row.group_kind == Group::Fleet.kind())
        .filter(|row| row.suppressed.is_none() && row.rank.is_some())
        .collect();
    ranked.sort_by_key(|row| row.rank);
    let events = fit(scene, input, window);
    let of_topic: Vec<Vec<Candidate<'_>>> = ranked
        .iter()
        .map(|topic| {
            let is_evidence = |event: &&CoreEvent<'_>| {
                let note = input.rules.get(&event.event.rule);
                note.is_some_and(|note| note.topics.contains(&topic.topic))
            };
            let own: Vec<CoreEvent<'_>> = events.iter().filter(is_evidence).copied().collect();
            candidates(&own, scene.options.governing_gate_ft)
        })
        .collect();
    let chosen = choose(&of_topic);
    let rows = ranked.iter().zip(chosen).flat_map(|(topic, chosen)| {
        (1..)
            .zip(chosen)
            .map(|(place, (candidate, why))| row(&topic.topic, place, candidate, why))
    });
    rows.collect()
}

/// The events that may stand for a topic: in a rate, of the months that topics are counted over, and on an
/// approach of which nobody says that one of its events does not stand. Its page would show that one too.
fn fit<'a>(scene: &Scene<'a>, input: &SummaryInput<'a>, window: &Window) -> Vec<CoreEvent<'a>> {
    let refused: BTreeSet<(&str, i32)> = input
        .verdicts
        .iter()
        .filter(|row| row.verdict == "does not stand")
        .map(|row| (row.flight_id.as_str(), row.approach_no))
        .collect();
    core_events(scene, input)
        .filter(CoreEvent::counts)
        .filter(|one| window.months.contains(&scene.frame.month(one.approach)))
        .filter(|one| !refused.contains(&(one.row.flight_id.as_str(), one.row.approach_no)))
        .collect()
}

fn row(topic: &str, place: i32, candidate: &Candidate<'_>, why: &str) -> ExampleRow {
    let CoreEvent { event, row, .. } = candidate.of;
    ExampleRow {
        topic: topic.to_owned(),
        place,
        flight_id: row.flight_id.clone(),
        approach_no: row.approach_no,
        rule: event.rule.clone(),
        level: LEVELS[candidate.of.level].to_owned(),
        month: row.month.clone(),
        airport: row.airport.clone(),
        runway: row.runway.clone(),
        aircraft_type: row.aircraft_type.clone(),
        outcome: row.outcome.clone(),
        why: why.to_owned(),
    }
}
