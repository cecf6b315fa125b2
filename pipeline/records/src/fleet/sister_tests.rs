//! `flown.csv` and `interventions.csv`.

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
    };
    assert_eq!(fleet.interventions[0], expected);
    assert_eq!(fleet.interventions[1].airport.as_deref(), Some("EDDF"));
    let rows = |row: &str| {
        let text = format!("month,airport,what\n{row}\n");
        fault(&[("interventions.csv", &text)])
    };
    assert_eq!(
        rows("2025-02,,x"),
        "interventions.csv:2: airport and aircraft_type are both empty, expected at least one"
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
