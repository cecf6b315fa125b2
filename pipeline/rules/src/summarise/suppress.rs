//! Which cells may not be shown: too few flights, or revealed by subtraction from a total.
//!
//! A cell is first suppressed for itself; then, as long as a published total would give away what
//! is left, the smallest shown sibling is suppressed with it. Siblings are the members of one kind
//! within their parent in one month, and the months of one group within its total.

use std::collections::BTreeMap;

use super::count::{Cells, Grid, Tally};
use super::group::Group;
use super::{FEW_DAYS, FEW_FLIGHTS, GIVES_AWAY, SummaryOptions};

/// A cell as suppression sees it.
#[derive(Debug, Clone, Copy)]
struct Size {
    flights: usize,
    /// Why it is too small by itself.
    small: Option<&'static str>,
}

impl Size {
    /// None for a cell without an evaluable approach, which says nothing about anyone.
    fn of(tally: &Tally, options: &SummaryOptions) -> Option<Self> {
        (tally.evaluable > 0).then(|| Self {
            flights: tally.flights,
            small: too_small(tally, options),
        })
    }
}

/// Why a cell is too small by itself; `None` where it is not.
fn too_small(tally: &Tally, options: &SummaryOptions) -> Option<&'static str> {
    if tally.flights < options.min_flights {
        return Some(FEW_FLIGHTS);
    }
    (tally.days_known && tally.tail_days.len() < options.min_tail_days).then_some(FEW_DAYS)
}

/// Sets of cells that add up to a total which is shown: the total, and its parts. Cells go by number: those of a
/// group stand together, first its total, then its months.
#[derive(Debug, Default)]
pub(super) struct Families(Vec<(usize, Vec<usize>)>);

impl Families {
    /// Those of groups in order, with so many months each.
    pub(super) fn new(groups: &[Group], months: usize) -> Self {
        let slots = months + 1;
        let mut families: BTreeMap<(usize, &'static str), Vec<usize>> = BTreeMap::new();
        for (number, group) in groups.iter().enumerate() {
            let parent = group
                .parent()
                .and_then(|parent| groups.binary_search(&parent).ok());
            for slot in 0..slots {
                let cell = number * slots + slot;
                if let Some(parent) = parent {
                    let family = (parent * slots + slot, group.kind());
                    families.entry(family).or_default().push(cell);
                }
                if slot > 0 {
                    families
                        .entry((number * slots, "part"))
                        .or_default()
                        .push(cell);
                }
            }
        }
        let families = families.into_iter();
        Self(
            families
                .map(|((parent, _), members)| (parent, members))
                .collect(),
        )
    }
}

/// Which of the cells are hidden: those that are too small, and those that would give one of these away.
fn hide(cells: &[Option<Size>], families: &Families, options: &SummaryOptions) -> Vec<bool> {
    let is_small = |cell: &Option<Size>| cell.is_some_and(|size| size.small.is_some());
    let mut hidden: Vec<bool> = cells.iter().map(is_small).collect();
    let mut changed = hidden.contains(&true);
    while changed {
        changed = false;
        for (parent, members) in &families.0 {
            if !hidden[*parent] {
                changed |= protect(members, cells, &mut hidden, options);
            } else if let Some(cell) = smallest(members, cells, &hidden)
                && members.iter().all(|member| !hidden[*member])
            {
                // Shown whole, the parts would add up to what is hidden.
                hidden[cell] = true;
                changed = true;
            }
        }
    }
    hidden
}

/// Hides more of `members` until what is hidden is more than one cell and not itself too small. Says whether it
/// hid any.
fn protect(
    members: &[usize],
    cells: &[Option<Size>],
    hidden: &mut [bool],
    options: &SummaryOptions,
) -> bool {
    let mut changed = false;
    loop {
        let inside = members.iter().filter(|cell| hidden[**cell]);
        let inside = inside.filter_map(|cell| cells[*cell]);
        let (count, flights) = inside.fold((0, 0), |(count, flights), size| {
            (count + 1, flights + size.flights)
        });
        if count == 0 || (count > 1 && flights >= options.min_flights) {
            return changed;
        }
        match smallest(members, cells, hidden) {
            Some(cell) => hidden[cell] = true,
            None => return changed,
        }
        changed = true;
    }
}

/// The member with the fewest flights that is still shown; of equal ones the first.
fn smallest(members: &[usize], cells: &[Option<Size>], hidden: &[bool]) -> Option<usize> {
    let shown = members.iter().copied().filter(|cell| !hidden[*cell]);
    let sizes = shown.filter_map(|cell| Some((cells[cell]?.flights, cell)));
    sizes.min().map(|(_, cell)| cell)
}

/// Why each cell that is hidden is.
fn reasons(cells: &[Option<Size>], hidden: &[bool]) -> Vec<Option<&'static str>> {
    let why = |(cell, hidden): (&Option<Size>, &bool)| {
        let small = cell.and_then(|size| size.small);
        hidden.then(|| small.unwrap_or(GIVES_AWAY))
    };
    cells.iter().zip(hidden).map(why).collect()
}

