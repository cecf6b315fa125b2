use super::*;
use crate::fleet::Rekey;
use std::fmt::Write as _;

/// The list and its notes, the temporary folder's name taken off.
fn list(
    text: &str,
    identifying: Identifying,
) -> (
    Result<BTreeMap<String, FlightHeader>, RecordsError>,
    Vec<String>,
) {
    let folder = tempfile::tempdir().expect("temporary folder");
    let path = folder.path().join("flights.csv");
    std::fs::write(&path, text).expect("written");
    let key = folder.path().join("privacy.key");
    std::fs::write(&key, [7; 32]).expect("written");
    let mut notes = Vec::new();
    let flights = read(
        &path,
        &Privacy::new(Rekey::Auto, identifying, key),
        &mut notes,
    );
    let prefix = format!("{}/", folder.path().display());
    let notes = notes.iter().map(|note| note.replace(&prefix, ""));
    (flights, notes.collect())
}

fn good(text: &str) -> (BTreeMap<String, FlightHeader>, Vec<String>) {
    let (flights, notes) = list(text, Identifying::Drop);
    (flights.expect("a list"), notes)
}

#[test]
fn columns_that_identify_are_dropped_and_named_or_refused() {
    let text = "flight_id,CAPTAIN,sector,who,fuel\nf1,x,QX1234,Jane Doe,5400\nf2,y,QX1,,5100\n";
    let (_, notes) = good(text);
    assert_eq!(
        notes,
        [
            "flights.csv: columns that identify, dropped: CAPTAIN (a person), \
             sector (a flight number), who (a person)",
            "flights.csv: columns left out: fuel",
        ]
    );
    assert!(!notes.join(" ").contains("Jane"), "values are not repeated");
    let (refused, _) = list(text, Identifying::Refuse);
    let message = refused.expect_err("refused").to_string();
    assert!(
        message.contains("flights.csv:1: columns that identify: CAPTAIN (a person), sector"),
        "{message}"
    );
    assert!(!message.contains("fuel"), "{message}");
    let (allowed, notes) = list(text, Identifying::Allow);
    assert_eq!(allowed.expect("allowed").len(), 2);
    assert_eq!(
        notes,
        ["flights.csv: columns left out: CAPTAIN, fuel, sector, who"]
    );
    let (clean, _) = list(
        "flight_id,tail_id,day_key,date\nf1,t1,d1,\n",
        Identifying::Refuse,
    );
    assert_eq!(clean.expect("the list's own columns are no fault").len(), 1);
}

#[test]
fn days_become_months_and_keyed_hashes() {
    let text = "flight_id,date,month,day_key\na,2025-03-04,,\nb,4.3.2025,2025-03,\nc,,2025-03-09,\n\
                d,,,2025-03-04\ne,2025-03-04,2025-04,d41\nf,03/04/2025,,\n";
    let (flights, notes) = good(text);
    let month = |id: &str| flights[id].month.as_deref();
    let day = |id: &str| flights[id].day_key.as_deref();
    assert_eq!(
        ["a", "b", "c", "d", "e", "f"].map(month),
        [
            Some("2025-03"),
            Some("2025-03"),
            Some("2025-03"),
            None,
            None,
            None
        ]
    );
    assert_eq!(day("a").map(str::len), Some(16));
    assert_eq!((day("a"), day("a")), (day("b"), day("d")));
    assert_eq!((day("c"), day("e"), day("f")), (None, Some("d41"), None));
    assert_eq!(
        notes,
        [
            "flights.csv:6: month is 2025-04 and date is in 2025-03; month unknown",
            "flights.csv:7: date is no day that can be read in one way only, expected YYYY-MM-DD; \
             unknown",
            "flights.csv: 1 rows: month is a full date; cut to the month",
            "flights.csv: 1 rows: day_key gives the day away; replaced by a keyed hash",
            "flights.csv: column date gave month and day_key where they were empty, and was dropped",
        ]
    );
    assert!(
        !format!("{flights:?}").contains("2025-03-0"),
        "a day is stored"
    );
}

