//! The checkpoint that decides: the earliest whose class tells the end about as well as any.

use std::collections::BTreeMap;

use records::energy::EnergyClass;
use stats::{Discrimination, Known, discrimination};

use super::super::SummaryOptions;
use super::super::group::Group;
use super::verdict::Ended;
use super::{CHECKPOINTS, DecisiveRow};

/// Folds of the cross-validation.
const FOLDS: usize = 5;
/// As good as the best: this much of the area under the curve (definition of the decisive checkpoint).
const NEARLY: f64 = 0.05;
/// With fewer approaches of either kind an area is a matter of luck: judgement.
const LEAST: usize = 20;
/// An area whose interval reaches down to this tells nothing.
const CHANCE: f64 = 0.5;

pub(super) fn decisive(ended: &[Ended<'_>], options: &SummaryOptions) -> Vec<DecisiveRow> {
    let mut groups: BTreeMap<Group, Vec<&Ended<'_>>> = BTreeMap::new();
    for one in ended {
        let [fleet, kind, airport, _] = Group::of(one.row);
        for group in [fleet, kind, airport] {
            groups.entry(group).or_default().push(one);
        }
    }
    groups
        .iter()
        .flat_map(|(group, members)| of_group(group, members, options))
        .collect()
}

fn of_group(group: &Group, members: &[&Ended<'_>], options: &SummaryOptions) -> Vec<DecisiveRow> {
    // Heights at and below the gate know the end already.
    let ahead = CHECKPOINTS.iter().filter(|checkpoint| {
        let height_ft: Option<f64> = checkpoint.strip_suffix("ft").and_then(|ft| ft.parse().ok());
        height_ft.is_none_or(|ft| ft > options.governing_gate_ft)
    });
    let found: Vec<(&str, Vec<Known>, Option<Discrimination>)> = ahead
        .map(|checkpoint| {
            let known: Vec<Known> = members
                .iter()
                .filter_map(|one| known(one, checkpoint))
                .collect();
            let area = enough(&known)
                .then(|| discrimination(&known, options.confidence))
                .flatten();
            (*checkpoint, known, area)
        })
        .collect();
    let best = found
        .iter()
        .filter_map(|(_, _, area)| area.map(|area| area.auc))
        .fold(f64::NEG_INFINITY, f64::max);
    let decides = found.iter().position(|(_, _, area)| {
        area.is_some_and(|area| area.auc >= best - NEARLY && area.low > CHANCE)
    });
    found
        .iter()
        .enumerate()
        .map(|(at, (checkpoint, known, area))| {
            let why = match area {
                None => Some("too few unstable or stable approaches"),
                Some(area) if area.low <= CHANCE => Some("tells no more than chance"),
                Some(_) => None,
            };
            DecisiveRow {
                decisive: decides == Some(at),
                why_not: why.map(str::to_owned),
                ..row(group, checkpoint, known, *area)
            }
        })
        .collect()
}

/// The approach at a checkpoint; flights stay together in a fold.
fn known(one: &Ended<'_>, checkpoint: &str) -> Option<Known> {
    let hash = blake3::hash(one.row.flight_id.as_bytes());
    Some(Known {
        class: one.class(checkpoint)?,
        fold: usize::from(hash.as_bytes()[0]) % FOLDS,
        outcome: one.unstable,
    })
}

fn enough(known: &[Known]) -> bool {
    let unstable = known.iter().filter(|one| one.outcome).count();
    unstable >= LEAST && known.len() - unstable >= LEAST
}

/// Counts stay away where there is no area: they may be small.
fn row(
    group: &Group,
    checkpoint: &str,
    known: &[Known],
    area: Option<Discrimination>,
) -> DecisiveRow {
    let unstable = known.iter().filter(|one| one.outcome).count();
    #[allow(clippy::cast_precision_loss)] // counts of approaches
    let share = |classes: &[EnergyClass]| {
        area?;
        let within = |one: &&Known| one.outcome && classes.contains(&EnergyClass::ALL[one.class]);
        Some(known.iter().filter(within).count() as f64 / unstable as f64)
    };
    let count = |n: usize| area.and_then(|_| i64::try_from(n).ok());
    DecisiveRow {
        group_kind: group.kind().to_owned(),
        group: group.name(),
        checkpoint: checkpoint.to_owned(),
        approaches: count(known.len()),
        unstable: count(unstable),
        auc: area.map(|area| area.auc),
        auc_low: area.map(|area| area.low),
        auc_high: area.map(|area| area.high),
        decisive: false,
        why_not: None,
        unstable_not_high_share: share(&[EnergyClass::Low, EnergyClass::OnProfile]),
        unstable_clean_share: share(&[EnergyClass::Clean]),
        unstable_drag_share: share(&[EnergyClass::Drag]),
        unstable_gear_share: share(&[EnergyClass::Gear]),
        unstable_beyond_share: share(&[EnergyClass::Beyond]),
    }
}
