//! The month in five sentences, one for each question a review asks, read off the tables below them.
//!
//! Every claim carries its number with the interval and leads to the row it stands on.

mod answers;

use crate::input::ReportInput;
use crate::words;
use serde::Serialize;

/// One question and its answer.
#[derive(Debug, Serialize)]
pub(crate) struct Answer {
    question: &'static str,
    parts: Vec<Part>,
}

/// A piece of a sentence, perhaps leading somewhere.
#[derive(Debug, Serialize)]
pub(crate) struct Part {
    text: String,
    /// Place on the page; none where it leads nowhere.
    to: Option<String>,
}

impl Part {
    fn plain(text: impl Into<String>) -> Self {
        Self {
            text: text.into(),
            to: None,
        }
    }

    fn to(place: impl Into<String>, text: impl Into<String>) -> Self {
        Self {
            text: text.into(),
            to: Some(place.into()),
        }
    }
}

/// Builds the answers, in the order in which a meeting asks.
pub(crate) fn build(input: &ReportInput) -> Vec<Answer> {
    let answer = |question, parts: Vec<Part>| Answer { question, parts };
    let mut answers = vec![
        answer("Did anything get worse?", answers::month(input)),
        answer("Is it real, and since when?", answers::trend(input)),
        answer("Where?", answers::places(input)),
        answer("What decides it?", answers::decides(input)),
        answer("What to train?", answers::topics(input)),
        answer("What this rests on", answers::basis(input)),
    ];
    answers.retain(|answer| !answer.parts.is_empty());
    answers
}

/// "1 rule", "3 rules".
fn plural(n: u64, one: &str, many: &str) -> String {
    format!("{} {}", words::count(n), if n == 1 { one } else { many })
}

/// Something that is named: its parts, the first of which leads somewhere.
type Thing = Vec<Part>;

/// A name that leads somewhere, and its figures in brackets.
fn thing(place: impl Into<String>, name: impl Into<String>, figures: &str) -> Thing {
    vec![Part::to(place, name), Part::plain(format!(" ({figures})"))]
}

/// Things with a separator between them; of more than `most` the rest is counted.
fn listed(all: Vec<Thing>, most: usize, place: &str) -> Vec<Part> {
    let left = all.len().saturating_sub(most);
    let mut parts = Vec::new();
    for (index, thing) in all.into_iter().take(most).enumerate() {
        if index > 0 {
            parts.push(Part::plain("; "));
        }
        parts.extend(thing);
    }
    if left > 0 {
        parts.push(Part::plain("; and "));
        parts.push(Part::to(
            place,
            format!("{} more", words::count(left as u64)),
        ));
    }
    parts
}
