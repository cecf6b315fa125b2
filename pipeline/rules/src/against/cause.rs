//! Why a flag is new, gone or another one: other data, other rules, or more flying.
//!
//! A rule that has changed counts otherwise in every month, so its figures say nothing of the data: then
//! rules that are the same in both reviews are asked, in the same group.

use std::collections::BTreeMap;

use super::figures::{Figures, series};
use super::told::{Key, Kind, Subject, Told};
use super::{RunMarks, Tables};

/// Thresholds that every flag depends on.
const EVERY_FLAG: [&str; 3] = ["confidence", "min_flights", "min_tail_days"];
/// Level that counts events of any level.
const ANY_LEVEL: &str = "low";

/// Thresholds that a kind of flag depends on besides. The governing gate is none of them: it sorts
/// approaches for the energy tables.
fn thresholds(kind: Kind) -> &'static [&'static str] {
    match kind {
        Kind::Month | Kind::Intervention => &[
            "q",
            "ratio",
            "min_events",
            "min_coverage",
            "max_coverage_move",
        ],
        Kind::Slope => &[
            "q",
            "trend_pct_per_month",
            "min_coverage",
            "max_coverage_move",
        ],
        Kind::Place => &[
            "hot_spot_ratio",
            "hot_spot_probability",
            "watch_probability",
            "min_approaches",
            "min_coverage",
        ],
        Kind::Topic => &["min_approaches"],
    }
}

/// Two reviews, to be asked why they differ.
pub(super) struct Ground<'a> {
    before: &'a RunMarks,
    now: &'a RunMarks,
    past: Figures<'a>,
    present: Figures<'a>,
    /// Whether this review covers months after the latest of the one before.
    has_newer_months: bool,
}

impl<'a> Ground<'a> {
    pub(super) fn new(
        before: (&'a RunMarks, &Tables<'a>),
        now: (&'a RunMarks, &Tables<'a>),
    ) -> Self {
        let last = before.1.latest_month().unwrap_or_default();
        Self {
            past: Figures::new(before.1, &last),
            present: Figures::new(now.1, &last),
            has_newer_months: now.1.latest_month().is_some_and(|month| month > last),
            before: before.0,
            now: now.0,
        }
    }

    /// All causes that apply, separated by semicolons.
    pub(super) fn cause(&self, key: &Key, past: Option<&Told>, present: Option<&Told>) -> String {
        let (then, now) = (members(self.before, key), members(self.now, key));
        let same_rules = then == now;
        let (data, rules) = (
            self.has_other_data(key, &then, &now) || told_once(key, past, present, same_rules),
            !same_rules || self.has_other_thresholds(key.kind),
        );
        let nothing_own = !(data || rules || self.has_newer_months);
        // Tests are corrected for one another and places are compared with one another.
        let (data, rules) = if nothing_own {
            (
                self.has_other_data_anywhere(),
                core(self.before) != core(self.now),
            )
        } else {
            (data, rules)
        };
        let causes = [
            ("data", data),
            ("rules", rules),
            ("flying", self.has_newer_months),
            ("program", self.before.version != self.now.version),
        ];
        let named: Vec<&str> = causes
            .into_iter()
            .filter_map(|(name, applies)| applies.then_some(name))
            .collect();
        if named.is_empty() {
            "not known".to_owned()
        } else {
            named.join("; ")
        }
    }

    fn has_other_thresholds(&self, kind: Kind) -> bool {
        let mut names = EVERY_FLAG.iter().chain(thresholds(kind));
        names.any(|name| self.before.settings.get(*name) != self.now.settings.get(*name))
    }

    /// Whether the months that both cover count otherwise, in the group of the flag.
    fn has_other_data(&self, key: &Key, then: &Members<'_>, now: &Members<'_>) -> bool {
        let groups = key.group.counted_as();
        let differ: Vec<bool> = groups
            .iter()
            .filter_map(|(kind, name)| self.differs_in(key, (*kind, name.as_str()), then == now))
            .collect();
        // Approaches of a type at an airport are in the figures of both.
        !differ.is_empty() && differ.iter().all(|differs| *differs)
    }

    /// The same of one group; none where the two reviews show no month in common.
    fn differs_in(&self, key: &Key, group: (&str, &str), same_rules: bool) -> Option<bool> {
        let level = key.level.map_or(ANY_LEVEL, |level| level.as_str());
        let own: Vec<_> = match &key.subject {
            _ if !same_rules => {
                let all = self
                    .past
                    .series_of(&self.present, |rule| self.is_same(rule));
                let here = all
                    .into_iter()
                    .filter(|series| (series.2, series.3) == group);
                here.copied().collect()
            }
            Subject::Rule(rule) => vec![series(Some(rule), "", group, level)],
            Subject::Family(family) => vec![series(None, family, group, level)],
            Subject::Topic(_) => members(self.now, key)
                .into_keys()
                .map(|rule| series(Some(rule), "", group, level))
                .collect(),
        };
        let differs = own.iter().any(|one| self.past.differ(&self.present, one));
        let is_known = || own.iter().any(|one| self.past.compare(&self.present, one));
        (differs || is_known()).then_some(differs)
    }

    fn has_other_data_anywhere(&self) -> bool {
        let all = self
            .past
            .series_of(&self.present, |rule| self.is_same(rule));
        all.into_iter()
            .any(|series| self.past.differ(&self.present, series))
    }

    /// Whether both reviews judged by a rule, and by the same.
    fn is_same(&self, rule: &str) -> bool {
        let (then, now) = (self.before.rules.get(rule), self.now.rules.get(rule));
        then.zip(now)
            .is_some_and(|(then, now)| (then.version, &then.hash) == (now.version, &now.hash))
    }
}

/// Rules by id: version and hash of what they mean.
type Members<'a> = BTreeMap<&'a str, (u32, &'a str)>;

/// The rules that may be flagged.
fn core(marks: &RunMarks) -> Members<'_> {
    let rules = marks.rules.values().filter(|rule| rule.is_core());
    rules
        .map(|rule| (rule.id.as_str(), (rule.version, rule.hash.as_str())))
        .collect()
}

/// Those of them that a flag rests on: the rule; the rules of the family; those that name the topic.
fn members<'a>(marks: &'a RunMarks, key: &Key) -> Members<'a> {
    let mut members = core(marks);
    members.retain(|id, _| match &key.subject {
        Subject::Rule(own) => id == own,
        Subject::Family(family) => marks.rules[*id].family == *family,
        Subject::Topic(topic) => marks.rules[*id].topics.contains(topic),
    });
    members
}

/// Whether only one of the reviews could tell: it was withheld in the other, or not compared. A row that is
/// not there says that nothing was flown there; only changes come from a list of their own.
fn told_once(key: &Key, past: Option<&Told>, present: Option<&Told>, same_rules: bool) -> bool {
    match (past, present) {
        _ if !same_rules => false,
        (Some(past), Some(present)) => past.is_tested != present.is_tested,
        _ => key.kind == Kind::Intervention,
    }
}
