//! The headline figures of a review as one object, for a dashboard.
//!
//! All of them stand in the tables that may be passed round; what these withhold is null here, with the reason
//! beside it. No path of the machine is in it. Described in `docs/headline.md`.

mod counts;
mod rows;
mod rules;

pub use counts::{Withheld, withheld};
pub use rows::{
    DecisiveHeadline, Flights, Headline, PlaceHeadline, RuleHeadline, ShareHeadline, TopicHeadline,
    UnstableHeadline,
};

use std::collections::{BTreeMap, BTreeSet};

use stats::{Counted, wilson};

use crate::against::FIRST_TOPICS;
use crate::stages::Summaries;
use crate::store::seven_digits;
use crate::summarise::{DecisiveRow, HotspotRow, RuleNote, SummaryOptions, TopicRow, TrendRow};

/// Version of the object: raised where a field goes or means something else.
pub const SCHEMA: u32 = 1;

const FLEET: &str = "fleet";
/// Level that counts events of any level.
const ANY_LEVEL: &str = "low";
/// Why a figure of the month is not there.
const NO_MONTH: &str = "no approach has a month";

/// What the headline figures are read off.
#[derive(Debug, Clone, Copy)]
pub struct HeadlineInput<'a> {
    /// The tables.
    pub tables: &'a Summaries<'a>,
    /// Every rule, by id.
    pub rules: &'a BTreeMap<String, RuleNote>,
    /// How the tables were made.
    pub options: &'a SummaryOptions,
    /// Version of the program.
    pub version: &'a str,
    /// Number of the run in its store.
    pub run: u64,
    /// Flights that came in.
    pub flights: Flights,
    /// What every reader has to know.
    pub cautions: &'a [&'a str],
}

/// The headline figures.
#[must_use]
pub fn headline(input: &HeadlineInput<'_>) -> Headline {
    let summary = input.tables.summary;
    let months: BTreeSet<&str> = summary
        .trend_monthly
        .iter()
        .map(|row| row.month.as_str())
        .collect();
    let month = months.last().copied();
    let (approaches, why_no_approaches) = approaches(input);
    Headline {
        schema: SCHEMA,
        program_version: input.version.to_owned(),
        run: input.run,
        month: month.map(str::to_owned),
        months: months.iter().map(|month| (*month).to_owned()).collect(),
        flights: input.flights,
        approaches,
        why_no_approaches,
        rules: input
            .rules
            .iter()
            .filter(|(_, note)| !note.trial)
            .map(|(rule, note)| rules::line(summary, rule, note, month))
            .collect(),
        places: places(input),
        topics: topics(&summary.training_topics),
        unstable: unstable(input, month),
        decisive_checkpoint: decisive(&input.tables.energy.decisive),
        suppressed_cells: counts::withheld(input.tables)
            .into_iter()
            .map(|of| (of.table.to_owned(), of.small + of.neighbours))
            .collect(),
        cautions: input
            .cautions
            .iter()
            .map(|text| (*text).to_owned())
            .collect(),
        report: None,
    }
}

/// As every table has a number.
fn digits(value: Option<f64>) -> Option<f64> {
    value.map(seven_digits)
}

/// Line approaches of the whole fleet, or why they are not told.
fn approaches(input: &HeadlineInput<'_>) -> (Option<i64>, Option<String>) {
    let fleet = || {
        let rates = input.tables.summary.rates.iter();
        rates.filter(|row| row.group_kind == FLEET)
    };
    // A rule of which too little is shown tells less than the others.
    let told = fleet().find_map(|row| row.approaches);
    let why = match (told, fleet().next()) {
        (Some(_), _) => None,
        (None, Some(row)) => row.suppressed.clone(),
        (None, None) => Some("no rule judged an approach".to_owned()),
    };
    (told, why)
}

/// Rules by their title, families by their name.
fn title(rules: &BTreeMap<String, RuleNote>, rule: Option<&str>, family: &str) -> String {
    let note = rule.and_then(|rule| rules.get(rule));
    match (rule, note) {
        (_, Some(note)) => note.title.clone(),
        (Some(rule), None) => rule.to_owned(),
        (None, None) => format!("Any rule of the family {family}"),
    }
}

/// Places that are called, hot spots first.
fn places(input: &HeadlineInput<'_>) -> Vec<PlaceHeadline> {
    let called = |class: &'static str| {
        let rows = input.tables.summary.hotspots.iter();
        rows.filter(move |row| row.class.as_deref() == Some(class) && row.suppressed.is_none())
    };
    let line = |row: &HotspotRow| PlaceHeadline {
        airport: row.airport.clone(),
        runway: row.runway.clone(),
        rule: row.rule.clone(),
        family: row.family.clone(),
        title: title(input.rules, row.rule.as_deref(), &row.family),
        class: row.class.clone(),
        rank: row.rank,
        evaluable: row.evaluable,
        approaches_with_event: row.approaches_with_event,
        rate_per_1000: digits(row.rate_per_1000),
        ci_low: digits(row.ci_low),
        ci_high: digits(row.ci_high),
        expected: digits(row.expected),
    };
    called("hot spot")
        .chain(called("watch"))
        .map(line)
        .collect()
}

