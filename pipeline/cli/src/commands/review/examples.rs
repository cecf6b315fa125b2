//! Example approaches of each topic of training: their pages, and the page that leads to them.
//!
//! They are read from the store as it was after the run of the review, all at once: a table is read as often for
//! twenty approaches as for one.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;
use report::ReportError;
use report::examples::{Example, Examples, FOLDER, Topic, Why, WithoutExamples};
use rules::stages::{ExamplePages, restricted_folder};
use rules::store::{FoundApproach, Store, find_approaches, read_approach};
use rules::summarise::{ExampleRow, TopicRow};

use super::Run;
use crate::commands::access;
use crate::commands::retrace::found::Stored;
use crate::context::note_to_stderr;
use crate::failure::Failure;
use crate::report_input::Subject;

type Key<'a> = (&'a str, i32);

/// The pages of the examples of a review. That they are written is noted before they are.
pub(super) fn examples(run: &Run<'_>, subject: &Subject<'_>) -> Result<ExamplePages, Failure> {
    tracing::info!(stage = "examples", "begins");
    let chosen = &subject.summary.examples;
    let pages = pages(&run.store, subject.run_number, chosen)?;
    let wanted: BTreeSet<Key<'_>> = chosen.iter().map(key).collect();
    if pages.len() < wanted.len() {
        let text = format!(
            "{} of {} example approaches cannot be shown any more: their samples can no longer be read; \
             `glidetally store verify` tells what is wrong with the store",
            wanted.len() - pages.len(),
            wanted.len()
        );
        note_to_stderr(run.global, &text)?;
    }
    let index = report::examples::render(&index(subject, &pages)).map_err(Failure::plain)?;
    if !pages.is_empty() {
        let restricted = restricted_folder(&run.stage.out).map_err(Failure::plain)?;
        let what = format!(
            "written, {} approaches, run {}",
            pages.len(),
            subject.run_number
        );
        access::note(&restricted, "examples", "-", &what)?;
    }
    let named = |((flight, number), html): (Key<'_>, String)| {
        (access::page_name(flight, number), html.into_bytes())
    };
    Ok(ExamplePages {
        index: index.into_bytes(),
        pages: pages.into_iter().map(named).collect(),
    })
}

fn key(row: &ExampleRow) -> Key<'_> {
    (&row.flight_id, row.approach_no)
}

/// The page of every chosen approach whose samples can be read.
fn pages<'a>(
    store: &Store,
    number: u64,
    chosen: &'a [ExampleRow],
) -> Result<BTreeMap<Key<'a>, String>, Failure> {
    let wanted: BTreeSet<Key<'a>> = chosen.iter().map(key).collect();
    if wanted.is_empty() {
        return Ok(BTreeMap::new());
    }
    let own = |flight: &str, approach: i32| wanted.contains(&(flight, approach));
    let found = find_approaches(store, number, |row| own(&row.flight_id, row.approach_no))
        .map_err(Failure::plain)?;
    let stored = Stored::read(store, number, &own)?;
    // Each is drawn by itself: most of the work is reading its samples.
    let wanted: Vec<Key<'a>> = wanted.into_iter().collect();
    let pages: Vec<Option<String>> = wanted
        .par_iter()
        .map(|key| {
            let own =
                |one: &&FoundApproach| (one.row.flight_id.as_str(), one.row.approach_no) == *key;
            let html = found
                .iter()
                .find(own)
                .map(|one| page(store, number, one, &stored));
            Ok(html.transpose()?.flatten())
        })
        .collect::<Result<_, Failure>>()?;
    let pages = wanted.into_iter().zip(pages);
    Ok(pages.filter_map(|(key, html)| Some((key, html?))).collect())
}

/// The page of one approach; none where its samples are gone or make no sense any more: one damaged file is no
/// reason to go without a review.
fn page(
    store: &Store,
    number: u64,
    approach: &FoundApproach,
    stored: &Stored,
) -> Result<Option<String>, Failure> {
    let samples = match read_approach(store, approach) {
        Ok(samples) => samples,
        Err(error) => {
            tracing::debug!(%error, "an example cannot be shown");
            return Ok(None);
        }
    };
    match report::retrace::render(&stored.page(&approach.row, &samples, number)) {
        Ok(html) => Ok(Some(html)),
        Err(error @ ReportError::Input { .. }) => {
            tracing::debug!(%error, "an example cannot be shown");
            Ok(None)
        }
        Err(error) => Err(Failure::plain(error)),
    }
}

/// What the page that leads to them shows.
fn index(subject: &Subject<'_>, pages: &BTreeMap<Key<'_>, String>) -> Examples {
    let topics = &subject.summary.training_topics;
    let of_fleet = || topics.iter().filter(|row| row.group_kind == "fleet");
    let mut ranked: Vec<Topic> = of_fleet()
        .filter_map(|row| {
            let rank = u32::try_from(row.rank?).ok()?;
            let chosen = subject.summary.examples.iter();
            let own = chosen.filter(|example| example.topic == row.topic);
            Some(Topic {
                name: row.topic.clone(),
                rank,
                sentence: row.sentence.clone(),
                examples: own.map(|row| example(subject, row, pages)).collect(),
            })
        })
        .collect();
    ranked.sort_by_key(|topic| topic.rank);
    Examples {
        fleet_title: subject.fleet.title.clone(),
        months: of_fleet().find_map(|row| Some((row.from_month.clone()?, row.to_month.clone()?))),
        run_number: subject.run_number,
        topics: ranked,
        without: of_fleet()
            .filter(|row| row.rank.is_none())
            .map(without)
            .collect(),
    }
}

fn example(subject: &Subject<'_>, row: &ExampleRow, pages: &BTreeMap<Key<'_>, String>) -> Example {
    let rule = subject.pack.iter().find(|rule| rule.id == row.rule);
    let link = pages.contains_key(&key(row)).then(|| {
        // What stands for other characters in a file name would be read as the characters in a link.
        let name = access::page_name(&row.flight_id, row.approach_no).replace('%', "%25");
        format!("{FOLDER}{name}")
    });
    Example {
        flight_id: row.flight_id.clone(),
        approach_no: row.approach_no,
        link,
        shows: rule.map_or_else(|| row.rule.clone(), |rule| rule.title.clone()),
        level: row.level.clone(),
        airport: row.airport.clone(),
        runway: row.runway.clone(),
        month: row.month.clone(),
        aircraft_type: row.aircraft_type.clone(),
        outcome: row.outcome.replace('_', " "),
        why: match row.why.as_str() {
            "recovered" => Why::Recovered,
            _ => Why::Typical,
        },
    }
}

fn without(row: &TopicRow) -> WithoutExamples {
    let none = Some(0) == row.approaches_with_event;
    WithoutExamples {
        name: row.topic.clone(),
        why: match &row.suppressed {
            Some(why) => format!("its figures are withheld ({why}), so no approach stands for it"),
            None if row.evaluable == Some(0) => "none of its rules could be judged".to_owned(),
            None if none => "no approach with an event that counts".to_owned(),
            None => "too few approaches, or too few of them with an event, for a rank".to_owned(),
        },
    }
}