#[test]
fn a_flight_listed_again_counts_once_and_contradictions_are_unknown() {
    let text = "flight_id,month,landing_mass_kg,destination\na,2025-03,60000,EDDF\nb,2025-03,,\n\
                a,2025-03,60000,EDDF\na,2025-03,61000,\na,2025-03,60000,EDDM\nb,2025-03,55000,\n";
    let (flights, notes) = good(text);
    let a = &flights["a"];
    assert_eq!(
        (
            a.month.as_deref(),
            a.landing_mass_kg,
            a.destination.as_deref()
        ),
        (Some("2025-03"), None, None)
    );
    assert_eq!(flights["b"].landing_mass_kg, None, "the first row is used");
    assert_eq!(
        notes,
        [
            "flights.csv:4: the flight of line 2 again: counts once",
            "flights.csv:5: the flight of line 2 again, with another landing_mass_kg: line 2 is \
             used and that is unknown",
            "flights.csv:6: the flight of line 2 again, with another destination: line 2 is used \
             and that is unknown",
            "flights.csv:7: the flight of line 3 again: counts once",
        ]
    );
}

#[test]
fn faulty_cells_are_unknown_and_told_with_their_line() {
    let text = "flight_id,month,flight_purpose,qnh_hpa,landing_mass_kg\n\
                a,2025-13,freight,10132,heavy\n,2025-03,,,\nb,Jane Doe,training,1013.2,60000\n";
    let (flights, notes) = good(text);
    assert_eq!(
        flights["a"],
        FlightHeader {
            flight_id: "a".to_owned(),
            ..FlightHeader::default()
        }
    );
    assert_eq!(flights["b"].qnh_hpa, Some(1013.2));
    assert_eq!(
        notes,
        [
            "flights.csv:2: month is `2025-13`, expected YYYY-MM; unknown",
            "flights.csv:2: flight_purpose is `freight`, expected line, training or positioning; \
             counts as a line flight; unknown",
            "flights.csv:2: qnh_hpa is `10132`, expected a number from 850 to 1090; unknown",
            "flights.csv:2: landing_mass_kg is `heavy`, expected a number from 1000 to 650000; \
             unknown",
            "flights.csv:3: flight_id is empty: the row is left out",
            "flights.csv:4: month is something that looks like a person, expected YYYY-MM; unknown",
        ]
    );
}

#[test]
fn many_faulty_rows_are_counted_after_twenty() {
    let mut text = "flight_id,month\n".to_owned();
    for i in 0..50 {
        writeln!(text, "f{i},soon").expect("written");
    }
    let (flights, notes) = good(&text);
    assert_eq!((flights.len(), notes.len()), (50, 21));
    assert!(notes[19].starts_with("flights.csv:21:"), "{}", notes[19]);
    assert_eq!(notes[20], "flights.csv: 30 more notes on rows like these");
}

/// The sample fleet's ids and day keys are opaque: reading it makes no key and says nothing.
#[test]
fn an_opaque_list_needs_no_key() {
    let folder = tempfile::tempdir().expect("temporary folder");
    let key = folder.path().join("privacy.key");
    let list = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../sample-data/flights.parquet"
    );
    let privacy = Privacy::new(Rekey::Auto, Identifying::Refuse, key.clone());
    let mut notes = Vec::new();
    let flights = read(Path::new(list), &privacy, &mut notes).expect("a list");
    assert!(flights.len() > 50, "{}", flights.len());
    assert!(flights.values().all(|header| header.day_key.is_some()));
    assert_eq!(notes, Vec::<String>::new());
    assert!(!key.exists());
}

#[test]
fn a_row_of_another_length_is_left_out_and_told() {
    let text = "flight_id,month\nf1,2025-03\nf2,2025-03,more\nf3\nf4,2025-04\n";
    let (flights, notes) = good(text);
    let ids: Vec<&String> = flights.keys().collect();
    assert_eq!(ids, ["f1", "f4"]);
    assert_eq!(notes.len(), 2);
    assert!(
        notes[0].starts_with("flights.csv:3: 3 cells, expected 2 as in the header; "),
        "{notes:?}"
    );
    assert!(notes[1].starts_with("flights.csv:4: 1 cells"), "{notes:?}");
    assert!(notes[1].ends_with(": the row is left out"), "{notes:?}");
}
