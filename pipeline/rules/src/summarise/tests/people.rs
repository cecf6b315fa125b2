//! What people are asked to look at, what they say of it, and what changed since they last looked.

use std::collections::{BTreeMap, BTreeSet};

use super::super::{Earlier, Part, SummaryOptions, restated};
use super::made::{Made, Said, event, month};
use ::records::fleet::VerdictRow;

fn verdict(made: &Made, number: usize, rule: &str, says: &str) -> VerdictRow {
    VerdictRow {
        flight_id: made.approaches[number].flight_id.clone(),
        approach_no: 1,
        rule: rule.to_owned(),
        verdict: says.to_owned(),
    }
}

#[test]
fn every_event_of_the_highest_level_is_listed_and_those_behind_a_flag() {
    let mut made = Made::with(&[("r", "x")]);
    for number in 0..13 {
        let share = if number == 12 { 12 } else { 3 };
        made.add(
            number,
            300,
            |_, _| {},
            |_, i| match i {
                7 if number == 2 => Said::event("high"),
                _ => Said::low_if(i % 100 < share),
            },
        );
    }
    // Too little was known for this one to count: a person should look all the more.
    let mut partial = event(&made.approaches[50], "r", "high");
    partial.partial = true;
    made.events.push(partial);
    let rows = made.summary().second_look;
    let high: Vec<_> = rows.iter().filter(|row| row.level == "high").collect();
    assert_eq!(high.len(), 2);
    assert!(high.iter().any(|row| !row.counts) && high.iter().all(|row| row.verdict == "open"));
    let examples: Vec<_> = rows
        .iter()
        .filter(|row| row.why.contains("higher in"))
        .collect();
    assert!(
        !examples.is_empty() && examples.len() <= 5 * 3,
        "{}",
        examples.len()
    );
    assert!(
        examples
            .iter()
            .all(|row| row.month.as_deref() == Some(month(12).as_str()))
    );
}

#[test]
fn precision_counts_verdicts_and_withholds_few() {
    let mut made = Made::with(&[("r", "x"), ("s", "x")]);
    made.add(
        0,
        100,
        |_, _| {},
        |rule, i| match (rule, i) {
            ("r", 0..20) => Said::event("high"),
            ("s", 0..3) => Said::event("medium"),
            _ => Said::clear(),
        },
    );
    made.verdicts = (0..12)
        .map(|i| {
            verdict(
                &made,
                i,
                "r",
                if i < 9 { "stands" } else { "does not stand" },
            )
        })
        .collect();
    made.verdicts.push(verdict(&made, 1, "s", "stands"));
    made.verdicts.push(verdict(&made, 14, "r", "open"));
    made.verdicts.push(verdict(&made, 60, "r", "stands"));
    let summary = made.summary();
    assert_eq!(summary.verdicts_without_event, 1);
    let of = |rule: &str, level: &str| {
        let mut rows = summary.precision.iter();
        rows.find(|row| row.rule == rule && row.at_least_level == level)
            .unwrap()
    };
    let r = of("r", "high");
    assert_eq!(
        (r.listed, r.looked_at, r.stands, r.precision),
        (20, Some(12), Some(9), Some(0.75))
    );
    assert!(r.ci_low.unwrap() < 0.5 && r.ci_high.unwrap() > 0.9);
    let s = of("s", "low");
    assert_eq!(
        (s.looked_at, s.suppressed.as_deref()),
        (None, Some("too few flights"))
    );
    let listed: BTreeSet<&str> = summary
        .second_look
        .iter()
        .map(|row| row.verdict.as_str())
        .collect();
    assert_eq!(listed, BTreeSet::from(["does not stand", "open", "stands"]));
}

/// Levels are cumulative: what one has more than the next is a number of flights too.
#[test]
fn a_level_that_differs_by_few_from_one_that_is_shown_is_withheld() {
    let mut made = Made::with(&[("r", "x")]);
    made.add(
        0,
        100,
        |_, _| {},
        |_, i| match i {
            0..30 => Said::event("high"),
            30..34 => Said::event("medium"),
            34..60 => Said::event("low"),
            _ => Said::clear(),
        },
    );
    made.verdicts = (0..60).map(|i| verdict(&made, i, "r", "stands")).collect();
    let rows = made.summary().precision;
    let shown: Vec<(&str, Option<i64>, Option<&str>)> = rows
        .iter()
        .map(|row| {
            let level = row.at_least_level.as_str();
            (level, row.looked_at, row.suppressed.as_deref())
        })
        .collect();
    assert_eq!(
        shown,
        [
            ("low", Some(60), None),
            ("medium", Some(34), None),
            ("high", None, Some("would give another cell away")),
        ]
    );
}