/// The first topics of the whole fleet, by rank.
fn topics(rows: &[TopicRow]) -> Vec<TopicHeadline> {
    let is_first = |row: &&TopicRow| {
        row.group_kind == FLEET
            && row.suppressed.is_none()
            && row.rank.is_some_and(|rank| rank <= FIRST_TOPICS)
    };
    let mut first: Vec<&TopicRow> = rows.iter().filter(is_first).collect();
    first.sort_by(|a, b| (a.rank, &a.topic).cmp(&(b.rank, &b.topic)));
    let line = |row: &TopicRow| TopicHeadline {
        topic: row.topic.clone(),
        rank: row.rank,
        evaluable: row.evaluable,
        approaches_with_event: row.approaches_with_event,
        rate_per_1000: digits(row.rate_per_1000),
        ci_low: digits(row.ci_low),
        ci_high: digits(row.ci_high),
        change: row.change.clone(),
        why_no_change: row.why_no_change.clone(),
        sentence: row.sentence.clone(),
    };
    first.into_iter().map(line).collect()
}

/// How many approaches were not stable at the governing gate: in the month, and in the months it is compared
/// with.
fn unstable(input: &HeadlineInput<'_>, month: Option<&str>) -> UnstableHeadline {
    let nothing = |why: &str| ShareHeadline {
        why: Some(why.to_owned()),
        ..ShareHeadline::default()
    };
    let rule = input.tables.energy.gate_rule.as_deref();
    let row = rule.and_then(|rule| rules::of_month(input.tables.summary, rule, month));
    let (of_month, baseline) = match (rule, row) {
        (None, _) => {
            let why = "no rule has a gate at this height";
            (nothing(why), nothing(why))
        }
        (Some(_), None) => {
            let why = rules::no_row(month);
            (nothing(why), nothing(why))
        }
        (Some(_), Some(row)) => (share_of_month(input, row), share_of_baseline(input, row)),
    };
    UnstableHeadline {
        gate_ft: input.options.governing_gate_ft,
        rule: rule.map(str::to_owned),
        month: of_month,
        baseline,
    }
}

fn share_of_month(input: &HeadlineInput<'_>, row: &TrendRow) -> ShareHeadline {
    let counts = row.evaluable.zip(row.approaches_with_event);
    share(input, counts, row.phi, row.suppressed.as_deref())
}

fn share_of_baseline(input: &HeadlineInput<'_>, row: &TrendRow) -> ShareHeadline {
    let counts = row
        .baseline_evaluable
        .zip(row.baseline_approaches_with_event);
    share(input, counts, row.phi, row.why_no_signal.as_deref())
}

/// A share with Wilson's interval on effective counts; `why` where there are none.
#[allow(clippy::cast_precision_loss)] // counts of approaches
fn share(
    input: &HeadlineInput<'_>,
    counts: Option<(i64, i64)>,
    phi: Option<f64>,
    why: Option<&str>,
) -> ShareHeadline {
    let Some((approaches, unstable)) = counts else {
        return ShareHeadline {
            why: Some(why.unwrap_or("not counted").to_owned()),
            ..ShareHeadline::default()
        };
    };
    let counted = Counted::new(unstable as f64, approaches as f64);
    let share = wilson(counted, input.options.confidence, phi);
    ShareHeadline {
        approaches: Some(approaches),
        unstable: Some(unstable),
        share: digits(share.map(|share| share.share)),
        ci_low: digits(share.map(|share| share.low)),
        ci_high: digits(share.map(|share| share.high)),
        why: share.is_none().then(|| "nothing evaluable".to_owned()),
    }
}

/// The checkpoint that decides for the whole fleet, or why none does.
fn decisive(rows: &[DecisiveRow]) -> DecisiveHeadline {
    let fleet = || rows.iter().filter(|row| row.group_kind == FLEET);
    if let Some(row) = fleet().find(|row| row.decisive) {
        return DecisiveHeadline {
            checkpoint: Some(row.checkpoint.clone()),
            auc: digits(row.auc),
            auc_low: digits(row.auc_low),
            auc_high: digits(row.auc_high),
            why: None,
        };
    }
    let reasons: BTreeSet<&str> = fleet().filter_map(|row| row.why_not.as_deref()).collect();
    let why = if reasons.is_empty() {
        "no approach is known to have ended stable or unstable at the governing gate".to_owned()
    } else {
        reasons.into_iter().collect::<Vec<_>>().join("; ")
    };
    DecisiveHeadline {
        why: Some(why),
        ..DecisiveHeadline::default()
    }
}

#[cfg(test)]
mod tests;
