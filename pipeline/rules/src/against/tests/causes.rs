//! Why a flag is new: other data, other rules, more flying, another program.

use super::*;

/// The causes of the only row.
fn cause(now: &Made, before: &Made) -> String {
    let rows = now.against(before);
    assert_eq!(rows.len(), 1, "{rows:?}");
    rows[0].cause.clone().unwrap()
}

fn with(made: Made, more: &[(&str, serde_json::Value)]) -> Made {
    Made {
        marks: Some(run(more)),
        ..made
    }
}

/// The later of two reviews of the same months, with a signal that the other had not.
fn flagged() -> Made {
    let mut made = quiet();
    made.trend_monthly[1].signal = Some("higher".into());
    made
}

#[test]
fn a_month_more_on_the_same_figures_is_flying() {
    assert_eq!(cause(&risen(), &quiet()), "flying");
}

#[test]
fn other_figures_of_a_common_month_are_data() {
    let mut before = quiet();
    before.trend_monthly[0].evaluable = Some(99);
    assert_eq!(cause(&flagged(), &before), "data");
    assert_eq!(cause(&risen(), &before), "data; flying");
    // Of another rule or place alone they are not those of the flag.
    let mut other = quiet();
    other.trend_monthly[2].evaluable = Some(99);
    assert_eq!(cause(&risen(), &other), "flying");
}

#[test]
fn a_month_that_came_late_is_data_and_one_without_approaches_is_none() {
    let mut before = quiet();
    before.trend_monthly.remove(0);
    assert_eq!(cause(&risen(), &before), "data; flying");
    let mut now = risen();
    now.trend_monthly
        .push(month("late", "2025-12", (0, 0), None));
    assert_eq!(cause(&now, &quiet()), "flying");
}

#[test]
fn a_month_that_one_review_withholds_is_not_compared() {
    let mut before = quiet();
    before.trend_monthly[0] = withheld(before.trend_monthly[0].clone());
    assert_eq!(cause(&risen(), &before), "flying");
}

#[test]
fn what_only_one_review_could_tell_is_data() {
    let mut before = quiet();
    before.trend_monthly[1] = withheld(before.trend_monthly[1].clone());
    assert_eq!(cause(&risen(), &before), "data; flying");
    let untested = TrendRow {
        p: None,
        why_no_signal: Some("coverage moved".into()),
        ..month("late", "2026-02", (110, 6), None)
    };
    before.trend_monthly[1] = untested;
    assert_eq!(cause(&risen(), &before), "data; flying");
}

#[test]
fn a_place_that_nobody_flew_to_before_is_flying() {
    let mut now = risen();
    now.trend_monthly[4].signal = None;
    now.hotspots = vec![place(Some("late"), "QNEW", "watch")];
    assert_eq!(cause(&now, &quiet()), "flying");
}

#[test]
fn a_changed_rule_is_rules_and_its_own_figures_say_nothing_of_the_data() {
    let mut now = flagged();
    // The rule fires more often in a month that both cover, as it is another rule.
    now.trend_monthly[0].approaches_with_event = Some(40);
    let now = with(now, &[("/rules/1/hash", json!("c"))]);
    assert_eq!(cause(&now, &quiet()), "rules");
    let mut late = now.clone();
    late.trend_monthly[2].evaluable = Some(105);
    assert_eq!(cause(&late, &quiet()), "data; rules");
    let mut newer = risen();
    newer.trend_monthly[2].evaluable = Some(105);
    let newer = with(newer, &[("/rules/1/version", json!(2))]);
    assert_eq!(cause(&newer, &quiet()), "data; rules; flying");
    // Another rule of the pack is none of its business.
    let other = with(risen(), &[("/rules/0/hash", json!("c"))]);
    assert_eq!(cause(&other, &quiet()), "flying");
}

#[test]
fn a_rule_that_was_added_or_left_its_trial_is_rules() {
    let one = with(quiet(), &[("/rules", json!([rule("steep", "a")]))]);
    let mut without = one.clone();
    without
        .trend_monthly
        .retain(|row| row.rule.as_deref() == Some("steep"));
    assert_eq!(cause(&flagged(), &without), "rules");
    let trial = with(quiet(), &[("/rules/1/status", json!("trial"))]);
    assert_eq!(cause(&flagged(), &trial), "rules");
    // Other words or topics of a rule move none of its own flags.
    let reworded = with(quiet(), &[("/rules/1/topics", json!([]))]);
    assert_eq!(cause(&risen(), &reworded), "flying");
}