/// The suppressed cells of one rule, by the numbers of groups and months.
#[derive(Debug, Default)]
pub(super) struct Hidden {
    slots: usize,
    why: Vec<Option<&'static str>>,
}

impl Hidden {
    /// Those of these months of a grid, and of their `totals`.
    pub(super) fn new(
        families: &Families,
        grid: &Grid,
        (totals, months): (&[Tally], &[usize]),
        options: &SummaryOptions,
    ) -> Self {
        let slots = grid.months() + 1;
        let mut cells = vec![None; totals.len() * slots];
        for (group, total) in totals.iter().enumerate() {
            cells[group * slots] = Size::of(total, options);
            for month in months {
                let size = Size::of(grid.cell(group, *month), options);
                cells[group * slots + 1 + month] = size;
            }
        }
        let hidden = hide(&cells, families, options);
        Self {
            slots,
            why: reasons(&cells, &hidden),
        }
    }

    /// Why the cell of a group over all months is hidden; `None` where it is not.
    pub(super) fn total(&self, group: usize) -> Option<&'static str> {
        self.why[group * self.slots]
    }

    /// Why the cell of a month is hidden; `None` where it is not.
    pub(super) fn month(&self, group: usize, month: usize) -> Option<&'static str> {
        self.why[group * self.slots + 1 + month]
    }
}

/// The suppressed cells of one rule, by name.
#[derive(Debug, Default)]
pub(super) struct Mask {
    total: BTreeMap<Group, &'static str>,
    monthly: BTreeMap<(Group, String), &'static str>,
}

impl Mask {
    pub(super) fn new(all: &Cells, options: &SummaryOptions) -> Self {
        let in_months = all.monthly.keys();
        let named = all
            .total
            .keys()
            .chain(in_months.clone().map(|(group, _)| group));
        let mut groups: Vec<Group> = named.cloned().collect();
        groups.sort_unstable();
        groups.dedup();
        let mut months: Vec<&str> = in_months.map(|(_, month)| month.as_str()).collect();
        months.sort_unstable();
        months.dedup();
        let slots = months.len() + 1;
        let mut cells = vec![None; groups.len() * slots];
        for (number, group) in groups.iter().enumerate() {
            let total = all.total.get(group);
            cells[number * slots] = total.and_then(|tally| Size::of(tally, options));
        }
        for ((group, month), tally) in &all.monthly {
            if let (Ok(group), Ok(month)) = (
                groups.binary_search(group),
                months.binary_search(&month.as_str()),
            ) {
                cells[group * slots + 1 + month] = Size::of(tally, options);
            }
        }
        let hidden = hide(&cells, &Families::new(&groups, months.len()), options);
        let why = reasons(&cells, &hidden);
        let mut mask = Self::default();
        for (number, group) in groups.into_iter().enumerate() {
            let own = &why[number * slots..(number + 1) * slots];
            for (month, why) in months.iter().zip(&own[1..]) {
                if let Some(why) = why {
                    mask.monthly
                        .insert((group.clone(), (*month).to_owned()), why);
                }
            }
            if let Some(why) = own[0] {
                mask.total.insert(group, why);
            }
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
        few_days.tail_days = vec![1];
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
