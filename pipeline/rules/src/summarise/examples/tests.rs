//! Small fleets made row by row, and which of their approaches are examples.

use std::collections::BTreeSet;

use ::records::fleet::VerdictRow;
use ::records::rows::ApproachRow;

use super::super::frame::Frame;
use super::super::tests::made::{Made, Said};
use super::super::{SummaryOptions, TopicRow};
use super::*;

/// The examples of all topics, the first by name ranked first; `change` may change the topics before.
fn chosen(made: &Made, change: impl Fn(&mut TopicRow)) -> Vec<ExampleRow> {
    let mut topics = made.summary().training_topics;
    for (row, rank) in topics.iter_mut().zip(1..) {
        row.rank = Some(rank);
        row.suppressed = None;
        change(row);
    }
    let options = SummaryOptions::default();
    let scene = Scene::new(Frame::new(&made.approaches), &options);
    let window = Window::new(&scene.frame);
    rows(&scene, &made.input(&made.measured()), &topics, &window)
}

fn all(made: &Made) -> Vec<ExampleRow> {
    chosen(made, |_| {})
}

/// Twenty approaches of a month, each on a tail of its own; `fires` gives the level of each by rule and number, and
/// what it measured is its number.
fn fleet(
    rules: &[(&str, &str)],
    change: impl Fn(usize, &mut ApproachRow),
    fires: impl Fn(&str, usize) -> Option<&'static str>,
) -> Made {
    let mut made = Made::with(
        &rules
            .iter()
            .map(|(rule, _)| (*rule, "x"))
            .collect::<Vec<_>>(),
    );
    for (rule, topic) in rules {
        let note = made.rules.get_mut(*rule).expect("the rule");
        note.topics = vec![(*topic).to_owned()];
    }
    made.add(
        0,
        20,
        |i, row| {
            row.tail_id = Some(format!("tail{i}"));
            change(i, row);
        },
        |rule, i| fires(rule, i).map_or_else(Said::clear, Said::event),
    );
    for event in &mut made.events {
        event.worst = event
            .flight_id
            .split('-')
            .nth(1)
            .map(|i| i.parse().expect("a number"));
    }
    made
}

/// Numbers of the approaches of a topic, in order.
fn numbers(rows: &[ExampleRow], topic: &str) -> Vec<usize> {
    let own = rows.iter().filter(|row| row.topic == topic);
    own.map(|row| {
        let number = row.flight_id.split('-').nth(1).expect("a number");
        number.parse().expect("a number")
    })
    .collect()
}

#[test]
fn the_middle_of_the_highest_level_comes_first() {
    let made = fleet(
        &[("r", "t")],
        |_, _| {},
        |_, i| match i {
            0..7 => Some("high"),
            _ => Some("low"),
        },
    );
    let rows = all(&made);
    assert_eq!(numbers(&rows, "t"), [3, 2, 4]);
    let places: Vec<i32> = rows.iter().map(|row| row.place).collect();
    assert_eq!(places, [1, 2, 3]);
    assert!(
        rows.iter()
            .all(|row| row.level == "high" && row.why == "typical")
    );
}

#[test]
fn of_two_nobody_can_say_which_is_typical() {
    // Two rules of one level: the one with two events has no middle.
    let made = fleet(
        &[("few", "t"), ("many", "t")],
        |_, _| {},
        |rule, i| {
            let fires = if rule == "few" { i < 2 } else { i >= 10 };
            fires.then_some("high")
        },
    );
    assert_eq!(all(&made)[0].rule, "many");
}

