//! What is withheld, and that nothing else tells it.

use super::super::{BeforeAfterRow, Summary};
use super::made::{Made, Said, month, trend};
use ::records::fleet::InterventionRow;

/// Fourteen months; BBBB is flown by few in the eighth.
fn with_a_small_month() -> Summary {
    let mut made = Made::with(&[("r", "x")]);
    for number in 0..14 {
        let few = if number == 7 { 4 } else { 60 };
        made.add(
            number,
            200 + few,
            |i, row| row.airport = Some(if i < few { "BBBB" } else { "AAAA" }.to_owned()),
            |_, i| Said::low_if(i % 9 == 0),
        );
    }
    made.summary()
}

#[test]
fn a_hidden_month_is_in_no_baseline_that_is_shown() {
    let summary = with_a_small_month();
    let hidden = trend(&summary, "r", "BBBB", 7);
    assert_eq!(
        (hidden.evaluable, hidden.ratio, hidden.expected),
        (None, None, None)
    );
    assert_eq!(hidden.suppressed.as_deref(), Some("too few flights"));
    assert_eq!(hidden.why_no_signal.as_deref(), Some("too few approaches"));
    // Each later baseline is what the shown months add up to: two of them less each other tell nothing.
    for number in 9..14 {
        let row = trend(&summary, "r", "BBBB", number);
        let earlier: Vec<_> = (number.saturating_sub(12)..number)
            .map(|earlier| trend(&summary, "r", "BBBB", earlier))
            .filter(|earlier| earlier.suppressed.is_none())
            .collect();
        let x: i64 = earlier
            .iter()
            .filter_map(|row| row.approaches_with_event)
            .sum();
        let n: i64 = earlier.iter().filter_map(|row| row.evaluable).sum();
        assert_eq!(row.baseline_months, i64::try_from(earlier.len()).ok());
        assert_eq!(row.baseline_rate, Some(1000.0 * x as f64 / n as f64));
    }
    // Nor does the slope use it: with a second month hidden for the sake of the first.
    let slope = summary.trend_slope.iter().find(|row| row.group == "BBBB");
    let shown = (0..14).filter(|number| trend(&summary, "r", "BBBB", *number).suppressed.is_none());
    let slope = slope.unwrap();
    assert!(
        slope
            .months
            .is_none_or(|months| months == shown.count() as i64),
        "{slope:?}"
    );
}

#[test]
fn nothing_undefined_is_a_number_in_any_table() {
    let summary = with_a_small_month();
    let text = format!("{summary:?}");
    assert!(
        !text.contains("NaN") && !text.contains("inf"),
        "an undefined number is shown"
    );
}

#[test]
fn an_empty_fleet_has_empty_tables() {
    let summary = Made::with(&[("r", "x")]).summary();
    assert!(summary.rates.is_empty() && summary.trend_monthly.is_empty());
    assert!(summary.hotspots.is_empty() && summary.training_topics.is_empty());
    assert!(summary.second_look.is_empty() && summary.precision.is_empty());
}

#[test]
fn what_is_on_trial_is_measured_and_never_flagged() {
    let mut made = Made::with(&[("r", "x"), ("s", "x")]);
    made.rules.get_mut("r").unwrap().trial = true;
    for number in 0..13 {
        let share = if number == 12 { 30 } else { 3 };
        made.add(
            number,
            300,
            |_, _| {},
            |rule, i| match rule {
                "r" => Said::low_if(i % 100 < share),
                _ => Said::clear(),
            },
        );
    }
    let summary = made.summary();
    let row = trend(&summary, "r", "fleet", 12);
    assert_eq!((row.approaches_with_event, row.p), (Some(90), None));
    assert_eq!(row.why_no_signal.as_deref(), Some("on trial"));
    assert!(
        summary
            .hotspots
            .iter()
            .all(|row| row.rule.as_deref() != Some("r") || row.class.is_none())
    );
    assert!(
        summary.rates.iter().all(|row| row.rule.is_some()),
        "one core rule is no family"
    );
    assert!(summary.second_look.is_empty());
    let topic = &summary.training_topics[0];
    assert_eq!(
        (topic.evaluable, topic.approaches_with_event),
        (Some(12 * 300), Some(0))
    );
}

fn changed(airport: Option<&str>, rules: Option<&str>) -> InterventionRow {
    InterventionRow {
        month: month(12),
        airport: airport.map(str::to_owned),
        aircraft_type: None,
        what: "new gate policy".to_owned(),
        rules: rules.map(str::to_owned),
    }
}

#[test]
fn a_change_is_tested_before_and_after_where_it_was_made() {
    let mut made = Made::with(&[("r", "x"), ("s", "y")]);
    for number in 0..20 {
        made.add(
            number,
            400,
            |i, row| row.airport = Some(if i % 2 == 0 { "AAAA" } else { "BBBB" }.to_owned()),
            |rule, i| {
                let halved = number >= 12 && i % 2 == 0 && i % 4 == 0;
                Said::low_if(rule == "r" && i % 10 < 2 && !halved)
            },
        );
    }
    made.interventions = vec![changed(Some("AAAA"), Some("r")), changed(None, None)];
    let rows = made.summary().interventions;
    let of = |planned: bool, rule: &str| -> Option<&BeforeAfterRow> {
        rows.iter()
            .find(|row| row.planned == planned && row.rule.as_deref() == Some(rule))
    };
    let row = of(true, "r").unwrap();
    assert_eq!(row.signal.as_deref(), Some("lower"), "{row:?}");
    // Eight months since, and the same eight of the year before.
    assert_eq!((row.months_before, row.months_after), (Some(8), Some(8)));
    assert_eq!(
        (row.season_controlled, row.evaluable_after),
        (Some(true), Some(1600))
    );
    assert!(of(true, "s").is_none(), "not named, not tested");
    let other = of(false, "s").unwrap();
    assert_eq!(
        other.why_no_signal.as_deref(),
        Some("no event in either period")
    );
    assert_eq!(of(false, "r").unwrap().airport, None);
}

#[test]
fn a_change_without_a_year_before_it_is_not_tested() {
    let mut made = Made::with(&[("r", "x")]);
    for number in 9..15 {
        made.add(number, 100, |_, _| {}, |_, i| Said::low_if(i % 10 == 0));
    }
    made.interventions = vec![changed(None, None)];
    let row = &made.summary().interventions[0];
    assert_eq!(row.why_no_signal.as_deref(), Some("too few months before"));
    assert_eq!((row.signal.as_deref(), row.ratio), (None, None));
}
