//! `recovery`: of the flights that were flown, how many came in and could be used.
//!
//! Flights that nobody received are in no rate, and nothing says that they were like the others.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use ::records::fleet::FlownRow;
use ::records::flight::FlightHeader;

use super::SummaryOptions;
use super::count::{Cells, Tally};
use super::group::{Group, UNKNOWN};
use super::rows::withheld;
use super::suppress::Mask;

/// Flights of the aircraft of one type in one month, as a store keeps them: no aircraft is named.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct FlownCounts {
    /// Key of a type file, or `unknown`.
    pub aircraft_type: String,
    /// `YYYY-MM`.
    pub month: String,
    /// Flights flown, recorded or not.
    pub flown: i64,
    /// Flights of these aircraft of which a record came in.
    pub received: i64,
    /// Those that could be used.
    pub usable: i64,
}

/// Type × month.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RecoveryRow {
    /// `fleet` or `aircraft_type`.
    pub group_kind: String,
    /// Name of the group.
    pub group: String,
    /// `YYYY-MM`.
    pub month: String,
    /// Flights flown, recorded or not.
    pub flights_flown: Option<i64>,
    /// Flights of which a record came in.
    pub flights_received: Option<i64>,
    /// Those that could be used.
    pub flights_usable: Option<i64>,
    /// `flights_received` / `flights_flown`.
    pub share: Option<f64>,
    /// `flights_usable` / `flights_flown`.
    pub usable_share: Option<f64>,
    /// What does not add up; null where all does.
    pub note: Option<String>,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}

/// Counts what was flown, what came in and what was used, by type and month. Only aircraft and months of
/// which `flown` tells are counted: of others nobody knows how many flights are missing.
#[must_use]
pub fn flown_counts(
    flown: &[FlownRow],
    list: &BTreeMap<String, FlightHeader>,
    usable: &BTreeSet<String>,
    refused: &BTreeSet<String>,
) -> Vec<FlownCounts> {
    let types: BTreeMap<&str, &str> = list
        .values()
        .filter_map(|flight| Some((flight.tail_id.as_deref()?, flight.aircraft_type.as_deref()?)))
        .collect();
    let type_of = |tail: &str| types.get(tail).copied().unwrap_or(UNKNOWN);
    let mut cells: BTreeMap<(&str, &str), FlownCounts> = BTreeMap::new();
    let mut told: BTreeSet<(&str, &str)> = BTreeSet::new();
    for row in flown {
        told.insert((&row.tail_id, &row.month));
        let key = (type_of(&row.tail_id), row.month.as_str());
        let cell = cells.entry(key).or_default();
        cell.flown += i64::from(row.flights);
    }
    for (flight_id, flight) in list {
        let (Some(tail), Some(month)) = (flight.tail_id.as_deref(), flight.month.as_deref()) else {
            continue;
        };
        if !told.contains(&(tail, month)) {
            continue;
        }
        let cell = cells.entry((type_of(tail), month)).or_default();
        let used = usable.contains(flight_id);
        cell.usable += i64::from(used);
        cell.received += i64::from(used || refused.contains(flight_id));
    }
    cells
        .into_iter()
        .map(|((aircraft_type, month), counts)| FlownCounts {
            aircraft_type: aircraft_type.to_owned(),
            month: month.to_owned(),
            ..counts
        })
        .collect()
}

