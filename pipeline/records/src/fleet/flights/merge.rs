//! Rows of one flight become one: what they agree on stays, what they contradict is unknown.

use std::collections::BTreeMap;

use crate::fleet::row_notes::RowNotes;
use crate::flight::FlightHeader;

/// One header a flight, from the first row that names it.
pub(super) fn merge(
    rows: Vec<(u64, FlightHeader)>,
    notes: &mut RowNotes,
) -> BTreeMap<String, FlightHeader> {
    // The first row as it stood, beside what is left of it: a third row is held against the first.
    let mut flights: BTreeMap<String, (u64, FlightHeader, FlightHeader)> = BTreeMap::new();
    for (line, header) in rows {
        let Some((first_line, first, kept)) = flights.get_mut(&header.flight_id) else {
            let id = header.flight_id.clone();
            flights.insert(id, (line, header.clone(), header));
            continue;
        };
        let other = contradictions(first, &header, kept);
        let message = if other.is_empty() {
            format!("the flight of line {first_line} again: counts once")
        } else {
            let line_flight = if other.contains(&"flight_purpose") {
                "; it counts as a line flight"
            } else {
                ""
            };
            format!(
                "the flight of line {first_line} again, with another {}: line {first_line} is \
                 used and that is unknown{line_flight}",
                other.join(", ")
            )
        };
        notes.push(line, message);
    }
    let kept = flights.into_iter().map(|(id, (_, _, kept))| (id, kept));
    kept.collect()
}

/// Names the cells that both rows know and that differ, and makes them unknown in `kept`.
fn contradictions(
    first: &FlightHeader,
    again: &FlightHeader,
    kept: &mut FlightHeader,
) -> Vec<&'static str> {
    let mut names = Vec::new();
    let mut texts = |name, a: &Option<String>, b: &Option<String>, kept: &mut Option<String>| {
        settle(name, a, b, kept, &mut names);
    };
    texts("tail_id", &first.tail_id, &again.tail_id, &mut kept.tail_id);
    texts(
        "aircraft_type",
        &first.aircraft_type,
        &again.aircraft_type,
        &mut kept.aircraft_type,
    );
    texts("month", &first.month, &again.month, &mut kept.month);
    texts(
        "departure",
        &first.departure,
        &again.departure,
        &mut kept.departure,
    );
    texts(
        "destination",
        &first.destination,
        &again.destination,
        &mut kept.destination,
    );
    texts(
        "flight_purpose",
        &first.flight_purpose,
        &again.flight_purpose,
        &mut kept.flight_purpose,
    );
    texts("day_key", &first.day_key, &again.day_key, &mut kept.day_key);
    let mut numbers = |name, a: &Option<f64>, b: &Option<f64>, kept: &mut Option<f64>| {
        settle(name, a, b, kept, &mut names);
    };
    numbers("qnh_hpa", &first.qnh_hpa, &again.qnh_hpa, &mut kept.qnh_hpa);
    numbers(
        "landing_mass_kg",
        &first.landing_mass_kg,
        &again.landing_mass_kg,
        &mut kept.landing_mass_kg,
    );
    names
}

fn settle<T: PartialEq>(
    name: &'static str,
    first: &Option<T>,
    again: &Option<T>,
    kept: &mut Option<T>,
    names: &mut Vec<&'static str>,
) {
    if first.is_some() && again.is_some() && first != again {
        names.push(name);
        *kept = None;
    }
}
