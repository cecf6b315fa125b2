//! Counting approaches, evaluable approaches and approaches with an event, cell by cell.

use std::collections::{BTreeMap, BTreeSet};

use records::rows::ApproachRow;

use super::ByRule;
use super::group::{Group, UNKNOWN};
use crate::rows::{EventRow, MeasurementRow};

/// Levels from the least to the worst; counts at an index are "at least that level".
pub(super) const LEVELS: [&str; 3] = ["low", "medium", "high"];

/// Counts of one cell.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Tally {
    pub(super) approaches: i64,
    pub(super) evaluable: i64,
    /// Approaches with an event of at least the level; edge and partial events do not count.
    pub(super) at_least: [i64; 3],
    pub(super) events: [i64; 3],
    /// Events that rest on a lever position between two samples.
    pub(super) edge: [i64; 3],
    /// Distinct flights among the evaluable.
    pub(super) flights: usize,
    /// Distinct tail-days among the evaluable, where days are known.
    pub(super) tail_days: BTreeSet<(String, String)>,
    pub(super) days_known: bool,
    pub(super) reasons: BTreeMap<String, i64>,
    pub(super) last_flight: Option<String>,
}

/// All cells of one rule.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Cells {
    pub(super) version: u32,
    /// Hash over the limits that applied; changes when any of them does.
    pub(super) limits: BTreeSet<String>,
    pub(super) total: BTreeMap<Group, Tally>,
    pub(super) monthly: BTreeMap<(Group, String), Tally>,
}

/// What an approach's events of one rule amount to.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Seen {
    worst: Option<usize>,
    events: [i64; 3],
    edge: [i64; 3],
}

impl Seen {
    pub(super) fn any(self) -> bool {
        self.worst.is_some()
    }
}

pub(super) type SeenBy<'a> = BTreeMap<(&'a str, i32, &'a str), Seen>;

pub(super) fn seen(events: &[EventRow]) -> SeenBy<'_> {
    let mut seen: SeenBy<'_> = BTreeMap::new();
    for event in events.iter().filter(|event| !event.partial) {
        let Some(level) = LEVELS.iter().position(|level| *level == event.level) else {
            continue;
        };
        let entry = seen
            .entry((
                event.flight_id.as_str(),
                event.approach_no,
                event.rule.as_str(),
            ))
            .or_default();
        let edge = event.edge == Some(true);
        for below in 0..=level {
            if edge {
                entry.edge[below] += 1;
            } else {
                entry.events[below] += 1;
            }
        }
        if !edge {
            entry.worst = entry.worst.max(Some(level));
        }
    }
    seen
}

pub(super) fn is_evaluable(measurement: &MeasurementRow) -> bool {
    matches!(measurement.status.as_str(), "event" | "clear")
}

/// Counts every cell. `measurements` come in flight order, so that distinct flights are changes.
pub(super) fn count(
    approaches: &[ApproachRow],
    measurements: &[MeasurementRow],
    events: &[EventRow],
) -> ByRule {
    let rows: BTreeMap<i64, &ApproachRow> = approaches
        .iter()
        .filter(|row| row.is_line())
        .map(|row| (row.approach_key, row))
        .collect();
    let seen = seen(events);
    let mut by_rule = ByRule::new();
    for measurement in measurements {
        let Some(row) = rows.get(&measurement.approach_key) else {
            continue;
        };
        let key = (
            measurement.flight_id.as_str(),
            measurement.approach_no,
            measurement.rule.as_str(),
        );
        let events = seen.get(&key).copied().unwrap_or_default();
        if !by_rule.contains_key(&measurement.rule) {
            by_rule.insert(measurement.rule.clone(), Cells::default());
        }
        let Some(cells) = by_rule.get_mut(&measurement.rule) else {
            continue;
        };
        cells.version = cells.version.max(measurement.rule_version);
        cells.limits.insert(measurement.limits_hash.clone());
        let month = row.month.as_deref().unwrap_or(UNKNOWN);
        for group in Group::of(row) {
            let cell = (group.clone(), month.to_owned());
            cells
                .monthly
                .entry(cell)
                .or_default()
                .add(row, measurement, events);
            cells
                .total
                .entry(group)
                .or_default()
                .add(row, measurement, events);
        }
    }
    by_rule
}

/// Every line approach as if some rule could always have fired: who may see how many there were.
pub(super) fn everything(approaches: &[ApproachRow]) -> Cells {
    let mut cells = Cells::default();
    for row in approaches.iter().filter(|row| row.is_line()) {
        let month = row.month.as_deref().unwrap_or(UNKNOWN);
        for group in Group::of(row) {
            let cell = (group.clone(), month.to_owned());
            cells.monthly.entry(cell).or_default().add_evaluable(row);
            cells.total.entry(group).or_default().add_evaluable(row);
        }
    }
    cells
}

impl Tally {
    fn add(&mut self, row: &ApproachRow, measurement: &MeasurementRow, seen: Seen) {
        self.approaches += 1;
        if !is_evaluable(measurement) {
            let reason = measurement.reason.clone().unwrap_or_default();
            *self.reasons.entry(reason).or_default() += 1;
            return;
        }
        self.add_evaluable(row);
        for level in 0..LEVELS.len() {
            self.at_least[level] += i64::from(seen.worst >= Some(level));
            self.events[level] += seen.events[level];
            self.edge[level] += seen.edge[level];
        }
    }

    /// Counts the approach in the denominator.
    pub(super) fn add_evaluable(&mut self, row: &ApproachRow) {
        self.evaluable += 1;
        if self.last_flight.as_ref() != Some(&row.flight_id) {
            self.flights += 1;
            self.last_flight = Some(row.flight_id.clone());
        }
        if let Some(day) = &row.day_key {
            self.days_known = true;
            // A handful is enough to know that a cell is not about one crew's day.
            if self.tail_days.len() < 64 {
                let tail = row.tail_id.clone().unwrap_or_default();
                self.tail_days.insert((tail, day.clone()));
            }
        }
    }

    /// The most frequent reasons why the rule could not be judged, with counts.
    /// Counts below `least` are not given.
    pub(super) fn top_reasons(&self, least: usize) -> String {
        let mut reasons: Vec<(&String, &i64)> = self.reasons.iter().collect();
        reasons.sort_by(|a, b| b.1.cmp(a.1).then(a.0.cmp(b.0)));
        let texts: Vec<String> = reasons
            .iter()
            .take(3)
            .map(|(reason, n)| match usize::try_from(**n) {
                Ok(count) if count >= least => format!("{reason} ({n})"),
                _ => format!("{reason} (few)"),
            })
            .collect();
        texts.join("; ")
    }
}