/// The rows up to `last_month`, small cells withheld.
#[must_use]
pub fn recovery(
    counts: &[FlownCounts],
    last_month: Option<&str>,
    options: &SummaryOptions,
) -> Vec<RecoveryRow> {
    let mut sums: BTreeMap<(Group, &str), FlownCounts> = BTreeMap::new();
    let counted = counts.iter();
    for one in counted.filter(|one| last_month.is_none_or(|last| one.month.as_str() <= last)) {
        for group in [Group::Fleet, Group::Type(one.aircraft_type.clone())] {
            let sum = sums.entry((group, one.month.as_str())).or_default();
            sum.flown += one.flown;
            sum.received += one.received;
            sum.usable += one.usable;
        }
    }
    let mut cells = Cells::default();
    for ((group, month), sum) in &sums {
        let tally = Tally {
            evaluable: sum.flown,
            flights: usize::try_from(sum.flown).unwrap_or(0),
            ..Tally::default()
        };
        let total = cells.total.entry(group.clone()).or_default();
        total.evaluable += tally.evaluable;
        total.flights += tally.flights;
        cells
            .monthly
            .insert((group.clone(), (*month).to_owned()), tally);
    }
    let mask = Mask::new(&cells, options);
    let row = |((group, month), sum): (&(Group, &str), &FlownCounts)| {
        let hidden = mask.hides_month(group, month);
        let shown = |count: i64| hidden.is_none().then_some(count);
        let too_many = sum.received > sum.flown;
        #[allow(clippy::cast_precision_loss)] // counts of flights
        let share = |part: i64| {
            let known = hidden.is_none() && sum.flown > 0 && !too_many;
            known.then(|| part as f64 / sum.flown as f64)
        };
        RecoveryRow {
            group_kind: group.kind().to_owned(),
            group: group.name(),
            month: (*month).to_owned(),
            flights_flown: shown(sum.flown),
            flights_received: shown(sum.received),
            flights_usable: shown(sum.usable),
            share: share(sum.received),
            usable_share: share(sum.usable),
            note: (too_many && hidden.is_none())
                .then(|| "more received than flown: see flown.csv".to_owned()),
            suppressed: withheld(hidden),
        }
    };
    sums.iter().map(row).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn flown(tail: &str, month: &str, flights: u32) -> FlownRow {
        FlownRow {
            tail_id: tail.to_owned(),
            month: month.to_owned(),
            flights,
        }
    }

    fn flight(tail: &str, month: &str, aircraft_type: &str) -> FlightHeader {
        FlightHeader {
            tail_id: Some(tail.to_owned()),
            month: Some(month.to_owned()),
            aircraft_type: Some(aircraft_type.to_owned()),
            ..FlightHeader::default()
        }
    }

    #[test]
    fn what_was_flown_is_set_against_what_came_in_where_both_are_told() {
        let list: BTreeMap<String, FlightHeader> = [
            ("a", flight("t1", "2025-01", "x")),
            ("b", flight("t1", "2025-01", "x")),
            ("c", flight("t1", "2025-01", "x")),
            // Nobody tells what t2 flew.
            ("d", flight("t2", "2025-01", "x")),
        ]
        .map(|(id, header)| (id.to_owned(), header))
        .into();
        let set = |ids: &[&str]| ids.iter().map(|id| (*id).to_owned()).collect();
        let rows = [flown("t1", "2025-01", 40), flown("t9", "2025-01", 5)];
        let counts = flown_counts(&rows, &list, &set(&["a", "d"]), &set(&["b"]));
        let of = |kind: &str| counts.iter().find(|one| one.aircraft_type == kind).unwrap();
        assert_eq!(
            (of("x").flown, of("x").received, of("x").usable),
            (40, 2, 1)
        );
        assert_eq!((of(UNKNOWN).flown, of(UNKNOWN).received), (5, 0));

        let rows = recovery(&counts, None, &SummaryOptions::default());
        let fleet = rows.iter().find(|row| row.group == "fleet").unwrap();
        assert_eq!(
            (fleet.flights_flown, fleet.flights_received),
            (Some(45), Some(2))
        );
        assert_eq!(fleet.usable_share, Some(1.0 / 45.0));
        // Five flights are few, and the other type would give them away.
        for group in ["x", UNKNOWN] {
            let row = rows.iter().find(|row| row.group == group).unwrap();
            assert!(row.suppressed.is_some() && row.flights_flown.is_none());
        }
        assert!(recovery(&counts, Some("2024-12"), &SummaryOptions::default()).is_empty());
    }

    #[test]
    fn more_received_than_flown_is_told_and_no_share() {
        let counts = [FlownCounts {
            aircraft_type: "x".to_owned(),
            month: "2025-01".to_owned(),
            flown: 30,
            received: 31,
            usable: 31,
        }];
        let rows = recovery(&counts, None, &SummaryOptions::default());
        assert!(
            rows.iter()
                .all(|row| row.share.is_none() && row.note.is_some())
        );
    }
}
