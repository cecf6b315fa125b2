//! What each rule says of each approach, and what a set of rules says together.

use std::collections::{BTreeMap, BTreeSet};

use records::rows::ApproachRow;

use super::count::LEVELS;
use super::frame::Frame;
use crate::judge::is_out_of_scope;
use crate::rows::{EventRow, MeasurementRow};

/// How far an approach could be judged.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Judged {
    /// Not at all: the rule has not seen it.
    #[default]
    Absent,
    /// The rule has no say here: the situation it is about did not occur.
    OutOfScope,
    /// It could have fired, and what it reads is not known.
    Unknown,
    /// It could have fired.
    Evaluable,
}

/// One approach as a rule, or a set of rules, sees it.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Verdict {
    pub(super) judged: Judged,
    /// Worst level of the events that count, by its place in [`LEVELS`].
    pub(super) worst: Option<u8>,
    /// Events of at least each level, without edge events.
    pub(super) events: [u16; 3],
    /// Edge events of at least each level.
    pub(super) edge: [u16; 3],
    /// Why it could not be judged, by its place in [`Verdicts::reasons`].
    pub(super) reason: u16,
}

/// What one rule, or a set of rules, says of every approach, by the number of the approach.
#[derive(Debug, Clone, Default)]
pub(super) struct Verdicts {
    pub(super) of: Vec<Verdict>,
    pub(super) reasons: Vec<String>,
    /// Version of a single rule; the newest where rows have several.
    pub(super) version: Option<u32>,
    /// Hashes of the limits that applied anywhere.
    pub(super) limits: BTreeSet<String>,
    /// Months, by number, in which version or limits are not what they were before in the same place.
    pub(super) changes: Vec<Change>,
}

/// Version or limits of a rule changed in one place: type, airport and runway.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Change {
    /// First month of the new ones, by number.
    pub(super) month: u32,
    /// An approach there, by number.
    pub(super) approach: u32,
}

/// The verdicts of every rule. `measurements` come in the order of the tables.
pub(super) fn by_rule(
    frame: &Frame<'_>,
    measurements: &[MeasurementRow],
    events: &[EventRow],
) -> BTreeMap<String, Verdicts> {
    let seen = Seen::new(events);
    let mut rules: BTreeMap<&str, Builder<'_>> = BTreeMap::new();
    let mut start = 0;
    // The rows of one approach stand together: outcomes look up the rules they read among them.
    for end in 1..=measurements.len() {
        let key = measurements[start].approach_key;
        if measurements
            .get(end)
            .is_some_and(|row| row.approach_key == key)
        {
            continue;
        }
        let approach = &measurements[start..end];
        start = end;
        let Some(number) = frame.number(key) else {
            continue;
        };
        for row in approach {
            let builder = rules
                .entry(row.rule.as_str())
                .or_insert_with(|| Builder::new(frame.rows.len()));
            builder.add(frame, number, row, approach, &seen);
        }
    }
    rules
        .into_iter()
        .map(|(rule, builder)| (rule.to_owned(), builder.done()))
        .collect()
}

/// Several rules taken as one: it could have fired where one of them could, and fired where one did.
pub(super) fn together<'a>(members: impl Iterator<Item = &'a Verdicts>) -> Verdicts {
    const NONE_COULD: &str = "none of its rules could be judged";
    let mut all = Verdicts {
        reasons: vec![NONE_COULD.to_owned()],
        ..Verdicts::default()
    };
    for member in members {
        all.of.resize(member.of.len(), Verdict::default());
        for (sum, one) in all.of.iter_mut().zip(&member.of) {
            sum.judged = sum.judged.max(one.judged);
            if one.judged == Judged::Evaluable {
                sum.worst = sum.worst.max(one.worst);
                for level in 0..LEVELS.len() {
                    sum.events[level] = sum.events[level].saturating_add(one.events[level]);
                    sum.edge[level] = sum.edge[level].saturating_add(one.edge[level]);
                }
            }
        }
        all.limits.extend(member.limits.iter().cloned());
        all.changes.extend(&member.changes);
    }
    all.changes.sort_unstable();
    all.changes.dedup();
    all
}

/// Events that count, by flight, approach and rule.
struct Seen<'a>(BTreeMap<(&'a str, i32, &'a str), Verdict>);

