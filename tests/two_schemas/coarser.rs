//! Airspeed and altitude at half their rate: what is not near a limit stays as it is.

use std::collections::BTreeMap;

use tempfile::TempDir;

use super::compare::same_bytes;
use super::rewrite::Flight;
use super::tolerance::{INTERVAL_S, of_measure, of_speed_kt};
use super::{LEAST_EVENTS, assert_enough, both};
use crate::fleet::Review;
use crate::table::{Row, number};

/// Digits that the tables do not print.
const PRINTED: f64 = 1e-3;
/// Of all events, those that may lie near a limit without the test losing its point.
const MOST_NEAR_SHARE: f64 = 0.25;

/// Where the levels of a rule begin, as its file in `rules/` has it, the lowest level first.
fn levels(rule: &str) -> Option<[f64; 3]> {
    match rule {
        "energy_excess_20nm" => Some([1000.0, 2000.0, 3000.0]),
        "energy_excess_10nm" => Some([800.0, 1600.0, 2400.0]),
        "high_at_15nm" => Some([1000.0, 1750.0, 2500.0]),
        "flap_limit_exceeded" => Some([0.0, 4.0, 10.0]),
        "flap_selection_margin" => Some([5.0, 2.5, 0.0]),
        _ => None,
    }
}

/// Both reviews and what was recorded.
struct Pair {
    flights: BTreeMap<String, Flight>,
    events: [Vec<Row>; 2],
    gates: [Vec<Row>; 2],
}

impl Pair {
    fn of(fine: &Review, coarse: &Review, recorded: Vec<Flight>) -> Self {
        let tables = |name: &str| [fine.restricted(name), coarse.restricted(name)];
        Self {
            events: tables("events"),
            gates: tables("gates"),
            flights: recorded.into_iter().map(|f| (f.id.clone(), f)).collect(),
        }
    }

    fn flight(&self, row: &Row) -> &Flight {
        &self.flights[&row["flight_id"]]
    }

    /// The event of the other review at the same time; episodes may begin and end an interval apart.
    fn match_of(&self, event: &Row, other: usize) -> Option<&Row> {
        let time = |row: &Row, column| number(row, column).unwrap();
        self.events[other].iter().find(|candidate| {
            same_approach(event, candidate)
                && event["rule"] == candidate["rule"]
                && time(candidate, "start_s") <= time(event, "end_s") + INTERVAL_S
                && time(event, "start_s") <= time(candidate, "end_s") + INTERVAL_S
        })
    }

    /// Whether a level of the rule begins within the tolerance of what the event measured.
    fn is_near_a_limit(&self, event: &Row, limits: &[f64]) -> bool {
        let (worst, at_s) = (number(event, "worst"), number(event, "worst_s"));
        let (worst, at_s) = (worst.unwrap(), at_s.unwrap());
        let tolerance = of_measure(&event["rule"], self.flight(event), at_s).unwrap();
        let near = |limit: &f64| (worst - limit).abs() <= tolerance + PRINTED;
        limits.iter().any(near)
    }

    /// Criteria of a gate that the two reviews judge differently.
    fn criteria_that_differ<'a>(
        &'a self,
        of: impl Fn(&Row) -> bool + 'a,
    ) -> impl Iterator<Item = &'a Row> {
        let pairs = self.gates[0].iter().zip(&self.gates[1]);
        pairs
            .filter(move |(fine, coarse)| of(fine) && fine["passed"] != coarse["passed"])
            .map(|(fine, _)| fine)
    }
}

fn same_approach(a: &Row, b: &Row) -> bool {
    a["flight_id"] == b["flight_id"] && a["approach_no"] == b["approach_no"]
}

