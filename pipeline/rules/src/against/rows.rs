//! The tables that are compared, and the table that tells what came of it.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use super::told::{Key, Subject, Told};
use crate::summarise::{BeforeAfterRow, HotspotRow, SlopeRow, Summary, TopicRow, TrendRow};

/// The shared tables of one review that hold flags.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Tables<'a> {
    /// Months.
    pub trend_monthly: &'a [TrendRow],
    /// Slopes.
    pub trend_slope: &'a [SlopeRow],
    /// Places.
    pub hotspots: &'a [HotspotRow],
    /// Topics of training.
    pub training_topics: &'a [TopicRow],
    /// Changes made on purpose.
    pub interventions: &'a [BeforeAfterRow],
}

impl<'a> From<&'a Summary> for Tables<'a> {
    fn from(summary: &'a Summary) -> Self {
        Self {
            trend_monthly: &summary.trend_monthly,
            trend_slope: &summary.trend_slope,
            hotspots: &summary.hotspots,
            training_topics: &summary.training_topics,
            interventions: &summary.interventions,
        }
    }
}

impl Tables<'_> {
    /// The latest month, `YYYY-MM`; none where no approach has one.
    #[must_use]
    pub fn latest_month(&self) -> Option<String> {
        let months = self.trend_monthly.iter().map(|row| row.month.as_str());
        months.max().map(str::to_owned)
    }

    /// Types and airports that are known by name.
    pub(super) fn named_groups(&self) -> BTreeSet<(&str, &str)> {
        let groups = self
            .trend_monthly
            .iter()
            .map(|row| (row.group_kind.as_str(), row.group.as_str()));
        groups
            .filter(|(kind, name)| {
                matches!(*kind, "aircraft_type" | "airport") && *name != "unknown"
            })
            .collect()
    }
}

/// A flag that one of two reviews has. `before` is the review that is compared with.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct AgainstRow {
    /// `new`, `gone`, `changed`, `unchanged`.
    pub mark: String,
    /// What is flagged: `month`, `slope`, `place`, `topic`, `intervention`.
    pub kind: String,
    /// Rule id; null for a family or a topic.
    pub rule: Option<String>,
    /// Family of the rule, or the family itself; null for a topic.
    pub family: Option<String>,
    /// The topic; null elsewhere.
    pub topic: Option<String>,
    /// Level of the events counted; null where events of any level are.
    pub at_least_level: Option<String>,
    /// `fleet`, `aircraft_type`, `airport`, `runway`, or `airport and aircraft_type` of a change for both.
    pub group_kind: String,
    /// Name of the group.
    pub group: String,
    /// First month of the change; null elsewhere.
    pub intervention_month: Option<String>,
    /// The change, in the operator's words; null elsewhere.
    pub intervention: Option<String>,
    /// The flag in the review before; null = none.
    pub flag_before: Option<String>,
    /// The flag now; null = none.
    pub flag_now: Option<String>,
    /// Why there was no flag; null where there was one.
    pub why_not_before: Option<String>,
    /// Why there is no flag; null where there is one.
    pub why_not_now: Option<String>,
    /// Latest month of the figures before.
    pub month_before: Option<String>,
    /// Latest month of the figures now.
    pub month_now: Option<String>,
    /// Evaluable approaches before.
    pub evaluable_before: Option<i64>,
    /// Evaluable approaches now.
    pub evaluable_now: Option<i64>,
    /// Approaches with an event before.
    pub approaches_with_event_before: Option<i64>,
    /// Approaches with an event now.
    pub approaches_with_event_now: Option<i64>,
    /// Rate per 1,000 before.
    pub rate_per_1000_before: Option<f64>,
    /// Rate per 1,000 now.
    pub rate_per_1000_now: Option<f64>,
    /// Rate over what it was compared with, before.
    pub ratio_before: Option<f64>,
    /// Rate over what it is compared with, now.
    pub ratio_now: Option<f64>,
    /// Slope before, % a month.
    pub slope_pct_per_month_before: Option<f64>,
    /// Slope now, % a month.
    pub slope_pct_per_month_now: Option<f64>,
    /// Why it differs: `data`, `rules`, `flying`, `program`, separated by semicolons, or `not known`; null
    /// where it does not.
    pub cause: Option<String>,
}

impl AgainstRow {
    pub(super) fn new(
        mark: &str,
        key: &Key,
        past: Option<&Told>,
        present: Option<&Told>,
        cause: Option<String>,
    ) -> Self {
        let none = Told::default();
        let missing = || Some("not in that review".to_owned());
        let why_not = |told: Option<&Told>| match told {
            None => missing(),
            Some(told) => told.why_not.clone(),
        };
        let family = present.or(past).map(|told| told.family.clone());
        let (why_not_before, why_not_now) = (why_not(past), why_not(present));
        let (past, present) = (past.unwrap_or(&none), present.unwrap_or(&none));
        let (rule, topic) = match &key.subject {
            Subject::Rule(rule) => (Some(rule.clone()), None),
            Subject::Family(_) => (None, None),
            Subject::Topic(topic) => (None, Some(topic.clone())),
        };
        Self {
            mark: mark.to_owned(),
            kind: key.kind.as_str().to_owned(),
            family: family.filter(|_| topic.is_none()),
            rule,
            topic,
            at_least_level: key.level.map(|level| level.as_str().to_owned()),
            group_kind: key.group.kind().to_owned(),
            group: key.group.name(),
            intervention_month: key.change.as_ref().map(|(month, _)| month.clone()),
            intervention: key.change.as_ref().map(|(_, what)| what.clone()),
            flag_before: past.flag.clone(),
            flag_now: present.flag.clone(),
            why_not_before,
            why_not_now,
            month_before: past.month.clone(),
            month_now: present.month.clone(),
            evaluable_before: past.evaluable,
            evaluable_now: present.evaluable,
            approaches_with_event_before: past.with_event,
            approaches_with_event_now: present.with_event,
            rate_per_1000_before: past.rate_per_1000,
            rate_per_1000_now: present.rate_per_1000,
            ratio_before: past.ratio,
            ratio_now: present.ratio,
            slope_pct_per_month_before: past.slope_pct_per_month,
            slope_pct_per_month_now: present.slope_pct_per_month,
            cause,
        }
    }
}
