//! What every table is made from: the approaches, the options, and who may see how many there were.

use super::SummaryOptions;
use super::count::{Tally, everything};
use super::frame::Frame;
use super::group::Group;
use super::subject::Subject;
use super::suppress::Mask;

/// The approaches under review and how to show them.
pub(super) struct Scene<'a> {
    pub(super) frame: Frame<'a>,
    pub(super) options: &'a SummaryOptions,
    everything: Mask,
}

impl<'a> Scene<'a> {
    pub(super) fn new(frame: Frame<'a>, options: &'a SummaryOptions) -> Self {
        Self {
            everything: Mask::new(&everything(&frame), options),
            frame,
            options,
        }
    }

    /// Why the number of approaches of a group is hidden. The size of the whole fleet is on the first page of
    /// every report.
    pub(super) fn hides_size(&self, group: &Group) -> Option<&'static str> {
        let hidden = self.everything.hides_total(group);
        hidden.filter(|_| *group != Group::Fleet)
    }

    /// The same of one month.
    pub(super) fn hides_size_of_month(&self, group: &Group, month: &str) -> Option<&'static str> {
        let hidden = self.everything.hides_month(group, month);
        hidden.filter(|_| *group != Group::Fleet)
    }

    /// Why a cell over all months is hidden. Without anything evaluable the number of approaches is all there
    /// is to hide.
    pub(super) fn hides_total(
        &self,
        subject: &Subject,
        group: &Group,
        tally: &Tally,
    ) -> Option<&'static str> {
        let size = || self.hides_size(group).filter(|_| tally.evaluable == 0);
        subject.mask.hides_total(group).or_else(size)
    }

    /// Why the cell of a month is hidden.
    pub(super) fn hides_month(
        &self,
        subject: &Subject,
        group: &Group,
        month: &str,
        tally: &Tally,
    ) -> Option<&'static str> {
        let size = || {
            let hidden = self.hides_size_of_month(group, month);
            hidden.filter(|_| tally.evaluable == 0)
        };
        subject.mask.hides_month(group, month).or_else(size)
    }
}