#[test]
fn coarser_sampling_changes_only_what_is_near_a_limit() {
    let folder = TempDir::new().unwrap();
    let (fine, coarse, recorded) = both(folder.path(), |flight| {
        flight.halve("cas_kt");
        flight.halve("pressure_altitude_ft");
    });
    assert_enough(&fine, &recorded);
    approaches_are_the_same(&fine, &coarse);
    let pair = Pair::of(&fine, &coarse, recorded);
    measures_stay_within_the_tolerance(&pair, &fine, &coarse);
    criteria_change_only_near_a_bound(&pair);
    let near = events_that_differ(&pair);
    let all = pair.events[0].len();
    let count: usize = near.values().sum();
    assert!(
        count > 0 && (count as f64) < MOST_NEAR_SHARE * all as f64,
        "{near:?} of {all}"
    );
    assert!(all - count >= LEAST_EVENTS, "{near:?} of {all}");
    summaries_differ_by_no_more(&near, &fine, &coarse);
}

fn approaches_are_the_same(fine: &Review, coarse: &Review) {
    let (fine, coarse) = (
        fine.restricted("approaches"),
        coarse.restricted("approaches"),
    );
    assert_eq!(fine.len(), coarse.len());
    let exact = [
        "flight_id",
        "approach_no",
        "airport",
        "runway",
        "approach_kind",
        "outcome",
        "height_source",
    ];
    for (a, b) in fine.iter().zip(&coarse) {
        for column in exact {
            assert_eq!(a[column], b[column], "{} {column}", a["flight_id"]);
        }
        for column in ["start_s", "end_s"] {
            let moved = number(a, column).unwrap() - number(b, column).unwrap();
            assert!(
                moved.abs() <= INTERVAL_S,
                "{} {column} {moved}",
                a["flight_id"]
            );
        }
    }
}

/// Events or not: the deciding measure of every approach by every rule that has one.
fn measures_stay_within_the_tolerance(pair: &Pair, fine: &Review, coarse: &Review) {
    let (fine, coarse) = (
        fine.restricted("measurements"),
        coarse.restricted("measurements"),
    );
    assert_eq!(fine.len(), coarse.len());
    let (mut compared, mut moved) = (0, 0);
    for (a, b) in fine.iter().zip(&coarse) {
        let evaluable = |row: &Row| matches!(row["status"].as_str(), "event" | "clear");
        assert_eq!(evaluable(a), evaluable(b), "{a:?} {b:?}");
        assert_eq!(a["reason"], b["reason"], "{a:?} {b:?}");
        let at_s = [a, b].map(|row| number(row, "worst_s"));
        let (Some(from), Some(to), [Some(at_s), Some(other_s)]) =
            (number(a, "worst"), number(b, "worst"), at_s)
        else {
            continue;
        };
        // The worst moment may be another one, if that one is as bad within its own tolerance.
        let there = [at_s, other_s].map(|t| of_measure(&a["rule"], pair.flight(a), t));
        let [Some(here), Some(there)] = there else {
            continue;
        };
        let tolerance = here.max(there) + PRINTED;
        assert!(
            (from - to).abs() <= tolerance,
            "{from} {to}, {tolerance}: {a:?} {b:?}"
        );
        compared += 1;
        moved += usize::from((from - to).abs() > PRINTED);
    }
    // Else the coarse record would not be coarse, and the rest would say nothing.
    assert!(
        compared > 1000 && 2 * moved > compared,
        "{moved} of {compared}"
    );
}

fn criteria_change_only_near_a_bound(pair: &Pair) {
    assert_eq!(pair.gates[0].len(), pair.gates[1].len());
    for (a, b) in pair.gates[0].iter().zip(&pair.gates[1]) {
        for column in [
            "flight_id",
            "approach_no",
            "rule",
            "criterion",
            "lower",
            "upper",
            "applies",
        ] {
            assert_eq!(a[column], b[column], "{a:?} {b:?}");
        }
        // Whether an excursion lasts longer than its grace time rests on single samples of airspeed.
        if a["criterion"] != "speed" {
            assert_eq!(a["held_to_50ft"], b["held_to_50ft"], "{a:?} {b:?}");
        }
    }
    for row in pair.criteria_that_differ(|_| true) {
        let (value, at_s) = (
            number(row, "value").unwrap(),
            number(row, "gate_s").unwrap(),
        );
        let flight = pair.flight(row);
        let tolerance = match row["criterion"].as_str() {
            "speed" => of_speed_kt(flight, at_s),
            _ => of_measure(&row["rule"], flight, at_s).unwrap_or_else(|| panic!("{row:?}")),
        };
        let near = |bound| {
            let bound = number(row, bound);
            bound.is_some_and(|bound| (value - bound).abs() <= tolerance + PRINTED)
        };
        assert!(near("lower") || near("upper"), "{tolerance}: {row:?}");
    }
}

