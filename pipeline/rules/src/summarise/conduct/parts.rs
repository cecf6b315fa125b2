//! Cells of approaches: the classes of every group, and the group whole.

use std::collections::BTreeMap;

use super::super::SummaryOptions;
use super::super::count::{Cells, Tally};
use super::super::frame::Frame;
use super::super::group::{Group, UNKNOWN};
use super::super::suppress::Mask;
use super::super::verdicts::{Judged, Verdict};

/// Name of a group taken whole.
pub(super) const ALL: &str = "all";
/// Months before the latest.
pub(super) const BEFORE: &str = "before";
/// The latest month.
pub(super) const LATEST: &str = "latest";

/// One cell.
#[derive(Debug)]
pub(super) struct Part {
    pub(super) group: Group,
    /// `all`, or the class.
    pub(super) class: &'static str,
    /// Its approaches, by number.
    pub(super) members: Vec<usize>,
    /// Why it may not be shown.
    pub(super) hidden: Option<&'static str>,
}

/// The cells of fleet, types and airports, in order: each group whole, then by class. Approaches without a
/// class take no part. A class called `unknown` counts in the whole and is not given.
pub(super) fn split(
    frame: &Frame<'_>,
    options: &SummaryOptions,
    class: &dyn Fn(usize) -> Option<&'static str>,
) -> Vec<Part> {
    let counts = Verdict {
        judged: Judged::Evaluable,
        ..Verdict::default()
    };
    let mut cells: BTreeMap<(u32, &'static str), (Tally, Vec<usize>)> = BTreeMap::new();
    for approach in 0..frame.rows.len() {
        let Some(class) = class(approach) else {
            continue;
        };
        let [fleet, kind, airport, _] = frame.groups_of[approach];
        for number in [fleet, kind, airport] {
            for class in [ALL, class] {
                let (tally, members) = cells.entry((number, class)).or_default();
                tally.add(&counts, frame, approach);
                members.push(approach);
            }
        }
    }
    let mask = mask(frame, options, &cells);
    let members = cells
        .into_iter()
        .map(|(cell, (_, members))| (cell, members));
    let shown = members.filter(|((_, class), _)| *class != UNKNOWN);
    let part = |((number, class), members): ((u32, &'static str), Vec<usize>)| {
        let group = frame.groups[number as usize].clone();
        let hidden = match class {
            ALL => mask.hides_total(&group),
            class => mask.hides_month(&group, class),
        };
        Part {
            group,
            class,
            members,
            hidden,
        }
    };
    shown.map(part).collect()
}

/// Which cells may not be shown. The classes of a group take the place of its months: they add up to it in the
/// same way.
fn mask(
    frame: &Frame<'_>,
    options: &SummaryOptions,
    cells: &BTreeMap<(u32, &'static str), (Tally, Vec<usize>)>,
) -> Mask {
    let mut named = Cells::default();
    for ((number, class), (tally, _)) in cells {
        let group = frame.groups[*number as usize].clone();
        if *class == ALL {
            named.total.insert(group, tally.clone());
        } else {
            named
                .monthly
                .insert((group, (*class).to_owned()), tally.clone());
        }
    }
    Mask::new(&named, options)
}

/// The latest month of a frame against those before it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Periods {
    latest: Option<usize>,
}

impl Periods {
    pub(super) fn new(frame: &Frame<'_>) -> Self {
        let known = (0..frame.months.len()).filter(|month| frame.is_known(*month));
        Self {
            latest: known.max(),
        }
    }

    /// The period of an approach; `unknown` where its month is not known.
    pub(super) fn of(self, frame: &Frame<'_>, approach: usize) -> &'static str {
        let month = frame.month(approach);
        if !frame.is_known(month) {
            UNKNOWN
        } else if Some(month) == self.latest {
            LATEST
        } else {
            BEFORE
        }
    }
}
