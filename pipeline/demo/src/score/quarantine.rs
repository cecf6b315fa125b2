//! What the review refused, by the flight that it was.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::path::Path;

use serde::Deserialize;

use super::ScoreError;
use super::flown::Flown;
use super::table;

#[derive(Deserialize)]
struct Row {
    file: String,
    flight_id: Option<String>,
    reason: String,
}

/// Reasons by flight.
#[derive(Debug, Default)]
pub(super) struct Refusals {
    pub(super) of_flight: HashMap<u32, BTreeSet<String>>,
    /// Rows that belong to no known flight.
    pub(super) without_flight: u64,
}

/// Reads the refusals. A file that was refused before its flights were seen belongs to the
/// flights in `flights_of_file`, else to the flight that it is named after.
pub(super) fn read(
    out: &Path,
    flown: &Flown,
    flights_of_file: &BTreeMap<String, BTreeSet<u32>>,
) -> Result<Refusals, ScoreError> {
    let mut refusals = Refusals::default();
    let path = out.join("restricted/tables/quarantine.parquet");
    table::of_review(&path, |row: Row| {
        let named = row
            .flight_id
            .as_deref()
            .and_then(|id| flown.flights.find(id));
        let flights: BTreeSet<u32> = match (named, flights_of_file.get(&row.file)) {
            (Some(flight), _) => [flight].into(),
            // Under another name it can only be the one flight that was damaged there.
            (None, Some(flights)) if row.flight_id.is_none() || flights.len() == 1 => {
                flights.clone()
            }
            _ => {
                let stem = Path::new(&row.file).file_stem();
                let stem = stem.and_then(|stem| stem.to_str());
                stem.and_then(|stem| flown.flights.find(stem))
                    .into_iter()
                    .collect()
            }
        };
        refusals.without_flight += u64::from(flights.is_empty());
        for flight in flights {
            let reasons = refusals.of_flight.entry(flight).or_default();
            reasons.insert(row.reason.clone());
        }
        Ok(())
    })?;
    Ok(refusals)
}
