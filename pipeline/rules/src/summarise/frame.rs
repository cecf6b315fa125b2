//! The line approaches of a review, numbered, with every group, month and day they belong to.
//!
//! Made once and read by every rule: counting then goes by numbers instead of names.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use records::rows::ApproachRow;

use super::calendar::index;
use super::group::{Group, UNKNOWN};
use super::suppress::Families;

/// What an approach's rates may depend on besides its airport: the strata of the standardisation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Stratum {
    /// Number of the aircraft type.
    pub(super) aircraft_type: u32,
    /// Number of the airport and runway.
    pub(super) runway: u32,
    /// Number of the kind of approach.
    pub(super) kind: u32,
    /// Number of the month.
    pub(super) month: u32,
}

/// Line approaches in the order of the tables.
#[derive(Debug)]
pub(super) struct Frame<'a> {
    pub(super) rows: Vec<&'a ApproachRow>,
    /// The place of each among all approaches, whatever the purpose of their flights.
    pub(super) places: Vec<usize>,
    by_name: HashMap<(&'a str, i32), usize>,
    /// All groups, in order.
    pub(super) groups: Vec<Group>,
    /// Fleet, type, airport and runway of each approach, by their place in `groups`.
    pub(super) groups_of: Vec<[u32; 4]>,
    /// The airport of each group that is a runway, by its place in `groups`.
    airport_of: Vec<u32>,
    /// All months, in order; `unknown` is the last.
    pub(super) months: Vec<String>,
    /// Number of each in the calendar; none where it is not known by name.
    pub(super) calendar: Vec<Option<i32>>,
    /// Sets of cells that add up to others.
    pub(super) families: Families,
    /// Type, runway, kind and month of each approach.
    pub(super) stratum_of: Vec<Stratum>,
    /// Number of the flight of each approach.
    pub(super) flight_of: Vec<u32>,
    /// Number of the tail and day, where the day is known.
    pub(super) tail_day_of: Vec<Option<u32>>,
    /// Number of the airport and day, where both are known.
    pub(super) airport_day_of: Vec<Option<u32>>,
}

impl<'a> Frame<'a> {
    /// Numbers the line approaches among `approaches`, which come in the order of flights.
    pub(super) fn new(approaches: &'a [ApproachRow]) -> Self {
        let line = approaches
            .iter()
            .enumerate()
            .filter(|(_, row)| row.is_line());
        let (places, rows): (Vec<usize>, Vec<&ApproachRow>) = line.unzip();
        let groups: BTreeSet<Group> = rows.iter().flat_map(|row| Group::of(row)).collect();
        let groups: Vec<Group> = groups.into_iter().collect();
        let group_number: BTreeMap<&Group, u32> = groups.iter().zip(0..).collect();
        let groups_of: Vec<[u32; 4]> = rows
            .iter()
            .map(|row| Group::of(row).map(|group| group_number.get(&group).copied().unwrap_or(0)))
            .collect();
        let mut airport_of = vec![0; groups.len()];
        for [_, _, airport, runway] in &groups_of {
            airport_of[*runway as usize] = *airport;
        }
        let month = |row: &'a ApproachRow| row.month.as_deref().unwrap_or(UNKNOWN);
        let (months, month_of) = numbered(&rows, |row| Some(month(row)));
        let (_, kind_of) = numbered(&rows, |row| Some(row.approach_kind.as_str()));
        let (_, flight_of) = numbered(&rows, |row| Some(row.flight_id.as_str()));
        let day = |row: &'a ApproachRow| row.day_key.as_deref();
        let (_, tail_day_of) = numbered(&rows, |row| {
            Some((row.tail_id.as_deref().unwrap_or_default(), day(row)?))
        });
        let (_, airport_day_of) = numbered(&rows, |row| Some((row.airport.as_deref()?, day(row)?)));
        let stratum_of = groups_of
            .iter()
            .zip(month_of.iter().zip(&kind_of))
            .map(|([_, aircraft_type, _, runway], (month, kind))| Stratum {
                aircraft_type: *aircraft_type,
                runway: *runway,
                kind: kind.unwrap_or(0),
                month: month.unwrap_or(0),
            })
            .collect();
        Self {
            by_name: rows
                .iter()
                .map(|row| (row.flight_id.as_str(), row.approach_no))
                .zip(0..)
                .collect(),
            places,
            families: Families::new(&groups, months.len()),
            calendar: months.iter().map(|month| index(month)).collect(),
            groups,
            groups_of,
            airport_of,
            months: months.into_iter().map(str::to_owned).collect(),
            stratum_of,
            flight_of: flight_of
                .into_iter()
                .map(Option::unwrap_or_default)
                .collect(),
            tail_day_of,
            airport_day_of,
            rows,
        }
    }

    /// The number of an approach; none for those that are not line flights.
    pub(super) fn number_of(&self, flight_id: &str, approach_no: i32) -> Option<usize> {
        self.by_name.get(&(flight_id, approach_no)).copied()
    }

    /// The groups of a stratum, by their place in `groups`: they follow from its type and runway.
    pub(super) fn groups_of_stratum(&self, stratum: &Stratum) -> [u32; 4] {
        let airport = self.airport_of[stratum.runway as usize];
        [0, stratum.aircraft_type, airport, stratum.runway]
    }

    /// The month of an approach by its number.
    pub(super) fn month(&self, approach: usize) -> usize {
        self.stratum_of[approach].month as usize
    }

    /// Whether this month, by its number, is known by name.
    pub(super) fn is_known(&self, month: usize) -> bool {
        self.months[month] != UNKNOWN
    }
}

/// The distinct keys of the rows in order, and the number of each row's own.
fn numbered<'a, K: Ord + Copy>(
    rows: &[&'a ApproachRow],
    key: impl Fn(&'a ApproachRow) -> Option<K>,
) -> (Vec<K>, Vec<Option<u32>>) {
    let keys: BTreeSet<K> = rows.iter().filter_map(|row| key(row)).collect();
    let keys: Vec<K> = keys.into_iter().collect();
    let numbers = rows
        .iter()
        .map(|row| keys.binary_search(&key(row)?).ok())
        .map(|place| place.and_then(|place| u32::try_from(place).ok()))
        .collect();
    (keys, numbers)
}
