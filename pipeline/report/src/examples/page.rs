//! The page as its template sees it.

use serde::Serialize;

use super::input::{Example, Examples, Topic, Why};
use crate::CAUTIONS;

#[derive(Debug, Serialize)]
pub(super) struct Page<'a> {
    fleet_title: &'a str,
    months: Option<String>,
    run_number: u64,
    shown: usize,
    topics: Vec<TopicView<'a>>,
    without: Vec<(String, &'a str)>,
    cautions: &'static [&'static str],
}

#[derive(Debug, Serialize)]
struct TopicView<'a> {
    name: String,
    rank: u32,
    sentence: Option<&'a str>,
    examples: Vec<ExampleView<'a>>,
}

#[derive(Debug, Serialize)]
struct ExampleView<'a> {
    name: String,
    link: Option<&'a str>,
    shows: &'a str,
    level: &'a str,
    place: String,
    month: &'a str,
    aircraft_type: &'a str,
    outcome: &'a str,
    why: &'static str,
}

pub(super) fn build(input: &Examples) -> Page<'_> {
    let all = || input.topics.iter().flat_map(|topic| &topic.examples);
    Page {
        fleet_title: &input.fleet_title,
        months: input.months.as_ref().map(|(from, to)| {
            if from == to {
                from.clone()
            } else {
                format!("{from} to {to}")
            }
        }),
        run_number: input.run_number,
        shown: all().filter(|one| one.link.is_some()).count(),
        topics: input.topics.iter().map(topic).collect(),
        without: input
            .without
            .iter()
            .map(|one| (capital(&one.name), one.why.as_str()))
            .collect(),
        cautions: CAUTIONS,
    }
}

fn topic(topic: &Topic) -> TopicView<'_> {
    TopicView {
        name: capital(&topic.name),
        rank: topic.rank,
        sentence: topic.sentence.as_deref(),
        examples: topic.examples.iter().map(example).collect(),
    }
}

fn example(one: &Example) -> ExampleView<'_> {
    let or_unknown = |name: &'_ Option<String>| name.as_deref().unwrap_or("unknown").to_owned();
    ExampleView {
        name: format!("Flight {}, approach {}", one.flight_id, one.approach_no),
        link: one.link.as_deref(),
        shows: &one.shows,
        level: &one.level,
        place: match &one.runway {
            Some(runway) => format!("{} {runway}", or_unknown(&one.airport)),
            None => or_unknown(&one.airport),
        },
        month: one.month.as_deref().unwrap_or("unknown"),
        aircraft_type: one.aircraft_type.as_deref().unwrap_or("unknown"),
        outcome: &one.outcome,
        why: match one.why {
            Why::Typical => "typical",
            Why::Recovered => "came out of it",
        },
    }
}

/// A name as a heading has it.
fn capital(name: &str) -> String {
    let mut letters = name.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).collect()
}
