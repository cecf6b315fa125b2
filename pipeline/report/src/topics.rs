//! Topics of training: what to talk about, with the evidence.

use crate::cells::{self, CellView};
use crate::input::{Signal, TopicLine};
use crate::words;
use serde::Serialize;

/// So many topics are read out; the table has them all.
const READ_OUT: usize = 5;

/// The section.
#[derive(Debug, Serialize)]
pub(crate) struct TopicsView<'a> {
    rows: Vec<TopicRow<'a>>,
    sentences: Vec<Sentence<'a>>,
}

/// A topic as an instructor may read it out, and the row it stands on.
#[derive(Debug, Serialize)]
struct Sentence<'a> {
    text: &'a str,
    id: String,
}

/// Place of a topic with a rank, for links.
pub(crate) fn topic_id(rank: u32) -> String {
    format!("topic-{rank}")
}

#[derive(Debug, Serialize)]
struct TopicRow<'a> {
    id: String,
    topic: &'a str,
    rank: String,
    cell: CellView,
    change: &'static str,
    flagged: bool,
    airports: String,
    competencies: String,
}

/// Builds the section; topics with a rank come first, in its order.
pub(crate) fn build(topics: &[TopicLine]) -> TopicsView<'_> {
    let mut ordered: Vec<&TopicLine> = topics.iter().collect();
    ordered.sort_by_key(|line| (line.rank.is_none(), line.rank));
    let shown = |line: &&&TopicLine| line.rank.is_some() && line.cell.suppressed.is_none();
    TopicsView {
        sentences: ordered
            .iter()
            .filter(shown)
            .filter_map(|line| {
                Some(Sentence {
                    text: line.sentence.as_deref()?,
                    id: topic_id(line.rank?),
                })
            })
            .take(READ_OUT)
            .collect(),
        rows: ordered.into_iter().map(row).collect(),
    }
}

fn row(line: &TopicLine) -> TopicRow<'_> {
    let hidden = line.cell.suppressed.is_some();
    let listed = |names: &[String]| {
        if names.is_empty() || hidden {
            "–".to_owned()
        } else {
            names.join(", ")
        }
    };
    TopicRow {
        id: line
            .rank
            .filter(|_| !hidden)
            .map(topic_id)
            .unwrap_or_default(),
        topic: &line.topic,
        rank: match line.rank {
            Some(rank) if !hidden => rank.to_string(),
            _ => "–".to_owned(),
        },
        cell: cells::view(&line.cell),
        change: if hidden {
            "–"
        } else {
            words::signal(line.change)
        },
        flagged: !hidden && matches!(line.change, Signal::Higher | Signal::Lower),
        airports: listed(&line.airports),
        competencies: if line.competencies.is_empty() {
            "–".to_owned()
        } else {
            line.competencies.join(", ")
        },
    }
}
