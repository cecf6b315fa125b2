//! Where the flight list and the record disagree, or one of them is silent.

use std::collections::BTreeSet;

use super::PreparedApproach;
use crate::fleet::Fleet;
use crate::flight::RawFlight;
use crate::rows::HeaderRow;

/// Listed and recorded mass may differ by this share. Judgement: a load sheet's rounding and a
/// recorder's resolution stay well below, another flight's mass does not.
const MASS_SHARE: f64 = 0.05;

/// What to say about one flight; `doubt` is what speaks against the listed pressure setting.
pub(super) fn headers(
    raw: &RawFlight,
    fleet: &Fleet,
    approaches: &[PreparedApproach],
    doubt: Option<&str>,
) -> Vec<HeaderRow> {
    let header = &raw.header;
    let row = |column: &str, listed: Option<String>, recorded: Option<String>, action: String| {
        HeaderRow {
            flight_id: header.flight_id.clone(),
            column: column.to_owned(),
            listed,
            recorded,
            action,
        }
    };
    let mut rows = Vec::new();
    // Without any list, one note for the fleet says so.
    if !fleet.flights.is_empty() && !fleet.flights.contains_key(&header.flight_id) {
        let action = "not in the flight list: type, month, mass unknown".to_owned();
        rows.push(row("flight_id", None, None, action));
    }
    if let Some(key) = &header.aircraft_type
        && !fleet.aircraft.contains_key(key)
    {
        let action = format!("no aircraft/{key}.toml: limits and reference speeds unknown");
        rows.push(row("aircraft_type", Some(key.clone()), None, action));
    }
    let landed = approaches.iter().rev().map(|approach| &approach.row);
    let landed = landed
        .into_iter()
        .find(|row| row.outcome.starts_with("landing"));
    if let (Some(listed), Some(flown)) = (
        header.destination.as_deref(),
        landed.and_then(|row| row.airport.as_deref()),
    ) && !listed.eq_ignore_ascii_case(flown)
    {
        // A place that runways.csv does not know may be the same one under another code.
        let unknown = if fleet.runways.at(listed).next().is_none() {
            " (runways.csv has no such airport)"
        } else {
            ""
        };
        let action =
            format!("destination says {listed}{unknown}, landed at {flown}; {flown} is used");
        let (listed, flown) = (Some(listed.to_owned()), Some(flown.to_owned()));
        rows.push(row("destination", listed, flown, action));
    }
    if let (Some(listed_kg), Some(flown_kg)) = (
        header.landing_mass_kg,
        landed.and_then(|row| recorded_mass_kg(raw, row.end_s)),
    ) && (listed_kg - flown_kg).abs() > MASS_SHARE * flown_kg
    {
        let percent = 100.0 * (listed_kg - flown_kg) / flown_kg;
        let action = format!("listed mass is {percent:+.0} % off the recorded one, which is used");
        let kg = |mass: f64| Some(format!("{mass:.0}"));
        rows.push(row("landing_mass_kg", kg(listed_kg), kg(flown_kg), action));
    }
    if let (Some(listed_hpa), Some(doubt)) = (header.qnh_hpa, doubt) {
        let listed = Some(listed_hpa.to_string());
        rows.push(row("qnh_hpa", listed, None, doubt.to_owned()));
    }
    rows
}

/// The last known gross mass up to a moment.
fn recorded_mass_kg(raw: &RawFlight, until_s: f64) -> Option<f64> {
    let mass = raw.channels.get("gross_mass_kg")?;
    let samples = mass.time_s.iter().zip(&mass.value);
    let mut known = samples.filter(|(time_s, kg)| **time_s <= until_s && !kg.is_nan());
    known.next_back().map(|(_, kg)| *kg)
}

/// A row for each listed flight that no record was found of, in the order of their ids.
pub fn without_record(fleet: &Fleet, recorded: &BTreeSet<String>) -> Vec<HeaderRow> {
    let listed = fleet.flights.keys().filter(|id| !recorded.contains(*id));
    listed
        .map(|id| HeaderRow {
            flight_id: id.clone(),
            column: "flight_id".to_owned(),
            action: "in the flight list, and no record of it".to_owned(),
            ..HeaderRow::default()
        })
        .collect()
}
