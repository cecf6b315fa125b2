//! Which cells may not be shown: too few flights, or revealed by subtraction from a total.
//!
//! A cell is first suppressed for itself; then, as long as a published total would give away what
//! is left, the smallest shown sibling is suppressed with it. Siblings are the members of one kind
//! within their parent in one month, and the months of one group within its total.

use std::collections::{BTreeMap, BTreeSet};

use super::count::{Cells, Tally};
use super::group::Group;
use super::{FEW_DAYS, FEW_FLIGHTS, GIVES_AWAY, SummaryOptions};

/// The suppressed cells of one rule.
#[derive(Debug, Default)]
pub(super) struct Mask {
    total: BTreeMap<Group, &'static str>,
    monthly: BTreeMap<(Group, String), &'static str>,
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
            .filter(|(_, tally)| too_small(tally, options).is_some())
            .map(|(key, _)| *key)
            .collect();
        let families = families(&all);
        loop {
            let before = hidden.len();
            for (parent, members) in &families {
                if !hidden.contains(parent) {
                    protect(members, &all, &mut hidden, options);
                } else if members.iter().all(|member| !hidden.contains(member)) {
                    // Shown whole, the parts would add up to what is hidden.
                    hidden.extend(smallest(members, &all, &hidden));
                }
            }
            if hidden.len() == before {
                break;
            }
        }
        let mut mask = Self::default();
        for (group, month) in hidden {
            let why = too_small(all[&(group, month)], options).unwrap_or(GIVES_AWAY);
            match month {
                None => mask.total.insert(group.clone(), why),
                Some(month) => mask.monthly.insert((group.clone(), month.to_owned()), why),
            };
        }
        mask
    }

    /// Why the cell over all months is hidden; `None` where it is not.
    pub(super) fn hides_total(&self, group: &Group) -> Option<&'static str> {
        self.total.get(group).copied()
    }

    /// Why the cell of a month is hidden; `None` where it is not.
    pub(super) fn hides_month(&self, group: &Group, month: &str) -> Option<&'static str> {
        self.monthly
            .get(&(group.clone(), month.to_owned()))
            .copied()
    }
}

/// Why a cell is too small by itself; `None` where it is not.
fn too_small(tally: &Tally, options: &SummaryOptions) -> Option<&'static str> {
    if tally.flights < options.min_flights {
        return Some(FEW_FLIGHTS);
    }
    (tally.days_known && tally.tail_days.len() < options.min_tail_days).then_some(FEW_DAYS)
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
                .entry(((*group, None), "part"))
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
        match smallest(members, all, hidden) {
            Some(key) => hidden.insert(key),
            None => return,
        };
    }
}

/// The member with the fewest flights that is still shown.
fn smallest<'a>(
    members: &[Key<'a>],
    all: &BTreeMap<Key<'a>, &Tally>,
    hidden: &BTreeSet<Key<'a>>,
) -> Option<Key<'a>> {
    let shown = members.iter().filter(|key| !hidden.contains(*key));
    shown.min_by_key(|key| (all[*key].flights, **key)).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tally(flights: usize) -> Tally {
        let approaches = i64::try_from(flights).unwrap();
        Tally {
            approaches,
            evaluable: approaches,
            flights,
            ..Tally::default()
        }
    }

    fn airport(name: &str) -> Group {
        Group::Airport(name.to_owned())
    }

    fn mask(airports: &[(&str, usize)]) -> Mask {
        let mut cells = Cells::default();
        let all = airports.iter().map(|(_, flights)| flights).sum();
        cells.total.insert(Group::Fleet, tally(all));
        for (name, flights) in airports {
            cells.total.insert(airport(name), tally(*flights));
        }
        Mask::new(&cells, &SummaryOptions::default())
    }

    #[test]
    fn nothing_is_hidden_where_every_cell_is_large() {
        let mask = mask(&[("A", 10), ("B", 50)]);
        assert!(
            mask.hides_total(&airport("A")).is_none() && mask.hides_total(&airport("B")).is_none()
        );
    }

    #[test]
    fn a_single_small_cell_takes_the_smallest_other_with_it() {
        let mask = mask(&[("A", 9), ("B", 50), ("C", 20)]);
        assert_eq!(mask.hides_total(&airport("A")), Some(FEW_FLIGHTS));
        assert_eq!(
            mask.hides_total(&airport("C")),
            Some(GIVES_AWAY),
            "else the total less B and C would be A"
        );
        assert!(mask.hides_total(&airport("B")).is_none());
        assert!(mask.hides_total(&Group::Fleet).is_none());
    }

    #[test]
    fn small_cells_that_are_still_few_together_are_not_left_alone() {
        let mask = mask(&[("A", 2), ("B", 3), ("C", 20), ("D", 40)]);
        assert!(
            mask.hides_total(&airport("C")).is_some(),
            "else the total less C and D would be five flights"
        );
        assert!(mask.hides_total(&airport("D")).is_none());
    }

    #[test]
    fn a_month_is_not_revealed_by_the_total_over_months() {
        let mut cells = Cells::default();
        cells.total.insert(Group::Fleet, tally(65));
        for (month, flights) in [("2025-01", 5), ("2025-02", 20), ("2025-03", 40)] {
            cells
                .monthly
                .insert((Group::Fleet, month.to_owned()), tally(flights));
        }
        let mask = Mask::new(&cells, &SummaryOptions::default());
        assert!(mask.hides_month(&Group::Fleet, "2025-01").is_some());
        assert!(mask.hides_month(&Group::Fleet, "2025-02").is_some());
        assert!(mask.hides_month(&Group::Fleet, "2025-03").is_none());
        assert!(mask.hides_total(&Group::Fleet).is_none());
    }

    #[test]
    fn a_few_tail_days_are_as_telling_as_a_few_flights() {
        let mut few_days = tally(40);
        few_days.days_known = true;
        few_days.tail_days = BTreeSet::from([1]);
        let mut cells = Cells::default();
        cells.total.insert(Group::Fleet, few_days);
        assert!(
            Mask::new(&cells, &SummaryOptions::default())
                .hides_total(&Group::Fleet)
                .is_some()
        );
    }

    #[test]
    fn a_hidden_airport_is_not_the_sum_of_its_runways() {
        let runway = |airport: &str, name: &str| Group::Runway(airport.to_owned(), name.to_owned());
        let mut cells = Cells::default();
        cells.total.insert(Group::Fleet, tally(103));
        for (name, flights) in [("A", 7), ("B", 46), ("C", 50)] {
            cells.total.insert(airport(name), tally(flights));
        }
        cells.total.insert(runway("B", "11"), tally(15));
        cells.total.insert(runway("B", "29"), tally(31));
        let mask = Mask::new(&cells, &SummaryOptions::default());
        assert!(
            mask.hides_total(&airport("A")).is_some() && mask.hides_total(&airport("B")).is_some()
        );
        assert!(
            mask.hides_total(&runway("B", "11")).is_some()
                || mask.hides_total(&runway("B", "29")).is_some()
        );
    }
}