#[test]
fn places_months_and_types_differ_among_those_that_are_typical() {
    let change = |i: usize, row: &mut ApproachRow| {
        let airport = if i == 7 { "BBBB" } else { "AAAA" };
        row.airport = Some(airport.to_owned());
    };
    let made = fleet(&[("r", "t")], change, |_, i| (i < 15).then_some("high"));
    // 7 is the middle and alone at its airport: all after it differ from it in that, and so stay near it.
    assert_eq!(numbers(&all(&made), "t"), [7, 6, 8]);
    let change = |i: usize, row: &mut ApproachRow| {
        let airport = match i {
            5 => "BBBB",
            14 => "CCCC",
            _ => "AAAA",
        };
        row.airport = Some(airport.to_owned());
    };
    let made = fleet(&[("r", "t")], change, |_, i| (i < 15).then_some("high"));
    // 5 is typical and elsewhere; 14 is elsewhere too, but the worst.
    assert_eq!(numbers(&all(&made), "t")[..2], [7, 5]);
    assert!(!numbers(&all(&made), "t").contains(&14));
}

#[test]
fn no_tail_comes_twice_over_the_topics_while_there_are_others() {
    let two_on_a_tail = |i: usize, row: &mut ApproachRow| row.tail_id = Some(format!("t{}", i / 2));
    let made = fleet(&[("r", "a"), ("s", "b")], two_on_a_tail, |_, _| {
        Some("high")
    });
    let rows = all(&made);
    let flights: BTreeSet<&str> = rows.iter().map(|row| row.flight_id.as_str()).collect();
    let tails: BTreeSet<&Option<String>> = made
        .approaches
        .iter()
        .filter(|row| flights.contains(row.flight_id.as_str()))
        .map(|row| &row.tail_id)
        .collect();
    assert_eq!((rows.len(), flights.len(), tails.len()), (6, 6, 6));
}

#[test]
fn a_tail_comes_again_where_there_is_no_other_and_tails_that_are_unknown_may_be_one() {
    let one = |_: usize, row: &mut ApproachRow| row.tail_id = Some("t".to_owned());
    let made = fleet(&[("r", "t")], one, |_, _| Some("high"));
    assert_eq!(all(&made).len(), 3);
    let unknown = |i: usize, row: &mut ApproachRow| {
        if i != 19 {
            row.tail_id = None;
        }
    };
    let made = fleet(&[("r", "t")], unknown, |_, _| Some("high"));
    // The last is no typical one, and the only one that is surely of another aircraft.
    assert!(numbers(&all(&made), "t")[..2].contains(&19));
}

#[test]
fn a_topic_with_few_candidates_gets_them_before_one_with_many() {
    let made = fleet(
        &[("r", "a"), ("s", "b")],
        |_, _| {},
        |rule, i| (rule == "r" || (9..=10).contains(&i)).then_some("high"),
    );
    let rows = all(&made);
    assert_eq!(numbers(&rows, "b"), [9, 10]);
    // The middle of all of them is an example already.
    let first = numbers(&rows, "a");
    assert_eq!(first.len(), 3);
    assert!(!first.contains(&9) && !first.contains(&10), "{first:?}");
    // In the order of the ranks all the same.
    assert_eq!(rows[0].topic, "a");
}

#[test]
fn an_approach_comes_twice_where_there_is_no_other() {
    let made = fleet(
        &[("r", "a"), ("s", "b")],
        |_, _| {},
        |_, i| (i == 4).then_some("low"),
    );
    let rows = all(&made);
    assert_eq!(numbers(&rows, "a"), [4]);
    assert_eq!(numbers(&rows, "b"), [4]);
}

#[test]
fn the_last_is_one_that_came_out_of_it() {
    let settled = |i: usize, row: &mut ApproachRow| {
        // 18 met the gate after its event, 17 before the gate it was not right.
        row.stabilised_height_ft = match i {
            18 => Some(900.0),
            17 => Some(300.0),
            _ => None,
        };
    };
    let fires = |_: &str, i: usize| (i > 9).then_some("high");
    let mut made = fleet(&[("r", "t")], settled, fires);
    for event in &mut made.events {
        event.height_aal_ft = Some(1500.0);
    }
    let rows = all(&made);
    assert_eq!(numbers(&rows, "t")[2], 18);
    assert_eq!(rows[2].why, "recovered");
    // An event below the height from which all was right is none that it came out of.
    for event in &mut made.events {
        event.height_aal_ft = Some(100.0);
    }
    assert!(all(&made).iter().all(|row| row.why == "typical"));
    // A go-around before any landing.
    let around = |i: usize, row: &mut ApproachRow| {
        settled(i, row);
        if i == 19 {
            row.outcome = "go_around".to_owned();
        }
    };
    let made = fleet(&[("r", "t")], around, fires);
    let rows = all(&made);
    assert_eq!(numbers(&rows, "t")[2], 19);
    assert_eq!(
        (rows[2].why.as_str(), rows[2].outcome.as_str()),
        ("recovered", "go_around")
    );
}