#[test]
fn late_flights_are_told_month_by_month_and_few_are_withheld() {
    let mut made = Made::with(&[("r", "x")]);
    for number in 0..3 {
        made.add(number, 100, |_, _| {}, |_, i| Said::low_if(i % 10 == 0));
    }
    // Thirty of the second month and four of the first came after the last review, which showed two months.
    let late = |row: &str| {
        row.starts_with("f001-0000")
            || row.starts_with("f001-0001")
            || row.starts_with("f001-0002")
            || row.starts_with("f000-0000") && row < "f000-00004"
    };
    let come = Part {
        approaches: made
            .approaches
            .iter()
            .filter(|row| late(&row.flight_id))
            .cloned()
            .collect(),
        judged: judged(&made, late),
        events: made
            .events
            .iter()
            .filter(|row| late(&row.flight_id))
            .cloned()
            .collect(),
    };
    let earlier = Earlier {
        last_month: month(1),
        come,
        ..Earlier::default()
    };
    let rows = restated(
        &earlier,
        &made.input(&made.measured()),
        &SummaryOptions::default(),
    );
    assert_eq!(rows.len(), 2, "{rows:?}");
    let few = &rows[0];
    assert_eq!(
        (few.month.as_str(), few.evaluable_now),
        (month(0).as_str(), None)
    );
    assert_eq!(few.suppressed.as_deref(), Some("too few flights"));
    let row = &rows[1];
    assert_eq!(
        (row.flights_changed, row.cause.as_str()),
        (Some(30), "late flights")
    );
    assert_eq!(
        (row.evaluable_before, row.evaluable_now),
        (Some(70), Some(100))
    );
    assert_eq!(
        (
            row.approaches_with_event_before,
            row.approaches_with_event_now
        ),
        (Some(7), Some(10))
    );
}

/// Which rules judged the flights that are wanted, and whether they could have fired there.
fn judged(made: &Made, wanted: impl Fn(&str) -> bool) -> BTreeMap<String, Vec<(i64, bool)>> {
    let mut judged: BTreeMap<String, Vec<(i64, bool)>> = BTreeMap::new();
    for row in made
        .measurements
        .iter()
        .filter(|row| wanted(&row.flight_id))
    {
        let evaluable = ["event", "clear"].contains(&row.status.as_str());
        let own = judged.entry(row.rule.clone()).or_default();
        own.push((row.approach_key, evaluable));
    }
    judged
}

#[test]
fn a_changed_rule_is_another_cause_than_late_flights_and_what_is_the_same_is_not_told() {
    let mut before = Made::with(&[("r", "x"), ("s", "x")]);
    before.add(0, 100, |_, _| {}, |_, i| Said::low_if(i % 10 == 0));
    let mut now = Made::with(&[("r", "x"), ("s", "x")]);
    now.add(
        0,
        100,
        |_, _| {},
        |rule, i| Said::low_if(i % if rule == "r" { 5 } else { 10 } == 0),
    );
    let part = |made: &Made| Part {
        approaches: Vec::new(),
        judged: judged(made, |_| true),
        events: made.events.clone(),
    };
    let earlier = Earlier {
        last_month: month(0),
        gone: part(&before),
        come: part(&now),
        rules_changed: BTreeSet::from(["r".to_owned()]),
    };
    let rows = restated(
        &earlier,
        &now.input(&now.measured()),
        &SummaryOptions::default(),
    );
    assert_eq!(rows.len(), 1, "{rows:?}");
    assert_eq!(
        (rows[0].rule.as_str(), rows[0].cause.as_str()),
        ("r", "rule changed")
    );
    assert_eq!(
        (
            rows[0].approaches_with_event_before,
            rows[0].approaches_with_event_now
        ),
        (Some(10), Some(20))
    );
}

#[test]
fn topics_say_what_an_instructor_can_read_out() {
    let mut made = Made::with(&[("r", "x"), ("s", "x"), ("own", "z")]);
    made.rules.get_mut("own").unwrap().topics = vec!["a topic of our own".to_owned()];
    for number in 0..13 {
        made.add(
            number,
            200,
            |_, _| {},
            |rule, i| match rule {
                "r" => Said::low_if(i % 20 == 0),
                "s" => Said::low_if(i % 40 == 0),
                _ => Said::low_if(i % 100 == 0),
            },
        );
    }
    let topics = made.summary().training_topics;
    let of = |name: &str| {
        let mut rows = topics.iter();
        rows.find(|row| row.topic == name && row.group == "fleet")
            .unwrap()
    };
    let drag = of("use of drag");
    assert_eq!(
        (drag.evaluable, drag.approaches_with_event),
        (Some(2400), Some(120))
    );
    assert_eq!(drag.evidence_rules.as_deref(), Some("r s"));
    assert_eq!(
        (drag.rank, drag.competencies.as_deref()),
        (Some(1), Some("FPM, FPA, SAW"))
    );
    let said = drag.sentence.as_deref().unwrap();
    assert!(
        said.starts_with(
            "Use of drag: 120 of 2,400 approaches of the fleet from 2024-02 to 2025-01, 50 in 1,000 (95 %"
        ),
        "{said}"
    );
    assert!(
        said.contains("Most often: title of r, then title of s."),
        "{said}"
    );
    let own = of("a topic of our own");
    assert_eq!((own.rank, own.competencies.as_deref()), (Some(2), None));
}