impl<'a> Seen<'a> {
    fn new(events: &'a [EventRow]) -> Self {
        let mut seen: BTreeMap<(&str, i32, &str), Verdict> = BTreeMap::new();
        for event in events.iter().filter(|event| !event.partial) {
            let Some(level) = LEVELS.iter().position(|level| *level == event.level) else {
                continue;
            };
            let key = (
                event.flight_id.as_str(),
                event.approach_no,
                event.rule.as_str(),
            );
            let entry = seen.entry(key).or_default();
            let edge = event.edge == Some(true);
            let counts = if edge {
                &mut entry.edge
            } else {
                &mut entry.events
            };
            for count in &mut counts[..=level] {
                *count = count.saturating_add(1);
            }
            if !edge {
                entry.worst = entry.worst.max(u8::try_from(level).ok());
            }
        }
        Self(seen)
    }
}

/// Version and limits under which one place was judged in each month.
type Eras<'a> = BTreeMap<[u32; 2], BTreeMap<u32, (BTreeSet<(u32, &'a str)>, u32)>>;

struct Builder<'a> {
    verdicts: Verdicts,
    numbers: BTreeMap<&'a str, u16>,
    eras: Eras<'a>,
}

impl<'a> Builder<'a> {
    fn new(approaches: usize) -> Self {
        Self {
            verdicts: Verdicts {
                of: vec![Verdict::default(); approaches],
                ..Verdicts::default()
            },
            numbers: BTreeMap::new(),
            eras: Eras::new(),
        }
    }

    fn add(
        &mut self,
        frame: &Frame<'_>,
        number: usize,
        row: &'a MeasurementRow,
        approach: &[MeasurementRow],
        seen: &Seen<'_>,
    ) {
        let judged = judged(frame.rows[number], row, approach);
        let mut verdict = Verdict::default();
        if judged == Judged::Evaluable {
            let key = (row.flight_id.as_str(), row.approach_no, row.rule.as_str());
            verdict = seen.0.get(&key).copied().unwrap_or_default();
        } else {
            verdict.reason = self.reason(row.reason.as_deref().unwrap_or_default());
        }
        verdict.judged = judged;
        self.verdicts.of[number] = verdict;
        self.verdicts.version = self.verdicts.version.max(Some(row.rule_version));
        if !self.verdicts.limits.contains(&row.limits_hash) {
            self.verdicts.limits.insert(row.limits_hash.clone());
        }
        let month = frame.stratum_of[number].month;
        if frame.is_known(month as usize) {
            let [_, aircraft_type, _, runway] = frame.groups_of[number];
            let place = self.eras.entry([aircraft_type, runway]).or_default();
            let approach = u32::try_from(number).unwrap_or(u32::MAX);
            let era = place
                .entry(month)
                .or_insert_with(|| (BTreeSet::new(), approach));
            era.0.insert((row.rule_version, row.limits_hash.as_str()));
        }
    }

    fn reason(&mut self, text: &'a str) -> u16 {
        if let Some(number) = self.numbers.get(text) {
            return *number;
        }
        let number = u16::try_from(self.verdicts.reasons.len()).unwrap_or(u16::MAX);
        // So many reasons there are not; if there were, the last would stand for all the rest.
        if number < u16::MAX {
            self.verdicts.reasons.push(text.to_owned());
            self.numbers.insert(text, number);
        }
        number.min(u16::MAX - 1)
    }

    fn done(mut self) -> Verdicts {
        for months in self.eras.values() {
            let mut before: Option<&BTreeSet<(u32, &str)>> = None;
            for (month, (era, approach)) in months {
                // Two at once: the change came within the month.
                if before.is_some_and(|before| before != era) || era.len() > 1 {
                    self.verdicts.changes.push(Change {
                        month: *month,
                        approach: *approach,
                    });
                }
                before = Some(era);
            }
        }
        self.verdicts.changes.sort_unstable();
        self.verdicts
    }
}

fn judged(flown: &ApproachRow, row: &MeasurementRow, approach: &[MeasurementRow]) -> Judged {
    if is_evaluable(row) {
        return Judged::Evaluable;
    }
    let reason = |rule: &str| {
        let found = approach.iter().find(|other| other.rule == rule);
        found.and_then(|other| other.reason.as_deref())
    };
    if row.status == "not_evaluable"
        && is_out_of_scope(flown, row.reason.as_deref().unwrap_or_default(), &reason)
    {
        Judged::OutOfScope
    } else {
        Judged::Unknown
    }
}

/// Whether the rule could have fired, and it is known whether it did.
pub(super) fn is_evaluable(measurement: &MeasurementRow) -> bool {
    matches!(measurement.status.as_str(), "event" | "clear")
}
