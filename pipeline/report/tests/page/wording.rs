//! What the page says about zero, about what is not known and about what must not be shown.

use crate::invented;
use report::input::*;
use report::{CAUTIONS, render};

/// One real flight: one approach, one rule that could fire and two that could not.
fn single_flight() -> ReportInput {
    let rule = |id: &str, title: &str, cell: RateCell, reason: Option<&str>| RuleLine {
        id: id.into(),
        title: title.into(),
        family: "unstable-gate".into(),
        why: "Whatever is not settled by then stays unsettled.".into(),
        source: "Common practice, no source.".into(),
        version: 1,
        limits_status: LimitsStatus::Operator,
        approaches: 1,
        coverage_share: Some(if reason.is_some() { 0.0 } else { 1.0 }),
        not_evaluable: reason
            .map(|reason| ReasonLine {
                reason: reason.into(),
                approaches: Some(1),
            })
            .into_iter()
            .collect(),
        cell,
        ..RuleLine::default()
    };
    let none = RateCell {
        evaluable: Some(0),
        ..RateCell::default()
    };
    ReportInput {
        title: "Approach review".into(),
        identity: RunIdentity {
            fleet_title: "One flight".into(),
            version: "0.0.0".into(),
            rule_pack_hash: "aa".into(),
            config_hash: "bb".into(),
            run_number: 1,
            min_flights: 1,
            ..RunIdentity::default()
        },
        analysed: Analysed {
            flights_received: 1,
            flights_used: 1,
            approaches: 1,
            ..Analysed::default()
        },
        rules: vec![
            rule(
                "gate",
                "Not stabilised at 500 ft",
                invented::cell(1, 0.0),
                None,
            ),
            rule(
                "flap",
                "Fast for the flap",
                none,
                Some("flap_lever not recorded"),
            ),
            rule(
                "hidden",
                "Seen too rarely",
                RateCell::hidden(Suppression::FewFlights { minimum: 10 }),
                None,
            ),
        ],
        ..ReportInput::default()
    }
}

/// The row of a table's body that starts with a heading.
fn row<'a>(page: &'a str, heading: &str) -> &'a str {
    let marker = format!("\">{heading}</a></th>");
    page.split(&marker)
        .nth(1)
        .unwrap()
        .split("</tr>")
        .next()
        .unwrap()
}

#[test]
fn zero_not_evaluable_and_suppressed_are_told_apart() {
    let page = render(&single_flight()).unwrap();
    let zero = row(&page, "Not stabilised at 500 ft");
    assert!(zero.contains("<strong>0.0</strong>"), "{zero}");
    assert!(zero.contains("0.0 to 3,689.0"), "{zero}");
    assert!(zero.contains("100.0 % of 1"), "{zero}");
    let unknown = row(&page, "Fast for the flap");
    assert!(unknown.contains("not evaluable"), "{unknown}");
    assert!(!unknown.contains("0.0<"), "{unknown}");
    assert!(page.contains("flap_lever not recorded (1 approach)"));
    let hidden = row(&page, "Seen too rarely");
    assert!(
        hidden.contains("suppressed (fewer than 10 flights)"),
        "{hidden}"
    );
    assert!(hidden.contains("not shown"), "{hidden}");
}

#[test]
fn a_rule_on_trial_stands_apart_from_the_core_ones() {
    let mut input = single_flight();
    assert!(!render(&input).unwrap().contains("Rules on trial"));
    input.rules[0].trial = true;
    let page = render(&input).unwrap();
    let (core, trial) = page
        .split_once("<summary>Rules on trial: 1</summary>")
        .unwrap();
    let heading = "Not stabilised at 500 ft</a></th>";
    assert!(!core.contains(heading) && trial.contains(heading));
    assert!(core.contains("Fast for the flap</a></th>"));
    assert!(page.contains("on trial"), "the list of rules says so too");
}

