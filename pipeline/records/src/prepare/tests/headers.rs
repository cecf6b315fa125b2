//! Lists that disagree with made-up flights.

use std::collections::{BTreeMap, BTreeSet};

use super::flown::{LANDING, add, fleet, fly, runway, state};
use super::*;
use crate::fleet::Fleet;
use crate::flight::FlightHeader;
use crate::prepare::without_record;
use crate::rows::HeaderRow;

/// A landing at ZZZZ, listed as `change` says, in a fleet whose list holds `listed`.
fn headers(listed: &[&str], change: impl Fn(&mut RawFlight)) -> Vec<HeaderRow> {
    let mut raw = fly(&runway(), LANDING);
    add(&mut raw, "on_ground", |t| state(t >= 1_310.0));
    change(&mut raw);
    prepare(raw, &listing(listed)).unwrap().headers
}

fn listing(ids: &[&str]) -> Fleet {
    let flights: BTreeMap<String, FlightHeader> = ids
        .iter()
        .map(|id| ((*id).to_owned(), FlightHeader::default()))
        .collect();
    Fleet { flights, ..fleet() }
}

fn row(column: &str, listed: Option<&str>, recorded: Option<&str>, action: &str) -> HeaderRow {
    HeaderRow {
        flight_id: "f1".to_owned(),
        column: column.to_owned(),
        listed: listed.map(str::to_owned),
        recorded: recorded.map(str::to_owned),
        action: action.to_owned(),
    }
}

#[test]
fn a_flight_without_a_row_is_told_where_there_is_a_list() {
    let action = "not in the flight list: type, month, mass unknown";
    assert_eq!(
        headers(&["f2"], |_| {}),
        [row("flight_id", None, None, action)]
    );
    assert_eq!(headers(&["f1"], |_| {}), []);
    assert_eq!(headers(&[], |_| {}), [], "no list: one note says so");
}

#[test]
fn a_row_without_a_record_is_told() {
    let recorded = BTreeSet::from(["f1".to_owned(), "f3".to_owned()]);
    let rows = without_record(&listing(&["f1", "f2"]), &recorded);
    let action = "in the flight list, and no record of it";
    let expected = HeaderRow {
        flight_id: "f2".to_owned(),
        ..row("flight_id", None, None, action)
    };
    assert_eq!(rows, [expected]);
}

#[test]
fn a_landing_elsewhere_than_listed_is_told() {
    let to = |place: &str| {
        let place = place.to_owned();
        headers(&["f1"], move |raw| {
            raw.header.destination = Some(place.clone())
        })
    };
    assert_eq!(to("ZZZZ"), []);
    assert_eq!(to("zzzz"), []);
    let action = "destination says YYYY (runways.csv has no such airport), landed at ZZZZ; ZZZZ is \
                  used";
    assert_eq!(
        to("YYYY"),
        [row("destination", Some("YYYY"), Some("ZZZZ"), action)]
    );
}

#[test]
fn a_listed_mass_far_from_the_recorded_one_is_told() {
    let with = |listed_kg: f64, flown: bool| {
        headers(&["f1"], move |raw| {
            raw.header.landing_mass_kg = Some(listed_kg);
            if flown {
                add(raw, "gross_mass_kg", |t| 61_300.0 - t);
            }
        })
    };
    assert_eq!(with(62_900.0, true), [], "4.8 % is within reason");
    assert_eq!(with(70_000.0, false), [], "nothing to hold it against");
    let rows = with(66_000.0, true);
    assert_eq!(rows.len(), 1, "{rows:?}");
    assert_eq!(rows[0].column, "landing_mass_kg");
    assert_eq!(rows[0].listed.as_deref(), Some("66000"));
    // 61,300 kg less a kilogram a second, at the touchdown at 1,310 s.
    let flown: f64 = rows[0].recorded.as_deref().unwrap().parse().unwrap();
    assert!((flown - 59_990.0).abs() < 15.0, "{flown}");
    assert_eq!(
        rows[0].action,
        "listed mass is +10 % off the recorded one, which is used"
    );
}

#[test]
fn a_type_without_a_file_and_a_contradicted_setting_are_told() {
    let rows = headers(&["f1"], |raw| {
        raw.header.aircraft_type = Some("corvan-c21".to_owned());
        // The landing is at a pressure altitude 250 ft above the field: about 1004 hPa.
        raw.header.qnh_hpa = Some(1_030.0);
    });
    let action = "no aircraft/corvan-c21.toml: limits and reference speeds unknown";
    assert_eq!(
        rows[0],
        row("aircraft_type", Some("corvan-c21"), None, action)
    );
    assert_eq!((rows.len(), rows[1].column.as_str()), (2, "qnh_hpa"));
    assert_eq!(rows[1].listed.as_deref(), Some("1030"));
    assert!(rows[1].action.contains("not used for heights"), "{rows:?}");
    assert_eq!(
        headers(&["f1"], |raw| raw.header.qnh_hpa = Some(1_004.2)),
        []
    );
}
