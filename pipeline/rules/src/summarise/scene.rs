//! What every table is made from: the approaches, the options, and who may see how many there were.

use super::SummaryOptions;
use super::count::{Tally, everything};
use super::frame::Frame;
use super::subject::Subject;
use super::suppress::Hidden;

/// Place of the whole fleet among the groups of a frame.
pub(super) const FLEET: usize = 0;

/// The approaches under review and how to show them.
pub(super) struct Scene<'a> {
    pub(super) frame: Frame<'a>,
    pub(super) options: &'a SummaryOptions,
    everything: Hidden,
}

impl<'a> Scene<'a> {
    pub(super) fn new(frame: Frame<'a>, options: &'a SummaryOptions) -> Self {
        let grid = everything(&frame);
        let months: Vec<usize> = (0..frame.months.len()).collect();
        let totals = grid.totals(&months);
        Self {
            everything: Hidden::new(&frame.families, &grid, (&totals, &months), options),
            frame,
            options,
        }
    }

    /// Why the number of approaches of a group is hidden. The size of the whole fleet is on the first page of
    /// every report.
    pub(super) fn hides_size(&self, group: usize) -> Option<&'static str> {
        let hidden = self.everything.total(group);
        hidden.filter(|_| group != FLEET)
    }

    /// The same of one month.
    pub(super) fn hides_size_of_month(&self, group: usize, month: usize) -> Option<&'static str> {
        let hidden = self.everything.month(group, month);
        hidden.filter(|_| group != FLEET)
    }

    /// Why a cell over all months is hidden. Without anything evaluable the number of approaches is all there
    /// is to hide.
    pub(super) fn hides_total(
        &self,
        subject: &Subject,
        group: usize,
        tally: &Tally,
    ) -> Option<&'static str> {
        let size = || self.hides_size(group).filter(|_| tally.evaluable == 0);
        subject.hidden.total(group).or_else(size)
    }

    /// Why the cell of a month is hidden.
    pub(super) fn hides_month(
        &self,
        subject: &Subject,
        (group, month): (usize, usize),
        tally: &Tally,
    ) -> Option<&'static str> {
        let size = || {
            let hidden = self.hides_size_of_month(group, month);
            hidden.filter(|_| tally.evaluable == 0)
        };
        subject.hidden.month(group, month).or_else(size)
    }
}
