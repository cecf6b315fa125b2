//! `second_look`: the events a person should look at before anyone believes them.
//!
//! All events of the highest level, whatever the statistics say, since rare ones never become significant;
//! and examples behind every flag. Row-level: it names flights, and stays restricted.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use ::records::rows::ApproachRow;

use super::core_events::core_events;
use super::count::LEVELS;
use super::group::Group;
use super::window::Window;
use super::{Scene, Summary, SummaryInput};
use crate::rows::EventRow;

/// Examples behind one flag.
const EXAMPLES: usize = 5;
const HIGHEST: &str = "high";

/// One approach and rule that a person should look at.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SecondLookRow {
    /// Opaque flight id.
    pub flight_id: String,
    /// From 1, in flight order.
    pub approach_no: i32,
    /// Rule id.
    pub rule: String,
    /// Family of the rule.
    pub family: String,
    /// Worst level of its events here.
    pub level: String,
    /// `YYYY-MM`.
    pub month: Option<String>,
    /// Airport; null where unknown.
    pub airport: Option<String>,
    /// Runway end; null where unknown.
    pub runway: Option<String>,
    /// Key of a type file.
    pub aircraft_type: Option<String>,
    /// Start of the worst event, seconds from the start of the record.
    pub start_s: Option<f64>,
    /// Its deciding measure.
    pub worst: Option<f64>,
    /// The unit of that.
    pub worst_unit: String,
    /// Whether one of its events is in a rate: neither partial nor at the edge.
    pub counts: bool,
    /// Why to look, in words; several separated by semicolons.
    pub why: String,
    /// `stands`, `does not stand` or `open`.
    pub verdict: String,
}

/// The worst event of one rule on one approach, and whether any is in a rate.
struct Found<'a> {
    event: &'a EventRow,
    row: &'a ApproachRow,
    level: usize,
    counts: bool,
}

type Key<'a> = (&'a str, i32, &'a str);

/// The rows, by flight, approach and rule.
pub(super) fn rows(
    scene: &Scene<'_>,
    input: &SummaryInput<'_>,
    summary: &Summary,
    window: &Window,
) -> Vec<SecondLookRow> {
    let found = found(scene, input);
    let mut reasons: BTreeMap<Key<'_>, Vec<String>> = BTreeMap::new();
    for (key, one) in &found {
        if LEVELS[one.level] == HIGHEST {
            let why = reasons.entry(*key).or_default();
            why.push("event of the highest level".to_owned());
        }
    }
    for flag in flags(scene, summary, window) {
        for key in flag.examples(&found) {
            reasons.entry(key).or_default().push(flag.why.clone());
        }
    }
    let verdicts: BTreeMap<Key<'_>, &str> = input
        .verdicts
        .iter()
        .map(|row| {
            let key = (row.flight_id.as_str(), row.approach_no, row.rule.as_str());
            (key, row.verdict.as_str())
        })
        .collect();
    let rows = reasons.into_iter().filter_map(|(key, why)| {
        let one = found.get(&key)?;
        Some(SecondLookRow {
            flight_id: key.0.to_owned(),
            approach_no: key.1,
            rule: key.2.to_owned(),
            family: one.event.family.clone(),
            level: one.event.level.clone(),
            month: one.row.month.clone(),
            airport: one.row.airport.clone(),
            runway: one.row.runway.clone(),
            aircraft_type: one.row.aircraft_type.clone(),
            start_s: one.event.start_s,
            worst: one.event.worst,
            worst_unit: one.event.worst_unit.clone(),
            counts: one.counts,
            why: why.join("; "),
            verdict: verdicts.get(&key).copied().unwrap_or("open").to_owned(),
        })
    });
    rows.collect()
}

/// Events of line flights under rules that are not on trial.
fn found<'a>(scene: &Scene<'a>, input: &SummaryInput<'a>) -> BTreeMap<Key<'a>, Found<'a>> {
    let mut found: BTreeMap<Key<'a>, Found<'a>> = BTreeMap::new();
    for one in core_events(scene, input) {
        let (event, row, level, counts) = (one.event, one.row, one.level, one.counts());
        let one = found.entry(one.key()).or_insert(Found {
            event,
            row,
            level,
            counts,
        });
        one.counts |= counts;
        // Of several the worst, of equal ones the first.
        if level > one.level {
            (one.event, one.level) = (event, level);
        }
    }
    found
}

