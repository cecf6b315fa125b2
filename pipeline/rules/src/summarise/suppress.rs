//! Which cells may not be shown: too few flights, or revealed by subtraction from a total.
//!
//! A cell is first suppressed for itself; then, as long as a published total would give away what
//! is left, the smallest shown sibling is suppressed with it. Siblings are the members of one kind
//! within their parent in one month, and the months of one group within its total.

use std::collections::{BTreeMap, BTreeSet};

use super::SummaryOptions;
use super::count::{Cells, Tally};
use super::group::Group;

/// The suppressed cells of one rule.
#[derive(Debug, Default)]
pub(super) struct Mask {
    total: BTreeSet<Group>,
    monthly: BTreeSet<(Group, String)>,
}

/// A cell: a group in a month, or over all months.
type Key<'a> = (&'a Group, Option<&'a str>);

impl Mask {
    pub(super) fn new(cells: &Cells, options: &SummaryOptions) -> Self {
        let mut all: BTreeMap<Key<'_>, &Tally> = BTreeMap::new();
        for (group, tally) in &cells.total {
            all.insert((group, None), tally);
        }
        for ((group, month), tally) in &cells.monthly {
            all.insert((group, Some(month.as_str())), tally);
        }
        // Cells without an evaluable approach say nothing about anyone.
        all.retain(|_, tally| tally.evaluable > 0);
        let mut hidden: BTreeSet<Key<'_>> = all
            .iter()
            .filter(|(_, tally)| too_small(tally, options))
            .map(|(key, _)| *key)
            .collect();
        let families = families(&all);
        loop {
            let before = hidden.len();
            for (parent, members) in &families {
                if !hidden.contains(parent) {
                    protect(members, &all, &mut hidden, options);
                }
            }
            if hidden.len() == before {
                break;
            }
        }
        let mut mask = Self::default();
        for (group, month) in hidden {
            match month {
                None => mask.total.insert(group.clone()),
                Some(month) => mask.monthly.insert((group.clone(), month.to_owned())),
            };
        }
        mask
    }

    pub(super) fn hides_total(&self, group: &Group) -> bool {
        self.total.contains(group)
    }

    pub(super) fn hides_month(&self, group: &Group, month: &str) -> bool {
        self.monthly.contains(&(group.clone(), month.to_owned()))
    }
}

fn too_small(tally: &Tally, options: &SummaryOptions) -> bool {
    tally.flights < options.min_flights
        || (tally.days_known && tally.tail_days.len() < options.min_tail_days)
}

/// Sets of cells that add up to a total which is shown: (the total, its parts).
fn families<'a>(all: &BTreeMap<Key<'a>, &Tally>) -> Vec<(Key<'a>, Vec<Key<'a>>)> {
    let by_group: BTreeMap<Group, &'a Group> = all
        .keys()
        .map(|(group, _)| ((*group).clone(), *group))
        .collect();
    let mut families: BTreeMap<(Key<'a>, &'static str), Vec<Key<'a>>> = BTreeMap::new();
    for key @ (group, month) in all.keys() {
        if let Some(parent) = group
            .parent()
            .and_then(|parent| by_group.get(&parent).copied())
        {
            families
                .entry(((parent, *month), group.kind()))
                .or_default()
                .push(*key);
        }
        if month.is_some() {
            families
                .entry(((*group, None), "month"))
                .or_default()
                .push(*key);
        }
    }
    families
        .into_iter()
        .map(|((parent, _), members)| (parent, members))
        .collect()
}

/// Hides more of `members` until what is hidden is more than one cell and not itself too small.
fn protect<'a>(
    members: &[Key<'a>],
    all: &BTreeMap<Key<'a>, &Tally>,
    hidden: &mut BTreeSet<Key<'a>>,
    options: &SummaryOptions,
) {
    loop {
        let inside: Vec<&Key<'a>> = members.iter().filter(|key| hidden.contains(*key)).collect();
        let flights: usize = inside.iter().map(|key| all[*key].flights).sum();
        if inside.is_empty() || (inside.len() > 1 && flights >= options.min_flights) {
            return;
        }
        let next = members
            .iter()
            .filter(|key| !hidden.contains(*key))
            .min_by_key(|key| (all[*key].flights, **key));
        match next {
            Some(key) => hidden.insert(*key),
            None => return,
        };
    }
}
