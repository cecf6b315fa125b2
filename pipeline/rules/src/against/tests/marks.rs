//! New, gone, changed, unchanged; and what a side withholds stays withheld.

use super::*;

fn marks_of(rows: &[AgainstRow]) -> Vec<(&str, &str, Option<&str>, Option<&str>)> {
    rows.iter()
        .map(|row| {
            (
                row.mark.as_str(),
                row.kind.as_str(),
                row.flag_before.as_deref(),
                row.flag_now.as_deref(),
            )
        })
        .collect()
}

#[test]
fn a_signal_of_the_latest_month_is_new_and_then_gone() {
    let rows = risen().against(&quiet());
    assert_eq!(marks_of(&rows), [("new", "month", None, Some("higher"))]);
    let row = &rows[0];
    assert_eq!(row.rule.as_deref(), Some("late"));
    assert_eq!(row.why_not_before.as_deref(), Some("not significant"));
    assert_eq!(row.why_not_now, None);
    let months = (row.month_before.as_deref(), row.month_now.as_deref());
    assert_eq!(months, (Some("2026-02"), Some("2026-03")));
    assert_eq!(
        (row.evaluable_before, row.evaluable_now),
        (Some(110), Some(120))
    );

    let mut after = risen();
    after
        .trend_monthly
        .push(month("late", "2026-04", (90, 5), None));
    let rows = after.against(&risen());
    assert_eq!(marks_of(&rows), [("gone", "month", Some("higher"), None)]);
}

#[test]
fn a_signal_of_an_earlier_month_is_no_flag_of_now() {
    let mut before = quiet();
    before.trend_monthly[0].signal = Some("lower".into());
    assert_eq!(quiet().against(&before), []);
}

#[test]
fn the_same_review_twice_is_unchanged_and_has_no_cause() {
    let rows = risen().against(&risen());
    let flag = Some("higher");
    assert_eq!(marks_of(&rows), [("unchanged", "month", flag, flag)]);
    assert_eq!(rows[0].cause, None);
}

#[test]
fn another_direction_class_or_rank_is_changed() {
    let (mut before, mut now) = (quiet(), quiet());
    before.trend_monthly[1].signal = Some("higher".into());
    now.trend_monthly[1].signal = Some("lower".into());
    let slope = |call: &str| SlopeRow {
        rule: Some("late".into()),
        family: "gates".into(),
        at_least_level: "high".into(),
        group_kind: "fleet".into(),
        group: "fleet".into(),
        slope_pct_per_month: Some(3.0),
        call: Some(call.into()),
        ..SlopeRow::default()
    };
    before.trend_slope = vec![slope("rising")];
    now.trend_slope = vec![slope("falling")];
    before.hotspots = vec![place(Some("late"), "QCOV", "watch")];
    now.hotspots = vec![place(Some("late"), "QCOV", "hot spot")];
    before.training_topics = vec![topic(Some(5))];
    now.training_topics = vec![topic(Some(2))];
    before.interventions = vec![change(Some("lower"))];
    now.interventions = vec![change(Some("higher"))];
    let rows = now.against(&before);
    assert_eq!(
        marks_of(&rows),
        [
            ("changed", "month", Some("higher"), Some("lower")),
            ("changed", "slope", Some("rising"), Some("falling")),
            ("changed", "place", Some("watch"), Some("hot spot")),
            ("changed", "topic", Some("rank 5"), Some("rank 2")),
            ("changed", "intervention", Some("lower"), Some("higher")),
        ]
    );
    assert_eq!(rows[1].at_least_level.as_deref(), Some("high"));
    let last = &rows[4];
    assert_eq!(last.group_kind, "airport and aircraft_type");
    assert_eq!(last.group, "QCOV, corvan-c20");
    assert_eq!(last.intervention.as_deref(), Some("leaflet"));
}

#[test]
fn a_topic_enters_and_leaves_the_first_five() {
    let with = |rank| Made {
        training_topics: vec![topic(rank)],
        ..quiet()
    };
    let rows = with(Some(5)).against(&with(Some(6)));
    assert_eq!(marks_of(&rows), [("new", "topic", None, Some("rank 5"))]);
    let why = Some("not among the first five");
    assert_eq!(rows[0].why_not_before.as_deref(), why);
    let rows = with(None).against(&with(Some(1)));
    assert_eq!(marks_of(&rows), [("gone", "topic", Some("rank 1"), None)]);
    assert_eq!(with(Some(7)).against(&with(Some(6))), []);
    let row = &with(Some(1)).against(&with(Some(1)))[0];
    assert_eq!((row.rule.as_ref(), row.family.as_ref()), (None, None));
    assert_eq!(row.topic.as_deref(), Some("settling"));
}

#[test]
fn a_family_is_named_without_a_rule_and_comes_after_the_rules() {
    let made = |class| Made {
        hotspots: vec![
            place(None, "QCOV", class),
            place(Some("late"), "QCOV", class),
        ],
        ..quiet()
    };
    let rows = made("watch").against(&made("not elevated"));
    let named: Vec<_> = rows
        .iter()
        .map(|row| (row.rule.as_deref(), row.family.as_deref()))
        .collect();
    assert_eq!(
        named,
        [(Some("late"), Some("gates")), (None, Some("gates"))]
    );
    assert_eq!(
        rows[0].why_not_before.as_deref(),
        Some("not probable enough")
    );
}

/// Whatever is left in a withheld row, nothing of it comes through.
#[test]
fn what_one_review_withholds_the_comparison_withholds() {
    let mut before = quiet();
    let hidden = TrendRow {
        suppressed: Some("too few flights".into()),
        signal: Some("higher".into()),
        ..month("late", "2026-02", (7, 3), None)
    };
    before.trend_monthly[1] = hidden;
    let rows = risen().against(&before);
    let row = &rows[0];
    assert_eq!((row.mark.as_str(), row.flag_before.as_ref()), ("new", None));
    assert_eq!(row.why_not_before.as_deref(), Some("too few flights"));
    assert_eq!(
        (row.evaluable_before, row.rate_per_1000_before),
        (None, None)
    );
    assert_eq!(
        (row.approaches_with_event_before, row.ratio_before),
        (None, None)
    );
    assert_eq!(row.evaluable_now, Some(120));

    let mut now = risen();
    now.trend_monthly[4].suppressed = Some("too few tail-days".into());
    let rows = now.against(&risen());
    let row = &rows[0];
    assert_eq!((row.mark.as_str(), row.flag_now.as_ref()), ("gone", None));
    assert_eq!((row.evaluable_now, row.rate_per_1000_now), (None, None));
    assert_eq!(row.why_not_now.as_deref(), Some("too few tail-days"));
}

#[test]
fn one_runway_is_a_place_but_no_month() {
    let mut now = risen();
    now.trend_monthly[4].group_kind = "runway".into();
    now.trend_monthly[4].group = "QCOV/27".into();
    let runway = HotspotRow {
        runway: Some("27".into()),
        ..place(Some("late"), "QCOV", "watch")
    };
    now.hotspots = vec![runway];
    let rows = now.against(&quiet());
    assert_eq!(marks_of(&rows), [("new", "place", None, Some("watch"))]);
    assert_eq!(
        (rows[0].group_kind.as_str(), rows[0].group.as_str()),
        ("runway", "QCOV/27")
    );
    assert_eq!(
        rows[0].why_not_before.as_deref(),
        Some("not in that review")
    );
}