/// Something that was flagged, and where its events are.
struct Flag {
    why: String,
    /// Rule, or else a whole family.
    rule: Option<String>,
    family: String,
    level: usize,
    group_kind: String,
    group: String,
    months: BTreeSet<String>,
}

fn flags(scene: &Scene<'_>, summary: &Summary, window: &Window) -> Vec<Flag> {
    let latest = window.to(&scene.frame);
    let year: BTreeSet<String> = window
        .months
        .iter()
        .map(|month| scene.frame.months[*month].clone())
        .collect();
    let level = |name: &str| LEVELS.iter().position(|level| *level == name).unwrap_or(0);
    let whom = |rule: &Option<String>, family: &str| match rule {
        Some(rule) => rule.clone(),
        None => format!("family {family}"),
    };
    let months = summary
        .trend_monthly
        .iter()
        .filter(|row| row.signal.as_deref() == Some("higher"))
        .filter(|row| latest.as_ref() == Some(&row.month))
        .map(|row| Flag {
            why: format!(
                "{} higher in {} than before: {} {}",
                whom(&row.rule, &row.family),
                row.month,
                row.group_kind,
                row.group
            ),
            rule: row.rule.clone(),
            family: row.family.clone(),
            level: level(&row.at_least_level),
            group_kind: row.group_kind.clone(),
            group: row.group.clone(),
            months: BTreeSet::from([row.month.clone()]),
        });
    let slopes = summary
        .trend_slope
        .iter()
        .filter(|row| row.call.as_deref() == Some("rising"))
        .map(|row| Flag {
            why: format!(
                "{} rising: {} {}",
                whom(&row.rule, &row.family),
                row.group_kind,
                row.group
            ),
            rule: row.rule.clone(),
            family: row.family.clone(),
            level: level(&row.at_least_level),
            group_kind: row.group_kind.clone(),
            group: row.group.clone(),
            months: latest.iter().cloned().collect(),
        });
    let places = summary
        .hotspots
        .iter()
        .filter(|row| matches!(row.class.as_deref(), Some("hot spot" | "watch")))
        .map(|row| {
            let (group_kind, group) = match &row.runway {
                Some(runway) => ("runway", format!("{}/{runway}", row.airport)),
                None => ("airport", row.airport.clone()),
            };
            Flag {
                why: format!(
                    "{} at {group}: {}",
                    whom(&row.rule, &row.family),
                    row.class.as_deref().unwrap_or_default()
                ),
                rule: row.rule.clone(),
                family: row.family.clone(),
                level: 0,
                group_kind: group_kind.to_owned(),
                group,
                months: year.clone(),
            }
        });
    months.chain(slopes).chain(places).collect()
}

impl Flag {
    /// The worst events behind it; of equal ones the first by flight. Those that count come first.
    fn examples<'a>(&self, found: &BTreeMap<Key<'a>, Found<'a>>) -> Vec<Key<'a>> {
        let mut own: Vec<(&Key<'a>, &Found<'a>)> = found
            .iter()
            .filter(|(key, one)| match &self.rule {
                Some(rule) => key.2 == rule,
                None => one.event.family == self.family,
            })
            .filter(|(_, one)| one.counts && one.level >= self.level)
            .filter(|(_, one)| {
                let month = one.row.month.as_ref();
                month.is_some_and(|month| self.months.contains(month))
            })
            .filter(|(_, one)| {
                Group::of(one.row)
                    .iter()
                    .any(|group| group.kind() == self.group_kind && group.name() == self.group)
            })
            .collect();
        own.sort_by(|a, b| b.1.level.cmp(&a.1.level).then(a.0.cmp(b.0)));
        own.into_iter()
            .take(EXAMPLES)
            .map(|(key, _)| *key)
            .collect()
    }
}
