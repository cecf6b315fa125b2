//! The answers, one function a question.

use super::{Part, Thing, listed, plural, thing};
use crate::input::{
    AirportLine, HotspotClass, MonthTest, ReportInput, RuleTrend, Signal, SlopeCall,
};
use crate::plots::shares;
use crate::topics::topic_id;
use crate::trend::{shown_test, test_id};
use crate::{airports, cells, flown, rates, words};
use std::collections::BTreeSet;

/// So many things are named before the rest is counted.
const NAMED: usize = 3;

type Tested<'a> = (usize, &'a RuleTrend, &'a MonthTest);

fn tests(input: &ReportInput) -> Vec<Tested<'_>> {
    let numbered = input.trend.iter().enumerate();
    numbered
        .filter_map(|(index, trend)| Some((index, trend, shown_test(trend)?)))
        .collect()
}

/// The latest month against those before it.
pub(super) fn month(input: &ReportInput) -> Vec<Part> {
    let tests = tests(input);
    let Some((_, _, first)) = tests.first() else {
        return Vec::new();
    };
    let month = first.month.clone();
    let mut parts = Vec::new();
    for (signal, word) in [(Signal::Higher, "Higher"), (Signal::Lower, "Lower")] {
        let own: Vec<Thing> = tests
            .iter()
            .filter(|(_, _, test)| test.signal == signal)
            .map(moved)
            .collect();
        if !own.is_empty() {
            parts.push(Part::plain(format!(
                "{}{word} in {month} than in the months before: ",
                if parts.is_empty() { "" } else { " " }
            )));
            parts.extend(listed(own, NAMED, "changed"));
            parts.push(Part::plain("."));
        }
    }
    let tested = |is_family: bool| {
        let tested = tests.iter().filter(|(_, trend, test)| {
            test.signal != Signal::NotTested && trend.is_family == is_family
        });
        tested.count() as u64
    };
    let mut whom = plural(tested(false), "rule", "rules");
    if tested(true) > 0 {
        whom.push_str(&format!(
            " and {}",
            plural(tested(true), "family", "families")
        ));
    }
    if !parts.is_empty() {
        parts.push(Part::plain(format!(" Tested: {whom}.")));
    } else if tested(false) + tested(true) == 0 {
        parts.push(Part::plain(format!(
            "{month} could not be tested against the months before."
        )));
    } else {
        parts.push(Part::plain(format!(
            "Nothing shown: no signal in {month} on {whom} tested. That is weak evidence of no change: "
        )));
        parts.extend(seen(&tests));
    }
    parts
}

/// "Title (64.0 per 1,000, 40.1 to 95.2; before 30.0; q 0.010)".
fn moved((index, trend, test): &Tested<'_>) -> Thing {
    let point = trend.points.iter().find(|point| point.month == test.month);
    let mut figures = Vec::new();
    if let Some(point) = point {
        let cell = cells::view(&point.cell);
        figures.push(format!("{} per 1,000, {}", cell.rate, cell.interval));
    }
    if let Some(before) = test.baseline_rate_per_1000 {
        figures.push(format!("before {}", words::rate(before)));
    }
    if let Some(q) = test.q_value {
        figures.push(format!("q {}", words::q_value(q)));
    }
    thing(test_id(*index), &trend.title, &figures.join("; "))
}

