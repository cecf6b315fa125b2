//! The months that places and topics are judged by: the year up to the month under review.
//!
//! A month alone says too little of a place, and what was so years ago says nothing of it now.

use super::frame::Frame;

/// Months in the window: judgement; long enough for small places, and a whole year has every season.
const MONTHS: i32 = 12;

/// The last months, by number.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Window {
    pub(super) months: Vec<usize>,
}

impl Window {
    /// The year up to the latest month; every approach where no month is known by name.
    pub(super) fn new(frame: &Frame<'_>) -> Self {
        let named = || (0..frame.months.len()).filter(|month| frame.is_known(*month));
        let at = |month: usize| frame.calendar[month];
        let Some(last) = named().filter_map(at).max() else {
            return Self {
                months: (0..frame.months.len()).collect(),
            };
        };
        Self {
            months: named()
                .filter(|month| at(*month).is_some_and(|at| last - at < MONTHS))
                .collect(),
        }
    }

    /// First month with an approach; none where months are not known.
    pub(super) fn from(&self, frame: &Frame<'_>) -> Option<String> {
        let first = self.months.first().copied();
        first
            .filter(|month| frame.is_known(*month))
            .map(|month| frame.months[month].clone())
    }

    /// Last month with an approach; none where months are not known.
    pub(super) fn to(&self, frame: &Frame<'_>) -> Option<String> {
        let last = self.months.last().copied();
        last.filter(|month| frame.is_known(*month))
            .map(|month| frame.months[month].clone())
    }
}
