//! The few sentences above everything else, read off the tables below them.

use crate::input::{HotspotClass, LimitsStatus, ReportInput, Signal};
use crate::trend::shown_test;
use crate::{cells, rates, words};
use std::collections::BTreeMap;

/// Builds the sentences: what stands behind the figures, then what changed, then where.
pub(crate) fn build(input: &ReportInput) -> Vec<String> {
    let mut lines = vec![analysed(input)];
    if !input.rules.is_empty() {
        lines.push(coverage(input));
    }
    lines.extend(latest_month(input));
    lines.extend(airports(input));
    if input
        .rules
        .iter()
        .any(|rule| rule.limits_status == LimitsStatus::Invented)
    {
        lines.push(
            "Limits invented for the demo are in use: no figure that rests on them says anything \
             about a real operation."
                .to_owned(),
        );
    }
    lines
}

fn analysed(input: &ReportInput) -> String {
    let a = &input.analysed;
    format!(
        "{} in {} of {} received.",
        plural(a.approaches, "approach", "approaches"),
        words::count(a.flights_used),
        plural(a.flights_received, "flight", "flights"),
    )
}

fn coverage(input: &ReportInput) -> String {
    let rules = &input.rules;
    let total = |want: fn(&crate::input::RuleLine) -> bool| {
        words::count(rules.iter().filter(|rule| want(rule)).count() as u64)
    };
    let mut line = format!(
        "A rate can be shown for {} of {}",
        total(|rule| cells::drawn(&rule.cell).is_some()),
        plural(rules.len() as u64, "rule", "rules")
    );
    let low = total(|rule| {
        cells::drawn(&rule.cell).is_some()
            && rule.coverage_share.is_some_and(|s| s < rates::LOW_COVERAGE)
    });
    if low != "0" {
        line.push_str(&format!(
            "; {low} of them rest on fewer than {} of the approaches in scope",
            rates::LOW_COVERAGE_WORDS
        ));
    }
    line.push('.');
    line
}

/// Signals of the latest month; nothing if no rule carries a test.
fn latest_month(input: &ReportInput) -> Vec<String> {
    let tests: Vec<_> = input
        .trend
        .iter()
        .filter_map(|trend| shown_test(trend).map(|test| (trend, test)))
        .collect();
    let mut lines = Vec::new();
    for (signal, words) in [(Signal::Higher, "Higher"), (Signal::Lower, "Lower")] {
        let titles: Vec<&str> = tests
            .iter()
            .filter(|(_, test)| test.signal == signal)
            .map(|(trend, _)| trend.title.as_str())
            .collect();
        if !titles.is_empty() {
            lines.push(format!(
                "{words} in the latest month than in the months before: {}.",
                titles.join("; ")
            ));
        }
    }
    let tested = tests
        .iter()
        .filter(|(_, test)| test.signal != Signal::NotTested)
        .count();
    if !tests.is_empty() && lines.is_empty() {
        lines.push(if tested == 0 {
            "The latest month could not be tested against the months before.".to_owned()
        } else {
            format!(
                "No signal in the latest month on {}; that is weak evidence of no change, see \
                 what rise would have shown.",
                plural(tested as u64, "rule tested", "rules tested")
            )
        });
    }
    lines
}

/// Airports that stand out, named once each.
fn airports(input: &ReportInput) -> Vec<String> {
    if input.hotspots.is_empty() {
        return Vec::new();
    }
    let mut lines = Vec::new();
    for (class, words) in [
        (HotspotClass::HotSpot, "Hot spots"),
        (HotspotClass::Watch, "Airports to watch"),
    ] {
        let mut places: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
        for rule in &input.hotspots {
            for line in &rule.airports {
                if line.class == class && cells::drawn(&line.cell).is_some() {
                    places.entry(&line.airport).or_default().push(&rule.title);
                }
            }
        }
        let named: Vec<String> = places
            .iter()
            .map(|(airport, titles)| match titles[..] {
                [title] => format!("{airport} ({title})"),
                _ => format!("{airport} (on {} rules and families)", titles.len()),
            })
            .collect();
        if !named.is_empty() {
            lines.push(format!("{words}: {}.", named.join("; ")));
        }
    }
    let compared = input
        .hotspots
        .iter()
        .flat_map(|rule| &rule.airports)
        .any(|line| line.class != HotspotClass::InsufficientData);
    if lines.is_empty() {
        lines.push(if compared {
            "No airport stands out from the fleet.".to_owned()
        } else {
            "No airport has enough approaches to be compared with the fleet.".to_owned()
        });
    }
    lines
}

fn plural(n: u64, one: &str, many: &str) -> String {
    format!("{} {}", words::count(n), if n == 1 { one } else { many })
}
