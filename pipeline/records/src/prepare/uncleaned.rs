//! What the samples of an approach were before quality made some of them unknown.
//!
//! A sample that was taken out may have been true. What it would have shown is kept beside the
//! approach, so that rules can be asked what they would have said; nothing else ever reads it.

use std::collections::{BTreeMap, BTreeSet};

use crate::catalogue::Kind;
use crate::derive::Columns;
use crate::fleet::Fleet;
use crate::flight::{Channel, RawFlight};
use crate::samples::storable;

use super::{Plan, columns};

/// The channels of a flight as they came, to be compared with what cleaning leaves of them.
pub(super) struct Before {
    channels: BTreeMap<String, (Vec<f64>, f64)>,
}

/// The channels of which something was taken out, as they were.
pub(super) struct Uncleaned {
    channels: BTreeMap<String, Channel>,
    /// Times of what was taken out, ascending.
    taken_s: BTreeMap<String, Vec<f64>>,
}

/// A sample this long before an approach, or after what is stored of it, may still show in it.
const REACH_S: f64 = 20.0;

impl Before {
    pub(super) fn of(raw: &RawFlight) -> Self {
        let channels = raw.channels.iter();
        let kept = channels.map(|(name, c)| (name.clone(), (c.value.clone(), c.interval_s)));
        Self {
            channels: kept.collect(),
        }
    }

    /// Leaves out a channel that was refused as a whole: it is mapped wrongly, and its values say
    /// nothing, taken out or not.
    pub(super) fn forget(&mut self, name: &str) {
        self.channels.remove(name);
    }

    /// Compares with the cleaned flight. What is not finite was no value before either.
    pub(super) fn uncleaned(self, raw: &RawFlight, fleet: &Fleet) -> Uncleaned {
        let mut uncleaned = Uncleaned {
            channels: BTreeMap::new(),
            taken_s: BTreeMap::new(),
        };
        for (name, (before, interval_s)) in self.channels {
            let Some(channel) = raw.channels.get(&name) else {
                continue;
            };
            let circular = fleet
                .catalogue
                .lookup(&name)
                .is_some_and(|parameter| parameter.kind == Kind::Circular);
            let mut taken_s = Vec::new();
            let mut value = channel.value.clone();
            for (i, now) in value.iter_mut().enumerate() {
                let Some(&was) = before.get(i).filter(|was| now.is_nan() && was.is_finite()) else {
                    continue;
                };
                *now = if circular { was.rem_euclid(360.0) } else { was };
                taken_s.push(channel.time_s[i]);
            }
            if taken_s.is_empty() {
                continue;
            }
            let channel = Channel {
                time_s: channel.time_s.clone(),
                value,
                interval_s,
                holds: channel.holds,
            };
            uncleaned.channels.insert(name.clone(), channel);
            uncleaned.taken_s.insert(name, taken_s);
        }
        uncleaned
    }
}

impl Uncleaned {
    /// The columns of an approach with what was taken out, and the parameters it was taken from; none
    /// where nothing that is stored would differ.
    pub(super) fn approach(
        &self,
        cleaned: &Columns,
        raw: &RawFlight,
        fleet: &Fleet,
        plan: &Plan<'_>,
    ) -> Option<(Vec<String>, Columns)> {
        let (from_s, to_s) = (plan.start_s - REACH_S, plan.stored_to_s + REACH_S);
        let near = |times: &[f64]| {
            let first = times.partition_point(|&t| t < from_s);
            times.get(first).is_some_and(|&t| t <= to_s)
        };
        let names: Vec<String> = self
            .taken_s
            .iter()
            .filter(|(_, times)| near(times))
            .map(|(name, _)| name.clone())
            .collect();
        if names.is_empty() {
            return None;
        }
        let mut channels = raw.channels.clone();
        for name in &names {
            channels.insert(name.clone(), self.channels.get(name)?.clone());
        }
        let other = RawFlight {
            file: raw.file.clone(),
            header: raw.header.clone(),
            channels,
            quality: Vec::new(),
        };
        let columns = columns::otherwise(cleaned, &other, fleet, plan);
        let differing: BTreeSet<&String> = columns
            .columns
            .iter()
            .filter(|(name, values)| differ(values, cleaned.columns.get(*name)))
            .map(|(name, _)| name)
            .collect();
        let names: Vec<String> = names
            .into_iter()
            .filter(|name| shows(name, &differing))
            .collect();
        (!names.is_empty()).then_some((names, columns))
    }
}

/// Whether a parameter, or its peaks, are among the columns that differ.
fn shows(parameter: &str, differing: &BTreeSet<&String>) -> bool {
    differing.iter().any(|column| {
        let rest = column.strip_prefix(parameter);
        rest.is_some_and(|rest| matches!(rest, "" | "_max" | "_min"))
    })
}

/// Whether two columns differ in what is stored of them.
fn differ(values: &[f64], others: Option<&Vec<f64>>) -> bool {
    let stored = |values: &[f64], k: usize| values.get(k).copied().and_then(storable);
    let others = others.map_or(&[][..], Vec::as_slice);
    (0..values.len()).any(|k| stored(values, k) != stored(others, k))
}