#[test]
fn nothing_of_a_suppressed_cell_is_left_in_the_page() {
    let mut input = invented::fleet();
    let marked = RateCell {
        suppressed: Some(Suppression::FewFlights { minimum: 10 }),
        evaluable: Some(98_761),
        approaches_with_event: Some(98_762),
        rate_per_1000: Some(98_763.0),
        ci_low: Some(98_761.0),
        ci_high: Some(98_764.0),
    };
    // Left in by mistake upstream; only what cannot be true is refused.
    let marked = RateCell {
        approaches_with_event: Some(98_760),
        ..marked
    };
    input.rules[3].approaches = 98_765;
    input.rules[3].coverage_share = Some(0.98766);
    input.rules[3].cell = marked.clone();
    input.rules[3].not_evaluable[0].approaches = Some(98_767);
    input.trend[3].points[5].cell = marked.clone();
    input.hotspots[3].airports[0] = AirportLine {
        airport: "QAAR".into(),
        cell: marked,
        expected: None,
        prob_above_hot_ratio: None,
        upper_tail_p: None,
        standardised_ratio: Some(98_768.0),
        shrunk_rate_per_1000: Some(98_769.0),
        shrunk_low_per_1000: Some(98_769.5),
        prob_above_fleet: Some(0.98),
        class: HotspotClass::HotSpot,
        rank: Some(1),
    };
    input.analysed.by_airport[0].approaches = Some(98_770);
    input.analysed.by_airport[0].suppressed = Some(Suppression::Secondary);
    let spread = &mut input.distributions[0].periods[0];
    spread.suppressed = Some(Suppression::FewTailDays { minimum: 3 });
    spread.approaches = Some(98_771);
    let page = render(&input).unwrap();
    // The approaches in scope are known for every rule; the cell is not.
    let rest = page.replace("98,765", "");
    assert!(!rest.contains("98,7") && !rest.contains("98.8 %"));
    assert!(page.contains("suppressed (fewer than 3 tail-days)"));
    assert!(page.contains("suppressed (it would give away a suppressed neighbour)"));
    assert!(!page.contains("QAAR (Airspeed above"));
}

#[test]
fn a_suppressed_month_is_not_given_away_by_its_test() {
    let mut input = invented::fleet();
    let risen = &mut input.trend[5];
    assert_eq!(risen.latest.as_ref().unwrap().signal, Signal::Higher);
    assert!(
        render(&input)
            .unwrap()
            .contains("Higher in 2026-02 than in the months before")
    );
    let last = input.trend[5].points.last_mut().unwrap();
    last.cell.suppressed = Some(Suppression::FewFlights { minimum: 10 });
    let page = render(&input).unwrap();
    assert!(!page.contains("Higher in 2026-02"));
    assert!(!page.contains("1.78 (1.31 to 2.42)"));
}

#[test]
fn hostile_names_stay_words() {
    let hostile = "<script>alert('x')</script>\"&";
    let mut input = invented::fleet();
    input.title = hostile.into();
    input.identity.fleet_title = hostile.into();
    input.rules[0].title = hostile.into();
    input.rules[0].why = hostile.into();
    input.trend[0].title = hostile.into();
    input.trend[0].statement = Some(hostile.into());
    input.hotspots[0].title = hostile.into();
    for line in &mut input.hotspots[0].airports {
        line.airport = hostile.into();
    }
    input.distributions[0].measure = hostile.into();
    input.distributions[0].periods[0].label = hostile.into();
    input.analysed.by_airport[0].label = hostile.into();
    input.quality.notes.push(hostile.into());
    let page = render(&input).unwrap();
    assert!(!page.contains("<script"));
    assert!(!page.contains("</script"));
    assert!(page.contains("&lt;script&gt;"));
}

#[test]
fn a_month_without_a_figure_breaks_line_and_band() {
    let page = render(&invented::fleet()).unwrap();
    let picture = page
        .split("<svg ")
        .find(|p| p.contains("id=\"trend-energy_excess_20nm-title\""))
        .unwrap();
    let lines: Vec<usize> = picture
        .split("<polyline class=\"rate\" points=\"")
        .skip(1)
        .map(|part| part.split('"').next().unwrap().split(' ').count())
        .collect();
    // Ten months, one without flights, one suppressed, two months.
    assert_eq!(lines, [10, 2]);
    assert_eq!(picture.matches("<polygon class=\"band\"").count(), 2);
    assert_eq!(picture.matches(">s</text>").count(), 1);
}

#[test]
fn every_caution_is_on_the_page() {
    let page = render(&ReportInput::default()).unwrap();
    for caution in CAUTIONS {
        assert!(page.contains(&caution.replace('\'', "&#x27;")), "{caution}");
    }
}

#[test]
fn an_empty_run_still_explains_itself() {
    let page = render(&ReportInput::default()).unwrap();
    for words in [
        "0 approaches in 0 of 0 flights received",
        "No flight was refused",
        "No rule was in force",
        "no monthly series to show",
        "no comparison of airports to show",
        "No parameter was checked",
    ] {
        assert!(page.contains(words), "{words}");
    }
}

