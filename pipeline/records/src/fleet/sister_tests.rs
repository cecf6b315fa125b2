//! `flown.csv`, `interventions.csv`, `verdicts.csv`, and the thresholds of `[review.flags]`.

use super::tests::{fault, folder};
use super::*;

#[test]
fn flown_flights_are_read_with_the_ids_of_the_list() {
    assert!(open(folder(&[]).path()).expect("opens").flown.is_empty());
    let flown =
        "tail_id,month,flights,pilot\nF-ABCD,2025-04,31,x\nF-ABCD,2025-03,28,y\nt1,2025-03-01,0,\n";
    let list = "flight_id,tail_id\nf1,F-ABCD\n";
    let folder = folder(&[("flown.csv", flown), ("flights.csv", list)]);
    let fleet = open(folder.path()).expect("opens");
    let listed = fleet.flights["f1"].tail_id.clone().expect("a tail");
    assert_ne!(listed, "F-ABCD");
    let of = |tail: &str| -> Vec<(&str, u32)> {
        let rows = fleet.flown.iter().filter(|row| row.tail_id == tail);
        rows.map(|row| (row.month.as_str(), row.flights)).collect()
    };
    assert_eq!(of(&listed), [("2025-03", 28), ("2025-04", 31)]);
    assert_eq!(of("t1"), [("2025-03", 0)]);
    let told = |note: &String| note.ends_with("flown.csv: columns left out: pilot");
    assert!(fleet.notes.iter().any(told), "{:?}", fleet.notes);
}

#[test]
fn faults_of_flown_flights_name_their_line() {
    let rows = |text: &str| fault(&[("flown.csv", &format!("tail_id,month,flights\n{text}\n"))]);
    assert_eq!(
        rows("t1,2025-03,4\nt1,2025-03,5"),
        "flown.csv:3: this aircraft has a row for 2025-03 already, expected one"
    );
    for count in ["-1", "2.5", "3001", "many"] {
        assert_eq!(
            rows(&format!("t1,2025-03,{count}")),
            "flown.csv:2: flights is no whole number from 0 to 3000"
        );
    }
    assert_eq!(
        rows("t1,March,4"),
        "flown.csv:2: month is `March`, expected YYYY-MM"
    );
    assert_eq!(
        rows(",2025-03,4"),
        "flown.csv:2: tail_id is empty, expected a value in every row"
    );
    assert_eq!(
        fault(&[("flown.csv", "tail_id,month,flight\n")]),
        "flown.csv:1: no column `flights`; did you mean flight?"
    );
}

#[test]
fn interventions_are_read_in_the_order_of_months() {
    let table = "month,airport,aircraft_type,what\n2025-06,EDDF,,steeper path\n\
                 2025-02,,corvan-c20,\"new briefing, all bases\"\n";
    let folder = folder(&[("interventions.csv", table)]);
    let fleet = open(folder.path()).expect("opens");
    let expected = InterventionRow {
        month: "2025-02".to_owned(),
        airport: None,
        aircraft_type: Some("corvan-c20".to_owned()),
        what: "new briefing, all bases".to_owned(),
        rules: None,
    };
    assert_eq!(fleet.interventions[0], expected);
    assert_eq!(fleet.interventions[1].airport.as_deref(), Some("EDDF"));
    let rows = |row: &str| {
        let text = format!("month,airport,what\n{row}\n");
        fault(&[("interventions.csv", &text)])
    };
    assert_eq!(
        rows("2025-02,,x"),
        "interventions.csv:2: airport and aircraft_type are both empty, expected at least one; write fleet into \
         one of them if the change was for the whole fleet"
    );
    assert_eq!(
        rows("2025-02,EDDF,"),
        "interventions.csv:2: what is empty, expected a value in every row"
    );
    assert_eq!(
        rows("2025-02-30,EDDF,x"),
        "interventions.csv:2: month is something that looks like a date, expected YYYY-MM"
    );
}

#[test]
fn an_intervention_may_be_for_all_and_name_what_it_was_meant_to_move() {
    let table = "month,airport,aircraft_type,what,rules\n\
                 2025-06,fleet,,new gate policy,unstable_500; unstable-gate\n";
    let folder = folder(&[("interventions.csv", table)]);
    let fleet = open(folder.path()).expect("opens");
    let row = &fleet.interventions[0];
    assert_eq!((&row.airport, &row.aircraft_type), (&None, &None));
    assert_eq!(row.rules.as_deref(), Some("unstable_500 unstable-gate"));
}

#[test]
fn verdicts_are_read_and_their_faults_named() {
    let table = "flight_id,approach_no,rule,verdict,who\nb,1,r,does not stand,x\na,2,r,stands,\n";
    let folder = folder(&[("verdicts.csv", table)]);
    let fleet = open(folder.path()).expect("opens");
    let read: Vec<_> = fleet
        .verdicts
        .iter()
        .map(|row| {
            (
                row.flight_id.as_str(),
                row.approach_no,
                row.verdict.as_str(),
            )
        })
        .collect();
    assert_eq!(read, [("a", 2, "stands"), ("b", 1, "does not stand")]);
    let told = |note: &String| note.ends_with("verdicts.csv: columns left out: who");
    assert!(fleet.notes.iter().any(told), "{:?}", fleet.notes);

    let rows = |row: &str| {
        let text = format!("flight_id,approach_no,rule,verdict\n{row}\n");
        fault(&[("verdicts.csv", &text)])
    };
    assert_eq!(
        rows("a,1,r,true"),
        "verdicts.csv:2: verdict is none of: stands, does not stand, open"
    );
    assert_eq!(
        rows("a,0,r,open"),
        "verdicts.csv:2: approach_no is no whole number from 1"
    );
    assert_eq!(
        rows("a,1,r,open\na,1,r,stands"),
        "verdicts.csv:3: this approach and rule have a row already, expected one"
    );
}

#[test]
fn thresholds_are_the_usual_ones_until_they_are_set_and_are_held_in_range() {
    let flags = |text: &str| {
        let text = format!("[review.flags]\n{text}\n");
        let folder = folder(&[("fleet.toml", &text)]);
        open(folder.path()).map(|fleet| fleet.review.flags)
    };
    assert_eq!(flags("").expect("opens"), Flags::default());
    let set = flags("ratio = 2\nchart_from = \"2024-01\"\nchart_months = 24").expect("opens");
    assert_eq!((set.ratio, set.chart_months), (2.0, 24));
    assert_eq!(set.chart_from, "2024-01");
    for (text, expected) in [
        ("ratio = 0.5", "ratio is 0.5"),
        ("q = 0.9", "q is 0.9"),
        ("min_coverage = 80", "min_coverage is 80"),
        ("chart_months = 6", "chart_months is 6"),
        ("chart_from = \"January\"", "chart_from is no month"),
        ("ration = 2", "unknown field `ration`"),
    ] {
        let error = flags(text).expect_err("refused").to_string();
        assert!(error.contains(expected), "{text}: {error}");
    }
}