/// Events that only one review has, or that have another level in the other, by rule. Each must be near a limit.
fn events_that_differ(pair: &Pair) -> BTreeMap<String, usize> {
    let mut near: BTreeMap<String, usize> = BTreeMap::new();
    for (review, events) in pair.events.iter().enumerate() {
        for event in events {
            let rule = &event["rule"];
            let other = pair.match_of(event, 1 - review);
            if other.is_some_and(|other| other["level"] == event["level"]) {
                continue;
            }
            let explained = match (levels(rule), rule.as_str()) {
                (Some(levels), _) if other.is_some() => pair.is_near_a_limit(event, &levels),
                (Some(levels), _) => pair.is_near_a_limit(event, &levels[..1]),
                // Criteria that changed were held against their bounds before this.
                (None, "unstable_and_landed") => {
                    let of = |row: &Row| row["rule"] == "unstable_500" && same_approach(row, event);
                    pair.criteria_that_differ(of).next().is_some()
                }
                (None, _) => {
                    let of = |row: &Row| &row["rule"] == rule && same_approach(row, event);
                    pair.criteria_that_differ(of).next().is_some()
                }
            };
            assert!(
                explained,
                "{event:?} is not near a limit, and the other review has {other:?}"
            );
            // Another level is found from both sides and counted once.
            if other.is_none() || review == 0 {
                *near.entry(rule.clone()).or_default() += 1;
            }
        }
    }
    near
}

fn summaries_differ_by_no_more(near: &BTreeMap<String, usize>, fine: &Review, coarse: &Review) {
    assert!(
        same_bytes(fine.out.path(), coarse.out.path(), "coverage"),
        "coverage differs"
    );
    let families: BTreeMap<String, String> = fine
        .shared("rates")
        .into_iter()
        .map(|row| (row["rule"].clone(), row["family"].clone()))
        .collect();
    // A row without a rule is its whole family.
    let is_counted = |row: &Row, rule: &String| match row["rule"].as_str() {
        "" => families.get(rule) == Some(&row["family"]),
        own => own == rule,
    };
    let mut differ = 0;
    for table in ["rates", "trend_monthly", "hotspots"] {
        let (a, b) = (fine.shared(table), coarse.shared(table));
        assert_eq!(a.len(), b.len());
        for (a, b) in a.iter().zip(&b) {
            for (column, text) in a {
                let may = match column.as_str() {
                    "approaches_with_event" | "events" | "events_edge" => {
                        let own = near.iter().filter(|(rule, _)| is_counted(a, rule));
                        own.map(|(_, count)| *count).sum()
                    }
                    "rule" | "at_least_level" | "group" | "month" | "airport" | "runway"
                    | "approaches" | "evaluable" | "suppressed" | "limits_hash" => 0,
                    // Rates and what is made of them follow from the counts.
                    _ => continue,
                };
                if text == &b[column] {
                    continue;
                }
                let (from, to) = (number(a, column), number(b, column));
                let (Some(from), Some(to)) = (from, to) else {
                    panic!("{table} {column}: {a:?} {b:?}");
                };
                differ += 1;
                assert!(
                    (from - to).abs() <= may as f64,
                    "{table} {column}, {may}: {a:?} {b:?}"
                );
            }
        }
    }
    assert!(differ > 0, "events differ, and no count does");
}