#[test]
fn another_threshold_is_rules_where_the_flag_depends_on_it() {
    for (threshold, value, expected) in [
        ("/thresholds/flags/q", json!(0.1), "rules; flying"),
        ("/thresholds/flags/ratio", json!(1.1), "rules; flying"),
        ("/thresholds/min_flights", json!(5), "rules; flying"),
        ("/thresholds/flags/hot_spot_ratio", json!(2.0), "flying"),
        ("/thresholds/flags/chart_months", json!(6), "flying"),
        ("/thresholds/governing_gate_ft", json!(1000.0), "flying"),
    ] {
        let now = with(risen(), &[(threshold, value)]);
        assert_eq!(cause(&now, &quiet()), expected, "{threshold}");
    }
    let made = |class| Made {
        hotspots: vec![place(Some("late"), "QCOV", class)],
        ..quiet()
    };
    let now = with(
        made("watch"),
        &[("/thresholds/flags/hot_spot_ratio", json!(2.0))],
    );
    assert_eq!(cause(&now, &made("hot spot")), "rules");
}

#[test]
fn another_version_of_the_program_is_named_last() {
    let now = with(risen(), &[("/program/version", json!("1.1.0"))]);
    assert_eq!(cause(&now, &quiet()), "flying; program");
    let now = with(flagged(), &[("/program/version", json!("1.1.0"))]);
    assert_eq!(cause(&now, &quiet()), "program");
}

/// Tests are corrected for one another: where nothing of its own is different, the rest is asked.
#[test]
fn where_nothing_of_its_own_differs_the_other_rules_and_groups_are_asked() {
    let mut before = quiet();
    before.trend_monthly[2].evaluable = Some(99);
    assert_eq!(cause(&flagged(), &before), "data");
    let now = with(flagged(), &[("/rules/0/hash", json!("c"))]);
    assert_eq!(cause(&now, &quiet()), "rules");
    assert_eq!(cause(&flagged(), &quiet()), "not known");
}

#[test]
fn a_family_goes_by_its_rules_and_its_own_figures() {
    let family = |row: TrendRow| TrendRow { rule: None, ..row };
    let made = |signal, events| {
        let mut made = quiet();
        made.trend_monthly
            .push(family(month("", "2026-01", (100, events), None)));
        made.trend_monthly
            .push(family(month("", "2026-02", (110, 9), signal)));
        made
    };
    let (before, now) = (made(None, 8), made(Some("higher"), 8));
    let changed = with(now.clone(), &[("/rules/0/hash", json!("c"))]);
    assert_eq!(cause(&changed, &before), "rules");
    let left = with(now.clone(), &[("/rules/0/family", json!("speeds"))]);
    assert_eq!(cause(&left, &before), "rules");
    assert_eq!(cause(&made(Some("higher"), 9), &before), "data");
    // A rule on trial is no part of it.
    let trial = |hash| {
        [
            ("/rules/0/status", json!("trial")),
            ("/rules/0/hash", json!(hash)),
        ]
    };
    let (before, now) = (with(before, &trial("a")), with(now, &trial("c")));
    assert_eq!(cause(&now, &before), "not known");
}

#[test]
fn a_topic_goes_by_the_rules_that_name_it() {
    let made = |rank| {
        let mut made = quiet();
        for row in &mut made.trend_monthly {
            row.group_kind = "fleet".into();
            row.group = "fleet".into();
        }
        made.training_topics = vec![topic(Some(rank))];
        made
    };
    let mut late = made(2);
    late.trend_monthly[2].approaches_with_event = Some(9);
    assert_eq!(cause(&late, &made(4)), "data");
    let named = with(made(2), &[("/rules/0/topics", json!([]))]);
    assert_eq!(cause(&named, &made(4)), "rules");
    let mut newer = made(2);
    newer
        .trend_monthly
        .push(month("late", "2026-03", (50, 1), None));
    assert_eq!(cause(&newer, &made(4)), "flying");
}

#[test]
fn a_change_that_was_told_since_is_data_and_one_for_a_type_somewhere_asks_both() {
    let made = |signal| {
        let mut made = quiet();
        let of_type = |row: &TrendRow| TrendRow {
            group_kind: "aircraft_type".into(),
            group: "corvan-c20".into(),
            ..row.clone()
        };
        let types: Vec<_> = made.trend_monthly.iter().map(of_type).collect();
        made.trend_monthly.extend(types);
        made.interventions = vec![change(signal)];
        made
    };
    let mut without = made(None);
    without.interventions.clear();
    assert_eq!(cause(&made(Some("lower")), &without), "data");
    let mut newer = made(Some("lower"));
    newer
        .trend_monthly
        .push(month("late", "2026-03", (50, 1), None));
    let mut elsewhere = made(None);
    // Other figures of the airport alone: another type flew there.
    elsewhere.trend_monthly[0].evaluable = Some(90);
    assert_eq!(cause(&newer, &elsewhere), "flying");
    elsewhere.trend_monthly[4].evaluable = Some(90);
    assert_eq!(cause(&newer, &elsewhere), "data; flying");
}
