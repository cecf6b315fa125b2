//! Months, slopes and places: what is called, and in words why not.

use super::super::{HotspotRow, SlopeRow, Summary};
use super::made::{Made, Said, month, trend};

const PER_MONTH: usize = 400;

/// A year and a month at 4 %, the last month at `last` of a hundred.
fn last_month_at(last: usize) -> Made {
    let mut made = Made::with(&[("r", "x")]);
    for number in 0..13 {
        let share = if number == 12 { last } else { 4 };
        made.add(
            number,
            PER_MONTH,
            |_, _| {},
            |_, i| Said::low_if(i % 100 < share),
        );
    }
    made
}

fn slope<'a>(summary: &'a Summary, rule: &str) -> &'a SlopeRow {
    summary
        .trend_slope
        .iter()
        .find(|row| {
            row.rule.as_deref() == Some(rule) && row.group == "fleet" && row.at_least_level == "low"
        })
        .unwrap()
}

#[test]
fn a_month_that_rose_and_one_that_fell_are_called() {
    let summary = last_month_at(9).summary();
    let row = trend(&summary, "r", "fleet", 12);
    assert_eq!(row.signal.as_deref(), Some("higher"));
    assert_eq!(row.ratio, Some(2.25));
    assert_eq!(
        (row.baseline_months, row.season_controlled),
        (Some(12), Some(false))
    );
    assert_eq!(
        (row.expected, row.standardised_ratio),
        (Some(16.0), Some(2.25))
    );
    assert!(row.q.unwrap() < 0.05 && row.detectable_rise_pct.unwrap() < 125.0);
    let summary = last_month_at(0).summary();
    assert_eq!(
        trend(&summary, "r", "fleet", 12).signal.as_deref(),
        Some("lower")
    );
}

#[test]
fn what_is_not_called_says_why() {
    let summary = last_month_at(5).summary();
    let row = trend(&summary, "r", "fleet", 12);
    assert_eq!(row.why_no_signal.as_deref(), Some("not significant"));
    assert!(row.detectable_rise_pct.unwrap() > 25.0);
    let row = trend(&summary, "r", "fleet", 3);
    assert_eq!(row.why_no_signal.as_deref(), Some("too few months before"));
    assert_eq!((row.ratio, row.p, row.q), (None, None, None));
}

#[test]
fn a_month_under_another_version_is_not_compared_with_those_before() {
    let mut made = last_month_at(4);
    let mut newer = Made::with(&[("r", "x")]);
    newer.add(
        12,
        PER_MONTH,
        |_, _| {},
        |_, i| Said {
            version: 2,
            ..Said::low_if(i % 100 < 20)
        },
    );
    // The last month of the fleet, judged by another version and five times as often an event.
    let keep = 12 * PER_MONTH;
    made.approaches.truncate(keep);
    made.measurements.truncate(keep);
    made.events
        .retain(|event| event.flight_id.as_str() < "f012");
    for (offset, mut row) in newer.approaches.into_iter().enumerate() {
        row.approach_key = i64::try_from(keep + offset).unwrap();
        made.approaches.push(row);
    }
    for (offset, mut row) in newer.measurements.into_iter().enumerate() {
        row.approach_key = i64::try_from(keep + offset).unwrap();
        made.measurements.push(row);
    }
    made.events.extend(newer.events);
    let summary = made.summary();
    let row = trend(&summary, "r", "fleet", 12);
    assert_eq!(
        (row.signal.as_deref(), row.approaches_with_event),
        (None, Some(80))
    );
    assert_eq!(row.why_no_signal.as_deref(), Some("rule version changed"));
    let row = slope(&summary, "r");
    assert_eq!(
        (row.call.as_deref(), row.why_no_call.as_deref()),
        (None, Some("rule version changed"))
    );
}

