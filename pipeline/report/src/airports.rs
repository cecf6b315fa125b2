//! Airports against the fleet, rule by rule: ranked where they can be, listed where not.

mod funnel;
mod picture;

use crate::cells::{self, CellView};
use crate::input::{AirportLine, HotspotClass, RuleAirports};
use crate::{pictures, words};
use serde::Serialize;

/// The airport section.
#[derive(Debug, Serialize)]
pub(crate) struct AirportsView {
    flagged: Vec<Flagged>,
    /// Too few approaches to be classed, and far above what chance gives.
    unclassed: Vec<Flagged>,
    funnel: Option<String>,
    /// Families, and rules under which an airport stands out.
    open: Vec<AirportsRule>,
    /// The other rules.
    others: Vec<AirportsRule>,
}

/// An airport to look at, over all rules.
#[derive(Debug, Serialize)]
struct Flagged {
    id: String,
    title: String,
    /// Where its rule is shown whole.
    rule: String,
    row: AirportRow,
}

#[derive(Debug, Serialize)]
struct AirportsRule {
    id: String,
    title: String,
    fleet_rate: String,
    picture: Option<String>,
    /// Airports of which nothing may be shown.
    hidden: Vec<String>,
    rows: Vec<AirportRow>,
}

#[derive(Debug, Serialize)]
struct AirportRow {
    airport: String,
    rank: String,
    class: &'static str,
    flagged: bool,
    cell: CellView,
    expected: String,
    ratio: String,
    shrunk: String,
    shrunk_low: String,
    probability: String,
    hot_probability: String,
}

/// Builds the section.
pub(crate) fn build(rules: &[RuleAirports]) -> AirportsView {
    let listed = |(index, rule, line): (usize, &RuleAirports, &AirportLine)| Flagged {
        id: flag_id(index, line),
        title: rule.title.clone(),
        rule: id(index),
        row: row(line),
    };
    let (mut open, mut others) = (Vec::new(), Vec::new());
    let families = |is_family: bool| {
        let numbered = rules.iter().enumerate();
        numbered.filter(move |(_, rule)| rule.is_family == is_family)
    };
    for (index, rule) in families(true).chain(families(false)) {
        let lines = ordered(rule);
        let stands_out = lines.iter().any(|line| is_shown_flag(line));
        // A picture for each of a hundred rules would say nothing: the tables have them all.
        let picture = (rule.is_family || stands_out)
            .then(|| picture::draw(&picture_name(rule), rule, &lines))
            .flatten();
        let is_open = picture.is_some();
        let view = AirportsRule {
            id: id(index),
            title: rule.title.clone(),
            fleet_rate: rule
                .rate_of_all_per_1000
                .map_or_else(|| words::NOT_KNOWN.to_owned(), words::rate),
            picture,
            hidden: lines
                .iter()
                .filter(|line| line.cell.suppressed.is_some())
                .map(|line| line.airport.clone())
                .collect(),
            rows: lines.into_iter().map(row).collect(),
        };
        if is_open {
            open.push(view);
        } else {
            others.push(view);
        }
    }
    AirportsView {
        flagged: flagged(rules).map(listed).collect(),
        unclassed: unclassed(rules).map(listed).collect(),
        funnel: funnel::draw(rules),
        open,
        others,
    }
}

/// Airports to look at: hot spots first, then those to watch, each with the place of its rule.
pub(crate) fn flagged(
    rules: &[RuleAirports],
) -> impl Iterator<Item = (usize, &RuleAirports, &AirportLine)> {
    [HotspotClass::HotSpot, HotspotClass::Watch]
        .into_iter()
        .flat_map(move |wanted| {
            rules.iter().enumerate().flat_map(move |(index, rule)| {
                let lines = ordered(rule).into_iter();
                lines
                    .filter(move |line| line.class == wanted && is_shown_flag(line))
                    .map(move |line| (index, rule, line))
            })
        })
}

fn picture_name(rule: &RuleAirports) -> String {
    let kind = if rule.is_family {
        "airports-family"
    } else {
        "airports"
    };
    pictures::name(kind, &rule.rule_id)
}

/// An unclassed place is named from this probability down: one in a thousand by chance; judgement.
const FAR_BEYOND: f64 = 0.001;

/// Airports with too few approaches to be classed that lie far above what chance gives.
pub(crate) fn unclassed(
    rules: &[RuleAirports],
) -> impl Iterator<Item = (usize, &RuleAirports, &AirportLine)> {
    rules.iter().enumerate().flat_map(|(index, rule)| {
        let lines = ordered(rule).into_iter();
        lines
            .filter(|line| is_far_beyond(line))
            .map(move |line| (index, rule, line))
    })
}

pub(crate) fn is_far_beyond(line: &AirportLine) -> bool {
    line.class == HotspotClass::InsufficientData
        && cells::drawn(&line.cell).is_some()
        && line.upper_tail_p.is_some_and(|p| p <= FAR_BEYOND)
}

/// Place of a rule's airports, for links.
fn id(index: usize) -> String {
    format!("places-{}", index + 1)
}

/// Place of a flagged airport, for links: our own letters only.
pub(crate) fn flag_id(index: usize, line: &AirportLine) -> String {
    let name: String = line
        .airport
        .chars()
        .filter(char::is_ascii_alphanumeric)
        .collect();
    format!("flag-{}-{}-{}", index + 1, line.rank.unwrap_or(0), name)
}

fn is_shown_flag(line: &AirportLine) -> bool {
    is_flag(line.class) && cells::drawn(&line.cell).is_some()
}

/// Ranked ones by rank, then by name: those shown, then those suppressed.
fn ordered(rule: &RuleAirports) -> Vec<&AirportLine> {
    let mut lines: Vec<&AirportLine> = rule.airports.iter().collect();
    lines.sort_by_key(|line| {
        let hidden = line.cell.suppressed.is_some();
        let rank = if hidden { None } else { line.rank };
        (rank.is_none(), rank, hidden, line.airport.as_str())
    });
    lines
}

fn row(line: &AirportLine) -> AirportRow {
    let cell = cells::view(&line.cell);
    let known = cell.state == cells::State::Value;
    let figure = |value: Option<f64>, words: fn(f64) -> String| match value {
        Some(value) if known => words(value),
        _ => words::NOT_ESTIMATED.to_owned(),
    };
    AirportRow {
        airport: line.airport.clone(),
        rank: match line.rank {
            Some(rank) if known => rank.to_string(),
            _ => "unranked".to_owned(),
        },
        class: words::class(line.class),
        flagged: known && is_flag(line.class),
        expected: figure(line.expected, |v| words::decimals(v, 1)),
        ratio: figure(line.standardised_ratio, |v| words::decimals(v, 2)),
        shrunk: figure(line.shrunk_rate_per_1000, words::rate),
        shrunk_low: figure(line.shrunk_low_per_1000, words::rate),
        probability: figure(line.prob_above_fleet, words::probability),
        hot_probability: figure(line.prob_above_hot_ratio, words::probability),
        cell,
    }
}

/// Classes a review should look at.
pub(crate) fn is_flag(class: HotspotClass) -> bool {
    matches!(class, HotspotClass::HotSpot | HotspotClass::Watch)
}