#[test]
fn a_single_flight_reads_as_expected() {
    let page = render(&single_flight()).unwrap();
    // The style sheet and the standing text have their own tests.
    let body = page.split("<main id=\"main\">").nth(1).unwrap();
    let body = body
        .split("<section aria-labelledby=\"reading\">")
        .next()
        .unwrap();
    insta::assert_snapshot!("single_flight", body);
}

/// The text of one section of the page.
fn section<'a>(page: &'a str, id: &str) -> &'a str {
    let start = page.find(&format!("<h2 id=\"{id}\">")).unwrap();
    let end = page[start..].find("</section>").unwrap();
    &page[start..start + end]
}

#[test]
fn topics_come_by_rank_and_a_hidden_one_says_nothing() {
    let page = render(&invented::fleet()).unwrap();
    let topics = section(&page, "topics");
    let place = |text: &str| topics.find(text).unwrap_or_else(|| panic!("{text}"));
    assert!(place("Unstable approach: 374") < place("Energy management: 293"));
    assert!(place("<strong class=\"flag\">higher than before</strong>") > 0);
    assert!(!topics.contains("never shown") && !topics.contains("QFIR"));
    assert!(topics.contains("suppressed (fewer than 10 flights)"));
}

#[test]
fn what_people_made_of_events_stands_beside_the_rate_once_somebody_looked() {
    let page = render(&invented::fleet()).unwrap();
    let rates = section(&page, "rates");
    assert!(rates.contains("21 of 24 stand (69.0 % to 95.7 %)"));
    assert!(rates.contains("Looked at by a person"));
    let mut input = invented::fleet();
    for rule in &mut input.rules {
        rule.precision = None;
    }
    let page = render(&input).unwrap();
    assert!(!section(&page, "rates").contains("Looked at by a person"));
}

#[test]
fn changes_and_late_data_are_told_and_hidden_ones_are_not() {
    let page = render(&invented::fleet()).unwrap();
    let changes = section(&page, "trend");
    assert!(changes.contains("1.62 (1.20 to 2.19)") && changes.contains("(planned)"));
    assert!(changes.contains("a rise of 48 % would probably have been seen"));
    let since = section(&page, "since");
    assert!(since.contains("41 events are to be looked at by a person, 27 of them done"));
    assert!(since.contains("402 → 431") && since.contains("late flights"));
    let hidden = |part: &str| part.matches("suppressed (fewer than 10 flights)").count();
    assert_eq!(
        (
            hidden(since),
            hidden(changes.split("Month by month").next().unwrap())
        ),
        (1, 1)
    );
    for (restated, words) in [
        (
            Restated::NothingBefore,
            "There is no review of an earlier month",
        ),
        (Restated::Unreadable, "can no longer be read"),
        (
            Restated::Since {
                run: 7,
                month: None,
                lines: Vec::new(),
            },
            "No figure of the review before (run 7) has changed.",
        ),
    ] {
        let input = ReportInput {
            restated,
            ..invented::fleet()
        };
        let page = render(&input).unwrap();
        assert!(section(&page, "since").contains(words), "{words}");
    }
}

#[test]
fn flights_that_did_not_come_in_are_told_by_month() {
    let page = render(&invented::fleet()).unwrap();
    let analysed = section(&page, "analysed");
    assert!(
        analysed.contains(
            "<td class=\"n\">470</td><td class=\"n\">452</td><td class=\"n\">96.2 %</td>"
        )
    );
    assert!(analysed.contains("more flights received than flown"));
    let without = ReportInput {
        recovery: Vec::new(),
        ..invented::fleet()
    };
    assert!(!section(&render(&without).unwrap(), "analysed").contains("Flown"));
}

#[test]
fn impossible_verdicts_and_shares_are_refused() {
    let mut input = invented::fleet();
    input.rules[5].precision.as_mut().unwrap().stands = Some(25);
    input.recovery[0].share = Some(f64::NAN);
    input.changes[0].ratio = Some(-1.0);
    let faults = render(&input).unwrap_err().to_string();
    for words in [
        "more events stand than were looked at",
        "flights flown in 2026-01",
        "change of 2025-06",
    ] {
        assert!(faults.contains(words), "{words}: {faults}");
    }
}