#[test]
fn a_lost_channel_is_no_change_of_the_rate() {
    // In the last month the channel is missing on every second approach, and on those that are left the rate
    // is more than twice as high.
    let mut made = Made::with(&[("r", "x")]);
    for number in 0..13 {
        made.add(
            number,
            PER_MONTH,
            |_, _| {},
            |_, i| {
                if number == 12 && i % 2 == 0 {
                    Said::not_judged("no data: flap_lever")
                } else {
                    Said::low_if(i % 100 < if number == 12 { 20 } else { 4 })
                }
            },
        );
    }
    let summary = made.summary();
    let row = trend(&summary, "r", "fleet", 12);
    assert_eq!(row.signal, None);
    assert_eq!(row.why_no_signal.as_deref(), Some("coverage too low"));
    assert_eq!(
        row.rate_per_1000,
        Some(200.0),
        "the rate is shown all the same"
    );
    assert_eq!(slope(&summary, "r").call, None);
}

#[test]
fn coverage_that_moves_is_told_and_situations_that_do_not_occur_are_no_loss_of_coverage() {
    let of = |reason: &'static str| {
        let mut made = Made::with(&[("r", "x")]);
        for number in 0..13 {
            made.add(
                number,
                PER_MONTH,
                |_, _| {},
                |_, i| {
                    if number == 12 && i % 20 < 3 {
                        Said::not_judged(reason)
                    } else {
                        Said::low_if(i % 100 < if number == 12 { 14 } else { 4 })
                    }
                },
            );
        }
        let summary = made.summary();
        let row = trend(&summary, "r", "fleet", 12);
        (row.signal.clone(), row.why_no_signal.clone())
    };
    assert_eq!(
        of("no data: flap_lever"),
        (None, Some("coverage moved".to_owned()))
    );
    assert_eq!(of("gate not reached"), (Some("higher".to_owned()), None));
}

#[test]
fn a_month_of_another_mix_is_explained_by_it() {
    // One type has ten times the events of the other; in the last month it flies most of the approaches.
    let mut made = Made::with(&[("r", "x")]);
    for number in 0..13 {
        let many = if number == 12 { 8 } else { 2 };
        made.add(
            number,
            PER_MONTH,
            |i, row| {
                let kind = if i % 10 < many { "a1" } else { "a2" };
                row.aircraft_type = Some(kind.to_owned());
            },
            |_, i| Said::low_if(i % 10 < many && (i / 10) % 5 == i % 5),
        );
    }
    let summary = made.summary();
    let row = trend(&summary, "r", "fleet", 12);
    assert!(row.ratio.unwrap() > 3.5 && row.p.unwrap() < 1e-6);
    assert!(
        (row.standardised_ratio.unwrap() - 1.0).abs() < 0.15,
        "{row:?}"
    );
    assert_eq!(row.why_no_signal.as_deref(), Some("mix explains it"));
    assert_eq!(trend(&summary, "r", "a1", 12).signal, None);
}

#[test]
fn a_season_that_comes_back_is_neither_signal_nor_trend() {
    // Three years with twice the rate from December to February; the last month is a January.
    let mut made = Made::with(&[("r", "x")]);
    for number in 0..37 {
        let share = if matches!(number % 12, 11 | 0 | 1) {
            8
        } else {
            3
        };
        made.add(
            number,
            PER_MONTH,
            |_, _| {},
            |_, i| Said::low_if(i % 100 < share),
        );
    }
    let summary = made.summary();
    let row = trend(&summary, "r", "fleet", 36);
    assert_eq!(
        (row.season_controlled, row.baseline_months),
        (Some(true), Some(8))
    );
    assert_eq!(row.signal, None, "{row:?}");
    let row = slope(&summary, "r");
    assert_eq!(
        (row.season_controlled, row.call.as_deref()),
        (Some(true), None)
    );
}

#[test]
fn a_slow_rise_is_called_and_its_chart_runs_above() {
    let mut made = Made::with(&[("r", "x")]);
    for number in 0..24 {
        let per_thousand = 30 + 4 * number;
        made.add(
            number,
            1000,
            |_, _| {},
            |_, i| Said::low_if(i < per_thousand),
        );
    }
    let summary = made.summary();
    let row = slope(&summary, "r");
    assert_eq!(row.call.as_deref(), Some("rising"), "{row:?}");
    assert!(row.slope_pct_per_month.unwrap() > 4.0);
    assert_eq!(
        (row.months, row.from_month.as_deref()),
        (Some(24), Some("2024-01"))
    );
    let last = trend(&summary, "r", "fleet", 23);
    assert_eq!(last.chart.as_deref(), Some("above"));
    // Its own first year stands as the baseline: 52 in a thousand.
    assert!(
        last.chart_high.unwrap() > 70.0 && last.chart_high.unwrap() < 85.0,
        "{last:?}"
    );
    let charted: Vec<&str> = (12..24)
        .filter_map(|number| trend(&summary, "r", "fleet", number).chart.as_deref())
        .collect();
    assert!(!charted.is_empty());
}

