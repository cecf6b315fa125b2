//! What each rule says of each approach, and what a set of rules says together.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use rayon::prelude::*;

use super::count::LEVELS;
use super::facts::{Cell, Measured, OfRule, Said};
use super::frame::Frame;
use crate::judge::is_out_of_scope;
use crate::rows::EventRow;

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
    pub(super) reasons: Arc<[String]>,
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

/// The verdicts of every rule that has seen a line approach. Rules are taken side by side; none depends on another.
pub(super) fn by_rule(
    frame: &Frame<'_>,
    measured: &Measured,
    events: &[EventRow],
) -> BTreeMap<String, Verdicts> {
    let seen = Seen::new(frame, events);
    let reasons = measured.reasons();
    let rules: Vec<(String, Option<Verdicts>)> = measured
        .rules()
        .into_par_iter()
        .map(|(name, rule)| {
            let of_rule = Seeing {
                frame,
                measured,
                rule,
                seen: seen.0.get(name),
            };
            (name.to_owned(), of_rule.verdicts(&reasons))
        })
        .collect();
    let known = rules.into_iter();
    known
        .filter_map(|(name, verdicts)| Some((name, verdicts?)))
        .collect()
}

/// Several rules taken as one: it could have fired where one of them could, and fired where one did.
pub(super) fn together<'a>(members: impl Iterator<Item = &'a Verdicts>) -> Verdicts {
    const NONE_COULD: &str = "none of its rules could be judged";
    let mut all = Verdicts {
        reasons: Arc::from([NONE_COULD.to_owned()]),
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

/// Events that count, by rule and by the number of the line approach.
struct Seen<'a>(BTreeMap<&'a str, HashMap<usize, Verdict>>);

impl<'a> Seen<'a> {
    fn new(frame: &Frame<'_>, events: &'a [EventRow]) -> Self {
        let mut seen: BTreeMap<&str, HashMap<usize, Verdict>> = BTreeMap::new();
        for event in events.iter().filter(|event| !event.partial) {
            let Some(level) = LEVELS.iter().position(|level| *level == event.level) else {
                continue;
            };
            let Some(approach) = frame.number_of(&event.flight_id, event.approach_no) else {
                continue;
            };
            let of_rule = seen.entry(event.rule.as_str()).or_default();
            let entry = of_rule.entry(approach).or_default();
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

/// One rule, and what there is to see of it.
struct Seeing<'a> {
    frame: &'a Frame<'a>,
    measured: &'a Measured,
    rule: &'a OfRule,
    seen: Option<&'a HashMap<usize, Verdict>>,
}

impl Seeing<'_> {
    /// What it says of every line approach; none where it says nothing of any.
    fn verdicts(&self, reasons: &Arc<[String]>) -> Option<Verdicts> {
        let cells = || {
            self.frame
                .places
                .iter()
                .map(|place| self.rule.cells[*place])
        };
        let eras: BTreeSet<u16> = cells()
            .filter(|cell| cell.said != Said::Nothing)
            .map(|cell| cell.era)
            .collect();
        if eras.is_empty() {
            return None;
        }
        let of = cells()
            .enumerate()
            .map(|(number, cell)| self.verdict(number, cell));
        let own = eras.iter().map(|era| self.rule.eras[usize::from(*era)]);
        Some(Verdicts {
            of: of.collect(),
            reasons: Arc::clone(reasons),
            version: own.clone().map(|(version, _)| version).max(),
            limits: own
                .map(|(_, limits)| self.measured.limits(limits).to_owned())
                .collect(),
            changes: if eras.len() > 1 {
                self.changes()
            } else {
                Vec::new()
            },
        })
    }

    fn verdict(&self, number: usize, cell: Cell) -> Verdict {
        let judged = self.judged(number, cell);
        let mut verdict = Verdict::default();
        match judged {
            Judged::Absent => {}
            Judged::Evaluable => {
                let seen = self.seen.and_then(|seen| seen.get(&number));
                verdict = seen.copied().unwrap_or_default();
            }
            Judged::OutOfScope | Judged::Unknown => verdict.reason = cell.reason,
        }
        verdict.judged = judged;
        verdict
    }

    fn judged(&self, number: usize, cell: Cell) -> Judged {
        match cell.said {
            Said::Nothing => Judged::Absent,
            Said::Event | Said::Clear => Judged::Evaluable,
            Said::Other => Judged::Unknown,
            Said::NotEvaluable => {
                // Outcomes are out of scope where the rules they read are, whichever file these stand in.
                let place = self.frame.places[number];
                let reason_of = |rule: &str| self.measured.reason_at(rule, place);
                let reason = self.measured.reason(cell).unwrap_or_default();
                if is_out_of_scope(self.frame.rows[number], reason, &reason_of) {
                    Judged::OutOfScope
                } else {
                    Judged::Unknown
                }
            }
        }
    }

    /// Where version or limits changed from one month to the next in the same place.
    fn changes(&self) -> Vec<Change> {
        // By month: the eras met, and the first approach.
        type Months = BTreeMap<u32, (BTreeSet<u16>, u32)>;
        let mut places: BTreeMap<[u32; 2], Months> = BTreeMap::new();
        for (number, place) in self.frame.places.iter().enumerate() {
            let cell = self.rule.cells[*place];
            let month = self.frame.stratum_of[number].month;
            if cell.said == Said::Nothing || !self.frame.is_known(month as usize) {
                continue;
            }
            let [_, aircraft_type, _, runway] = self.frame.groups_of[number];
            let months = places.entry([aircraft_type, runway]).or_default();
            let approach = u32::try_from(number).unwrap_or(u32::MAX);
            let era = months
                .entry(month)
                .or_insert_with(|| (BTreeSet::new(), approach));
            era.0.insert(cell.era);
        }
        let mut changes = Vec::new();
        for months in places.values() {
            let mut before: Option<&BTreeSet<u16>> = None;
            for (month, (era, approach)) in months {
                // Two at once: the change came within the month.
                if before.is_some_and(|before| before != era) || era.len() > 1 {
                    changes.push(Change {
                        month: *month,
                        approach: *approach,
                    });
                }
                before = Some(era);
            }
        }
        changes.sort_unstable();
        changes
    }
}
