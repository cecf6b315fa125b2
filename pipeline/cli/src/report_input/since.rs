//! Topics, changes, second looks, late data and missing flights in the report.

use std::collections::BTreeMap;

use report::input::{
    ChangeLine, Precision, RateCell, RecoveryLine, Restated, RestatedLine, SecondLook, Signal,
    TopicLine,
};
use rules::stages::Before;
use rules::summarise::{BeforeAfterRow, RestatedRow, TopicRow};

use super::rule::{cell, for_whom, suppression};
use super::{FLEET, LEVELS, Subject, count};

fn signal(signal: Option<&str>, is_tested: bool) -> Signal {
    match signal {
        Some("higher") => Signal::Higher,
        Some("lower") => Signal::Lower,
        _ if is_tested => Signal::NoSignal,
        _ => Signal::NotTested,
    }
}

/// The topics of the whole fleet.
pub(super) fn topics(subject: &Subject<'_>) -> Vec<TopicLine> {
    let split = |text: Option<&String>, by: char| -> Vec<String> {
        let words = text.into_iter().flat_map(|text| text.split(by));
        words
            .map(|word| word.trim().to_owned())
            .filter(|word| !word.is_empty())
            .collect()
    };
    let line = |row: &TopicRow| TopicLine {
        topic: row.topic.clone(),
        rank: row.rank.and_then(|rank| u32::try_from(rank).ok()),
        cell: cell!(subject, row),
        change: signal(row.change.as_deref(), row.q.is_some()),
        airports: split(row.airports.as_ref(), ' '),
        competencies: split(row.competencies.as_ref(), ','),
        sentence: row.sentence.clone(),
    };
    let rows = subject.summary.training_topics.iter();
    rows.filter(|row| row.group_kind == FLEET)
        .map(line)
        .collect()
}

/// How many events there are to look at, and how many have been.
pub(super) fn second_look(subject: &Subject<'_>) -> SecondLook {
    let rows = &subject.summary.second_look;
    let looked_at = rows.iter().filter(|row| row.verdict != "open").count();
    SecondLook {
        listed: rows.len() as u64,
        looked_at: looked_at as u64,
    }
}

/// What people made of the events of a rule; none where nobody has looked at one.
pub(super) fn precision(subject: &Subject<'_>, rule: &str) -> Option<Precision> {
    let mut rows = subject.summary.precision.iter();
    let row = rows.find(|row| row.rule == rule && row.at_least_level == LEVELS[0].0)?;
    (row.looked_at != Some(0)).then(|| Precision {
        looked_at: count(row.looked_at),
        stands: count(row.stands),
        low: row.ci_low,
        high: row.ci_high,
        suppressed: row
            .suppressed
            .as_deref()
            .map(|why| suppression(subject, why)),
    })
}

pub(super) fn titles<'a>(subject: &Subject<'a>) -> BTreeMap<&'a str, &'a str> {
    let pack = subject.pack.iter();
    pack.map(|rule| (rule.id.as_str(), rule.title.as_str()))
        .collect()
}

/// Changes, before and after.
pub(super) fn changes(subject: &Subject<'_>) -> Vec<ChangeLine> {
    let titles = titles(subject);
    let line = |row: &BeforeAfterRow| ChangeLine {
        change: for_whom(
            &row.what,
            row.airport.as_deref(),
            row.aircraft_type.as_deref(),
        ),
        month: row.month.clone(),
        title: match &row.rule {
            Some(rule) => titles
                .get(rule.as_str())
                .map_or_else(|| rule.clone(), |title| (*title).to_owned()),
            None => family_title(&row.family),
        },
        planned: row.planned,
        counts_before: count(row.approaches_with_event_before).zip(count(row.evaluable_before)),
        counts_after: count(row.approaches_with_event_after).zip(count(row.evaluable_after)),
        before: row.rate_per_1000_before,
        after: row.rate_per_1000_after,
        ratio: row.ratio,
        ratio_low: row.ratio_low,
        ratio_high: row.ratio_high,
        signal: signal(row.signal.as_deref(), row.p.is_some()),
        why: row.why_no_signal.clone(),
        detectable_rise_pct: row.detectable_rise_pct,
        suppressed: row
            .suppressed
            .as_deref()
            .map(|why| suppression(subject, why)),
    };
    subject.summary.interventions.iter().map(line).collect()
}

/// How a family is called in a list of rules.
pub(super) fn family_title(family: &str) -> String {
    format!("Any rule of the family {family}")
}

/// What is no longer as the review before said.
pub(super) fn restated(subject: &Subject<'_>) -> Restated {
    let titles = titles(subject);
    let pair = |before: Option<i64>, now: Option<i64>| count(before).zip(count(now));
    let line = |row: &RestatedRow| RestatedLine {
        month: row.month.clone(),
        title: titles
            .get(row.rule.as_str())
            .map_or_else(|| row.rule.clone(), |title| (*title).to_owned()),
        evaluable: pair(row.evaluable_before, row.evaluable_now),
        with_event: pair(
            row.approaches_with_event_before,
            row.approaches_with_event_now,
        ),
        rate: (row.rate_per_1000_before, row.rate_per_1000_now),
        cause: row.cause.clone(),
        suppressed: row
            .suppressed
            .as_deref()
            .map(|why| suppression(subject, why)),
    };
    match subject.before {
        Before::None => Restated::NothingBefore,
        Before::Unreadable { .. } => Restated::Unreadable,
        Before::Review { number, earlier } => Restated::Since {
            run: *number,
            month: Some(earlier.last_month.clone()),
            lines: subject.restated.iter().map(line).collect(),
        },
    }
}

/// Flights flown and received, whole fleet.
pub(super) fn recovery(subject: &Subject<'_>) -> Vec<RecoveryLine> {
    let rows = subject.recovery.iter();
    rows.filter(|row| row.group_kind == FLEET)
        .map(|row| RecoveryLine {
            month: row.month.clone(),
            flown: count(row.flights_flown),
            received: count(row.flights_received),
            usable: count(row.flights_usable),
            share: row.share,
            usable_share: row.usable_share,
            note: row.note.clone(),
            suppressed: row
                .suppressed
                .as_deref()
                .map(|why| suppression(subject, why)),
        })
        .collect()
}