#[test]
fn families_count_an_approach_once_and_are_called_as_a_whole() {
    let mut made = Made::with(&[("r1", "x"), ("r2", "x"), ("alone", "y")]);
    made.add(
        0,
        100,
        |_, _| {},
        |rule, i| match rule {
            "r1" => Said::low_if(i < 10),
            "r2" if i < 5 => Said::event("high"),
            "r2" if i < 40 => Said::not_judged("no data: flap_lever"),
            _ => Said::low_if((5..8).contains(&i)),
        },
    );
    let summary = made.summary();
    let rate = |level: &str| {
        let row = summary
            .rates
            .iter()
            .find(|row| row.rule.is_none() && row.group == "fleet" && row.at_least_level == level);
        let row = row.unwrap();
        (row.family.clone(), row.evaluable, row.approaches_with_event)
    };
    assert_eq!(rate("low"), ("x".to_owned(), Some(100), Some(10)));
    assert_eq!(rate("high"), ("x".to_owned(), Some(100), Some(5)));
    let families = summary.rates.iter().filter(|row| row.rule.is_none());
    assert!(
        families.clone().all(|row| row.family == "x"),
        "one rule is no family"
    );
}

fn place<'a>(summary: &'a Summary, airport: &str) -> &'a HotspotRow {
    summary
        .hotspots
        .iter()
        .find(|row| row.airport == airport && row.runway.is_none())
        .unwrap()
}

#[test]
fn a_place_stands_out_for_what_it_is_and_not_for_what_flies_there() {
    // BBBB has three times the rate; CCCC only has more of a type that has three times the rate everywhere.
    let mut made = Made::with(&[("r", "x")]);
    for number in 0..12 {
        made.add(
            number,
            600,
            |i, row| {
                let airport = ["AAAA", "BBBB", "CCCC", "DDDD", "EEEE", "FFFF"][i % 6];
                row.airport = Some(airport.to_owned());
                let heavy = (i / 6) % 10 < if airport == "CCCC" { 9 } else { 1 };
                row.aircraft_type = Some(if heavy { "a2" } else { "a1" }.to_owned());
            },
            |_, i| {
                let heavy = (i / 6) % 10 < if i % 6 == 2 { 9 } else { 1 };
                let rate = if heavy { 9 } else { 3 } * if i % 6 == 1 { 3 } else { 1 };
                // Spread over the numbers without regard to type or place.
                Said::low_if((i * 7919 + 13) % 100 < rate)
            },
        );
    }
    let summary = made.summary();
    assert_eq!(place(&summary, "BBBB").class.as_deref(), Some("hot spot"));
    let other = place(&summary, "CCCC");
    assert!(other.rate_per_1000.unwrap() > 60.0, "{other:?}");
    assert_eq!(other.class.as_deref(), Some("not elevated"), "{other:?}");
    assert!(other.why.is_some() && other.standardised_ratio.unwrap() < 1.3);
    assert_eq!(place(&summary, "BBBB").rank, Some(1));
}

#[test]
fn what_was_so_years_ago_makes_no_hot_spot_now() {
    let mut made = Made::with(&[("r", "x")]);
    for number in 0..30 {
        made.add(
            number,
            240,
            |i, row| row.airport = Some(["AAAA", "BBBB", "CCCC", "DDDD"][i % 4].to_owned()),
            |_, i| Said::low_if(i % 4 == 1 && number < 12 && i % 3 == 0 || i % 50 == 0),
        );
    }
    let summary = made.summary();
    let row = place(&summary, "BBBB");
    assert_eq!(row.class.as_deref(), Some("not elevated"), "{row:?}");
    assert_eq!(row.from_month.as_deref(), Some(month(18).as_str()));
    assert_eq!(row.evaluable, Some(720));
}
