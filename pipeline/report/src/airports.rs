//! Airports against the fleet, rule by rule: ranked where they can be, listed where not.

mod picture;

use crate::cells::{self, CellView};
use crate::input::{AirportLine, HotspotClass, RuleAirports};
use crate::words;
use serde::Serialize;

/// The airport section.
#[derive(Debug, Serialize)]
pub(crate) struct AirportsView {
    flagged: Vec<Flagged>,
    rules: Vec<AirportsRule>,
}

/// An airport to look at, over all rules.
#[derive(Debug, Serialize)]
struct Flagged {
    title: String,
    row: AirportRow,
}

#[derive(Debug, Serialize)]
struct AirportsRule {
    title: String,
    fleet_rate: String,
    picture: Option<String>,
    rows: Vec<AirportRow>,
}

#[derive(Debug, Serialize)]
struct AirportRow {
    airport: String,
    rank: String,
    class: &'static str,
    flagged: bool,
    cell: CellView,
    ratio: String,
    shrunk: String,
    shrunk_low: String,
    probability: String,
}

/// Builds the section.
pub(crate) fn build(rules: &[RuleAirports]) -> AirportsView {
    let mut flagged = Vec::new();
    for wanted in [HotspotClass::HotSpot, HotspotClass::Watch] {
        for rule in rules {
            for line in ordered(rule) {
                if line.class == wanted && line.cell.suppressed.is_none() {
                    flagged.push(Flagged {
                        title: rule.title.clone(),
                        row: row(line),
                    });
                }
            }
        }
    }
    let rules = rules.iter().enumerate().map(|(index, rule)| {
        let lines = ordered(rule);
        AirportsRule {
            title: rule.title.clone(),
            fleet_rate: rule
                .fleet_rate_per_1000
                .map_or_else(|| words::NOT_KNOWN.to_owned(), words::rate),
            picture: picture::draw(&format!("airports-{}", index + 1), rule, &lines),
            rows: lines.into_iter().map(row).collect(),
        }
    });
    AirportsView {
        flagged,
        rules: rules.collect(),
    }
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
        ratio: figure(line.standardised_ratio, |v| words::decimals(v, 2)),
        shrunk: figure(line.shrunk_rate_per_1000, words::rate),
        shrunk_low: figure(line.shrunk_low_per_1000, words::rate),
        probability: figure(line.prob_above_fleet, words::probability),
        cell,
    }
}

/// Classes a review should look at.
pub(crate) fn is_flag(class: HotspotClass) -> bool {
    matches!(class, HotspotClass::HotSpot | HotspotClass::Watch)
}
