//! Whether two reviews count the same in the months that both cover.
//!
//! Only what both show is compared: a month that one of them withholds is unknown, and unknown is not
//! different.

use std::collections::{BTreeMap, BTreeSet};

use super::Tables;

/// Rule, or none and the family; then kind and name of the group, and the level.
type Series<'a> = (Option<&'a str>, &'a str, &'a str, &'a str, &'a str);
/// Evaluable and with an event, by month; none where withheld.
type Months<'a> = BTreeMap<&'a str, Option<(i64, i64)>>;

/// The months of one review.
pub(super) struct Figures<'a>(BTreeMap<Series<'a>, Months<'a>>);

/// The series of a rule, or of a family where `rule` is none.
pub(super) fn series<'a>(
    rule: Option<&'a str>,
    family: &'a str,
    (kind, group): (&'a str, &'a str),
    level: &'a str,
) -> Series<'a> {
    let family = if rule.is_some() { "" } else { family };
    (rule, family, kind, group, level)
}

impl<'a> Figures<'a> {
    /// Those up to month `last`.
    pub(super) fn new(tables: &Tables<'a>, last: &str) -> Self {
        let mut all: BTreeMap<Series<'a>, Months<'a>> = BTreeMap::new();
        for row in tables
            .trend_monthly
            .iter()
            .filter(|row| row.month.as_str() <= last)
        {
            let group = (row.group_kind.as_str(), row.group.as_str());
            let own = series(row.rule.as_deref(), &row.family, group, &row.at_least_level);
            let shown = row.suppressed.is_none();
            let counts = row.evaluable.zip(row.approaches_with_event);
            let months = all.entry(own).or_default();
            months.insert(&row.month, counts.filter(|_| shown));
        }
        Self(all)
    }

    /// Whether the other review counts otherwise in a series.
    pub(super) fn differ(&self, other: &Self, series: &Series<'_>) -> bool {
        let none = Months::new();
        let own = self.0.get(series).unwrap_or(&none);
        let others = other.0.get(series).unwrap_or(&none);
        let months: BTreeSet<&&str> = own.keys().chain(others.keys()).collect();
        // A month without a row has no approach.
        let nothing = Some((0, 0));
        months.into_iter().any(|month| {
            let here = own.get(*month).copied().unwrap_or(nothing);
            let there = others.get(*month).copied().unwrap_or(nothing);
            here.zip(there).is_some_and(|(here, there)| here != there)
        })
    }

    /// Whether both show a month of a series.
    pub(super) fn compare(&self, other: &Self, series: &Series<'_>) -> bool {
        let shown = |figures: &Self| {
            let months = figures.0.get(series);
            months.is_some_and(|months| months.values().any(Option::is_some))
        };
        shown(self) && shown(other)
    }

    /// Every series that one of the two has, of rules of which `is_wanted`.
    pub(super) fn series_of<'b>(
        &'b self,
        other: &'b Self,
        is_wanted: impl Fn(&str) -> bool,
    ) -> Vec<&'b Series<'a>> {
        let all: BTreeSet<&Series<'a>> = self.0.keys().chain(other.0.keys()).collect();
        all.into_iter()
            .filter(|series| series.0.is_some_and(&is_wanted))
            .collect()
    }
}