/// What could have been seen.
fn seen(tests: &[Tested<'_>]) -> Vec<Part> {
    let mut rises: Vec<(f64, usize, &str)> = tests
        .iter()
        .filter_map(|(index, trend, test)| {
            Some((test.detectable_rise_pct?, *index, trend.title.as_str()))
        })
        .collect();
    rises.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (Some(least), Some(middle)) = (rises.first(), rises.get(rises.len() / 2)) else {
        return vec![Part::plain("what rise would have shown is not known.")];
    };
    let percent = |rise: f64| words::decimals(rise, 0);
    vec![
        Part::plain(
            "of any rule or family the smallest rise that would have shown four times in five is ",
        ),
        Part::to(
            test_id(least.1),
            format!("{} % ({})", percent(least.0), least.2),
        ),
        Part::plain(format!(
            "; on half of them only one of {} % or more would.",
            percent(middle.0)
        )),
    ]
}

/// What goes one way over the months, and how sure flags are.
pub(super) fn trend(input: &ReportInput) -> Vec<Part> {
    if input.trend.is_empty() {
        return Vec::new();
    }
    let months = plural(input.identity.months.len() as u64, "month", "months");
    let calls: Vec<Thing> = input
        .trend
        .iter()
        .enumerate()
        .filter_map(|(index, trend)| {
            let slope = trend.slope.as_ref()?;
            let figures = format!("{} {}", slope.call, in_brackets(slope));
            Some(thing(test_id(index), &trend.title, &figures))
        })
        .collect();
    let mut parts = Vec::new();
    if calls.is_empty() {
        parts.push(Part::to(
            "trend",
            format!("Over {months} no trend is called"),
        ));
        parts.push(Part::plain("."));
    } else {
        parts.push(Part::plain(format!("Over {months}: ")));
        parts.extend(listed(calls, NAMED, "changed"));
        parts.push(Part::plain("."));
    }
    let near: Vec<Thing> = input
        .trend
        .iter()
        .enumerate()
        .filter_map(|(index, trend)| {
            let near = trend.near.as_ref()?;
            Some(thing(test_id(index), &trend.title, &in_brackets(near)))
        })
        .collect();
    if !near.is_empty() {
        parts.push(Part::plain(
            " Not called, as one of many looked at, and yet to keep an eye on: ",
        ));
        parts.extend(listed(near, NAMED, "changed"));
        parts.push(Part::plain("."));
    }
    let beyond: Vec<Thing> = input
        .trend
        .iter()
        .filter_map(|trend| {
            let months = trend
                .points
                .iter()
                .filter(|point| point.beyond_chart.is_some());
            let months: Vec<&str> = months.map(|point| point.month.as_str()).collect();
            (!months.is_empty()).then(|| thing("trend", &trend.title, &months.join(", ")))
        })
        .collect();
    if !beyond.is_empty() {
        parts.push(Part::plain(
            " Months outside their chart, which is advisory: ",
        ));
        parts.extend(listed(beyond, NAMED, "trend"));
        parts.push(Part::plain("."));
    }
    let flagged: Vec<f64> = tests(input)
        .iter()
        .filter(|(_, _, test)| matches!(test.signal, Signal::Higher | Signal::Lower))
        .filter_map(|(_, _, test)| test.q_value)
        .collect();
    if let Some(worst) = flagged.iter().copied().reduce(f64::max) {
        parts.push(Part::plain(format!(
            " The flags of the month are corrected for the number of rules tested: the least sure of them has q {}.",
            words::q_value(worst)
        )));
    }
    parts
}

/// "2.4 % a month, 0.9 to 3.9".
fn in_brackets(slope: &SlopeCall) -> String {
    format!(
        "{} % a month, {} to {}",
        words::decimals(slope.pct_per_month, 1),
        words::decimals(slope.low, 1),
        words::decimals(slope.high, 1)
    )
}

/// Airports that stand out.
pub(super) fn places(input: &ReportInput) -> Vec<Part> {
    if input.hotspots.is_empty() {
        return Vec::new();
    }
    let mut parts = Vec::new();
    for (class, word) in [
        (HotspotClass::HotSpot, "Hot spots"),
        (HotspotClass::Watch, "To watch"),
    ] {
        let own: Vec<Thing> = airports::flagged(&input.hotspots)
            .filter(|(_, _, line)| line.class == class)
            .map(|(index, rule, line)| {
                let cell = cells::view(&line.cell);
                let fleet = rule
                    .rate_of_all_per_1000
                    .map(|rate| format!("; all airports {}", words::rate(rate)))
                    .unwrap_or_default();
                thing(
                    airports::flag_id(index, line),
                    format!("{}, {}", line.airport, rule.title),
                    &format!("{} per 1,000, {}{fleet}", cell.rate, cell.interval),
                )
            })
            .collect();
        if !own.is_empty() {
            let gap = if parts.is_empty() { "" } else { " " };
            parts.push(Part::plain(format!("{gap}{word}: ")));
            parts.extend(listed(own, NAMED, "airports"));
            parts.push(Part::plain("."));
        }
    }
    let lines = || input.hotspots.iter().flat_map(|rule| &rule.airports);
    if !parts.is_empty() {
        parts.insert(0, Part::plain("Over the last twelve months. "));
    } else {
        let compared = lines().any(|line| line.class != HotspotClass::InsufficientData);
        parts.push(Part::to(
            "airports",
            if compared {
                "No airport stands out from the fleet"
            } else {
                "No airport has enough approaches to be compared with the fleet"
            },
        ));
        parts.push(Part::plain("."));
    }
    let unclassed: Vec<Thing> = airports::unclassed(&input.hotspots)
        .map(|(index, rule, line)| {
            let cell = cells::view(&line.cell);
            thing(
                airports::flag_id(index, line),
                format!("{}, {}", line.airport, rule.title),
                &format!("{} per 1,000, {}", cell.rate, cell.interval),
            )
        })
        .collect();
    if !unclassed.is_empty() {
        parts.push(Part::plain(
            " Too few approaches to be classed, and far above what chance gives: ",
        ));
        parts.extend(listed(unclassed, NAMED, "airports"));
        parts.push(Part::plain("."));
    }
    let named = |keep: fn(&AirportLine) -> bool| -> BTreeSet<&str> {
        let kept = lines().filter(|line| keep(line));
        kept.map(|line| line.airport.as_str()).collect()
    };
    let (names, shown) = (
        named(|_| true),
        named(|line| cells::drawn(&line.cell).is_some()),
    );
    let hidden = named(|line| line.cell.suppressed.is_some());
    let withheld = hidden.difference(&shown).count();
    if withheld > 0 {
        parts.push(Part::plain(" "));
        let many = plural(
            names.len() as u64,
            "airport is withheld",
            "airports are withheld",
        );
        parts.push(Part::to("withheld", format!("{withheld} of {many}")));
        parts.push(Part::plain(" under every rule."));
    }
    parts
}

/// The gate, what fails there, what followed, and where it could be seen coming.
pub(super) fn decides(input: &ReportInput) -> Vec<Part> {
    let flown = &input.flown;
    let mut parts = Vec::new();
    let of_fleet = |verdict: &str| {
        let mut lines = flown.decisions.iter();
        lines.find(|line| line.at_gate == verdict && line.is_fleet)
    };
    if let Some(line) = of_fleet("unstable")
        && let Some(approaches) = line.approaches
    {
        parts.push(Part::to(
            "go-arounds",
            plural(
                approaches,
                "approach was unstable",
                "approaches were unstable",
            ),
        ));
        parts.push(Part::plain(format!(
            " at the governing gate, over all months; of those that landed or went around, {} went around. ",
            shares::in_words(&line.went_around)
        )));
    }
    let gate = flown
        .gates
        .iter()
        .find(|gate| flown.governing_gate.as_deref() == Some(&gate.rule_id));
    let most = gate.and_then(|gate| {
        let known = gate.criteria.iter();
        known
            .filter_map(|line| Some((shares::drawn(&line.all)?.0, line)))
            .max_by(|a, b| a.0.total_cmp(&b.0))
    });
    if let Some((_, line)) = most {
        parts.push(Part::plain("What fails most often there: "));
        parts.push(Part::to("gates", flown::criterion(&line.criterion)));
        let figures = shares::in_words(&line.all);
        parts.push(Part::plain(format!(", {figures}. ")));
    }
    if !flown.decisive.is_empty() {
        let sentence = flown::decisive(&flown.decisive);
        let second = sentence.match_indices(' ').nth(1);
        let at = second.map_or(sentence.len(), |(at, _)| at);
        // Its first words lead there.
        parts.push(Part::to("decisive-checkpoint", &sentence[..at]));
        parts.push(Part::plain(&sentence[at..]));
    }
    parts
}

/// The first topics.
pub(super) fn topics(input: &ReportInput) -> Vec<Part> {
    let mut ranked: Vec<_> = input
        .topics
        .iter()
        .filter(|line| cells::drawn(&line.cell).is_some())
        .filter_map(|line| Some((line.rank?, line)))
        .collect();
    ranked.sort_by_key(|(rank, _)| *rank);
    let named: Vec<Thing> = ranked
        .iter()
        .map(|(rank, line)| {
            let cell = cells::view(&line.cell);
            let figures = format!("{} per 1,000, {}", cell.rate, cell.interval);
            thing(topic_id(*rank), &line.topic, &figures)
        })
        .collect();
    if named.is_empty() {
        return Vec::new();
    }
    let mut parts = vec![Part::plain(
        "Over the last twelve months, by the low end of the shrunk rate: ",
    )];
    parts.extend(listed(named, NAMED, "topics"));
    parts.push(Part::plain("."));
    parts
}

/// Flights, coverage, whose limits, what people have looked at.
pub(super) fn basis(input: &ReportInput) -> Vec<Part> {
    let a = &input.analysed;
    let mut parts = vec![Part::to(
        "analysed",
        format!(
            "{} in {} of {} received",
            plural(a.approaches, "approach", "approaches"),
            words::count(a.flights_used),
            plural(a.flights_received, "flight", "flights"),
        ),
    )];
    parts.push(Part::plain(". "));
    parts.extend(flown_and_received(input));
    let rules = &input.rules;
    if !rules.is_empty() {
        let shown: Vec<_> = rules
            .iter()
            .filter(|rule| cells::drawn(&rule.cell).is_some())
            .collect();
        let low = shown
            .iter()
            .filter(|rule| rule.coverage_share.is_some_and(|s| s < rates::LOW_COVERAGE))
            .count() as u64;
        let trial = rules.iter().filter(|rule| rule.trial).count() as u64;
        let mut text = format!(
            " of {} have a rate to show",
            plural(rules.len() as u64, "rule", "rules")
        );
        if low > 0 {
            text.push_str(&format!(
                "; {low} of them rest on fewer than {} of the approaches in scope",
                rates::LOW_COVERAGE_WORDS
            ));
        }
        if trial > 0 {
            text.push_str(&format!(
                "; {} on trial and never flagged",
                if trial == 1 {
                    "1 is".to_owned()
                } else {
                    format!("{} are", words::count(trial))
                }
            ));
        }
        parts.push(Part::to("rates", words::count(shown.len() as u64)));
        parts.push(Part::plain(format!("{text}. ")));
    }
    let look = &input.second_look;
    if look.listed > 0 {
        parts.push(Part::to("since", "Looked at by a person"));
        parts.push(Part::plain(format!(
            ": {} of {} that should be. ",
            words::count(look.looked_at),
            plural(look.listed, "event", "events")
        )));
    }
    if !input.withheld.is_empty() {
        parts.push(Part::to("withheld", "Small cells are withheld"));
        parts.push(Part::plain("."));
    }
    parts
}

/// Flights flown against flights received, over the months of which it is known.
fn flown_and_received(input: &ReportInput) -> Vec<Part> {
    let known = input
        .recovery
        .iter()
        .filter(|line| line.suppressed.is_none());
    let sums = known.filter_map(|line| line.flown.zip(line.received));
    let (flown, received) = sums.fold((0, 0), |(f, r), line| (f + line.0, r + line.1));
    if flown == 0 {
        return Vec::new();
    }
    vec![Part::plain(format!(
        "Of {} flown as far as that is known a record of {} came in. ",
        plural(flown, "flight", "flights"),
        words::count(received)
    ))]
}