#[test]
fn a_go_around_does_not_bring_an_aircraft_in_twice() {
    let change = |i: usize, row: &mut ApproachRow| {
        if i == 19 {
            row.outcome = "go_around".to_owned();
            // The aircraft of the most typical approach.
            row.tail_id = Some("tail14".to_owned());
        }
    };
    let made = fleet(&[("r", "t")], change, |_, i| (i > 9).then_some("high"));
    let rows = all(&made);
    assert_eq!(numbers(&rows, "t")[0], 14);
    assert!(rows.iter().all(|row| row.why == "typical"));
}

#[test]
fn what_is_in_no_rate_or_does_not_stand_is_no_example() {
    let training = |i: usize, row: &mut ApproachRow| {
        if i == 0 {
            row.flight_purpose = Some("training".to_owned());
        }
    };
    let fires = |rule: &str, i: usize| (i < 5 || rule == "other").then_some("high");
    let mut made = fleet(
        &[("r", "t"), ("trial", "t"), ("other", "u")],
        training,
        fires,
    );
    made.rules.get_mut("trial").expect("the rule").trial = true;
    let of_r = |i: usize| {
        made.events
            .iter()
            .position(|event| event.rule == "r" && event.worst == Some(i as f64))
    };
    let (partial, edge) = (of_r(1).expect("an event"), of_r(2).expect("an event"));
    made.events[partial].partial = true;
    made.events[edge].edge = Some(true);
    // Its page would show the event that does not stand, whichever rule it is of.
    made.verdicts = vec![VerdictRow {
        flight_id: made.approaches[3].flight_id.clone(),
        approach_no: 1,
        rule: "other".to_owned(),
        verdict: "does not stand".to_owned(),
    }];
    let rows = all(&made);
    assert_eq!(numbers(&rows, "t"), [4]);
    assert_eq!(
        rows.iter()
            .find(|row| row.topic == "t")
            .expect("a row")
            .rule,
        "r"
    );
    assert!(!numbers(&rows, "u").contains(&3));
}

#[test]
fn only_the_last_twelve_months_count() {
    let mut made = fleet(&[("r", "t")], |_, _| {}, |_, _| Some("high"));
    made.add(12, 20, |_, _| {}, |_, i| Said::low_if(i == 0));
    let rows = all(&made);
    assert_eq!(rows.len(), 1);
    assert_eq!(rows[0].month.as_deref(), Some("2025-01"));
}

#[test]
fn a_topic_that_is_withheld_or_has_no_rank_has_no_examples() {
    let made = fleet(&[("r", "a"), ("s", "b")], |_, _| {}, |_, _| Some("high"));
    assert_eq!(all(&made).len(), 6);
    let withheld =
        |row: &mut TopicRow| row.suppressed = (row.topic == "a").then(|| "few".to_owned());
    assert!(chosen(&made, withheld).iter().all(|row| row.topic == "b"));
    assert!(chosen(&made, |row| row.rank = None).is_empty());
}

#[test]
fn the_order_of_events_changes_nothing() {
    let mut made = fleet(
        &[("r", "a"), ("s", "b")],
        |_, _| {},
        |_, i| match i % 3 {
            0 => Some("high"),
            1 => Some("low"),
            _ => None,
        },
    );
    let rows = all(&made);
    made.events.reverse();
    assert_eq!(all(&made), rows);
}
