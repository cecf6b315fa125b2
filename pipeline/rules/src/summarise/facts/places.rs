//! Approaches by their number: the place of each in the order of the tables.

use std::collections::HashMap;

use arrow::array::Int64Array;

use ::records::rows::ApproachRow;

use crate::store::Texts;

/// Finds the number of an approach by its key, or by flight and number within it.
#[derive(Debug)]
pub struct Places<'a> {
    rows: &'a [ApproachRow],
    by_key: HashMap<i64, u32>,
    by_name: HashMap<(&'a str, i64), u32>,
}

impl<'a> Places<'a> {
    /// The places of these approaches.
    #[must_use]
    pub fn new(rows: &'a [ApproachRow]) -> Self {
        let name = |row: &'a ApproachRow| (row.flight_id.as_str(), i64::from(row.approach_no));
        Self {
            by_key: rows.iter().map(|row| row.approach_key).zip(0..).collect(),
            by_name: rows.iter().map(name).zip(0..).collect(),
            rows,
        }
    }

    /// How many approaches there are.
    pub(super) fn len(&self) -> usize {
        self.rows.len()
    }

    /// Whether the approach of this number counts in rates.
    pub(super) fn is_line(&self, number: usize) -> bool {
        self.rows[number].is_line()
    }

    /// The number of the approach of this key.
    pub(super) fn of_key(&self, key: i64) -> Option<usize> {
        let number = self.by_key.get(&key)?;
        usize::try_from(*number).ok()
    }

    /// The number of an approach of a flight.
    #[must_use]
    pub fn of(&self, flight_id: &str, approach_no: i64) -> Option<usize> {
        let number = self.by_name.get(&(flight_id, approach_no))?;
        usize::try_from(*number).ok()
    }

    /// The row of an approach of a flight.
    #[must_use]
    pub fn row(&self, flight_id: &str, approach_no: i32) -> Option<&'a ApproachRow> {
        let number = self.of(flight_id, i64::from(approach_no))?;
        self.rows.get(number)
    }
}

/// Finds the approaches of the rows of a table, one after the other: those of one approach mostly follow each
/// other.
pub(super) struct Rows<'a> {
    places: &'a Places<'a>,
    flights: &'a Texts,
    numbers: &'a Int64Array,
    last: Option<(Option<usize>, i64, Option<usize>)>,
}

impl<'a> Rows<'a> {
    pub(super) fn new(places: &'a Places<'a>, flights: &'a Texts, numbers: &'a Int64Array) -> Self {
        Self {
            places,
            flights,
            numbers,
            last: None,
        }
    }

    /// The number of the approach that a row is about.
    pub(super) fn place(&mut self, row: usize) -> Option<usize> {
        let (flight, number) = (self.flights.number(row), self.numbers.value(row));
        if let Some((last_flight, last_number, place)) = self.last
            && (last_flight, last_number) == (flight, number)
        {
            return place;
        }
        let id = self.flights.text(row);
        let place = id.and_then(|id| self.places.of(id, number));
        self.last = Some((flight, number, place));
        place
    }
}
