//! The recoverability frontier: from which energy excess, down to which distance, a drag choice still led to
//! a stable gate.

use std::collections::{BTreeMap, BTreeSet};

use records::energy::ON_PROFILE_FT;
use stats::{Counted, quantile, rising_share, wilson};

use super::super::facts::{Channel, Moves};
use super::super::group::UNKNOWN;
use super::super::{FEW_FLIGHTS, SummaryOptions};
use super::RecoverabilityRow;
use super::verdict::Ended;

/// Bands of energy excess at the moment the drag came, ft: judgement.
const EXCESS_FT: [(f64, f64); 3] = [
    (ON_PROFILE_FT, 700.0),
    (700.0, 1_200.0),
    (1_200.0, f64::INFINITY),
];
/// Bands of mass over maximum landing mass: 0.95 is "heavy" in the trade (common practice, no source).
const MASS: [(f64, f64); 2] = [(0.0, 0.95), (0.95, f64::INFINITY)];
/// A choice still works where this share of approaches was stable: judgement.
const STABLE_SHARE: f64 = 0.9;

/// Type, mass band, drag, excess band.
type Cell<'a> = (&'a str, usize, &'static str, usize);

/// One row a type, mass band, drag and excess band that any approach was in.
pub(super) fn frontier(
    ended: &[Ended<'_>],
    moves: &Moves,
    options: &SummaryOptions,
) -> Vec<RecoverabilityRow> {
    let known: BTreeMap<usize, &Ended<'_>> = ended.iter().map(|one| (one.place, one)).collect();
    let mut cells: BTreeMap<Cell<'_>, Vec<(f64, bool, &str)>> = BTreeMap::new();
    let mut seen: BTreeSet<(usize, &str)> = BTreeSet::new();
    for row in moves.iter() {
        let drag = drag_of(row.channel);
        // The first time each is taken: what comes later is another story.
        if !seen.insert((row.approach, drag)) {
            continue;
        }
        let Some(one) = known.get(&row.approach) else {
            continue;
        };
        let (Some(distance_nm), Some(excess_ft), Some(mass)) =
            (row.distance_nm, row.energy_excess_ft, one.row.mass_ratio)
        else {
            continue;
        };
        let (Some(excess), Some(mass)) = (band(&EXCESS_FT, excess_ft), band(&MASS, mass)) else {
            continue;
        };
        let kind = one.row.aircraft_type.as_deref().unwrap_or(UNKNOWN);
        let flight = one.row.flight_id.as_str();
        let cell = cells.entry((kind, mass, drag, excess)).or_default();
        cell.push((distance_nm, !one.unstable, flight));
    }
    cells
        .into_iter()
        .map(|(cell, points)| row(cell, &points, options))
        .collect()
}

/// The drag that a lever brings.
fn drag_of(channel: Channel) -> &'static str {
    match channel {
        Channel::Flap => "flap",
        Channel::Speedbrake => "speedbrake",
        Channel::Gear => "gear",
    }
}

/// Whether approaches inside a distance were stable less often than those outside it by more than both
/// intervals: a fit finds an edge in any accident.
fn differ(outcomes: &[(f64, bool)], edge_nm: f64, options: &SummaryOptions) -> bool {
    let share = |inside: bool| {
        let own = outcomes.iter().filter(|one| (one.0 < edge_nm) == inside);
        let (stable, all) = own.fold((0.0, 0.0), |(stable, all), one| {
            (stable + f64::from(u8::from(one.1)), all + 1.0)
        });
        wilson(Counted::new(stable, all), options.confidence, None)
    };
    matches!((share(true), share(false)), (Some(inside), Some(outside)) if inside.high < outside.low)
}

fn band(bands: &[(f64, f64)], value: f64) -> Option<usize> {
    bands
        .iter()
        .position(|(from, to)| (*from..*to).contains(&value))
}

fn row(
    (kind, mass, drag, excess): Cell<'_>,
    points: &[(f64, bool, &str)],
    options: &SummaryOptions,
) -> RecoverabilityRow {
    let upper = |to: f64| to.is_finite().then_some(to);
    let row = RecoverabilityRow {
        aircraft_type: kind.to_owned(),
        mass_ratio_from: MASS[mass].0,
        mass_ratio_to: upper(MASS[mass].1),
        drag: drag.to_owned(),
        energy_excess_from_ft: EXCESS_FT[excess].0,
        energy_excess_to_ft: upper(EXCESS_FT[excess].1),
        ..RecoverabilityRow::default()
    };
    let flights: BTreeSet<&str> = points.iter().map(|point| point.2).collect();
    if flights.len() < options.min_flights {
        return RecoverabilityRow {
            suppressed: Some(FEW_FLIGHTS.to_owned()),
            ..row
        };
    }
    let outcomes: Vec<(f64, bool)> = points.iter().map(|point| (point.0, point.1)).collect();
    let mut distances: Vec<f64> = points.iter().map(|point| point.0).collect();
    distances.sort_by(f64::total_cmp);
    // Farther out there is more way to be stable in: the share can only rise with the distance.
    let fit = rising_share(&outcomes);
    let from = fit.iter().find(|(_, share)| *share >= STABLE_SHARE);
    let stable = points.iter().filter(|point| point.1).count();
    let limit = match from {
        None => "not reached",
        // Below the first place nothing is known: the choice worked wherever it was made.
        Some((nm, _)) if fit.first().is_some_and(|first| first.0 == *nm) => "worked throughout",
        Some((nm, _)) if differ(&outcomes, *nm, options) => "frontier",
        Some(_) => "none seen",
    };
    #[allow(clippy::cast_precision_loss)] // counts of approaches
    let counted = Counted::new(stable as f64, points.len() as f64);
    let share = wilson(counted, options.confidence, None);
    RecoverabilityRow {
        approaches: i64::try_from(points.len()).ok(),
        stable: i64::try_from(stable).ok(),
        stable_share: share.map(|share| share.share),
        ci_low: share.map(|share| share.low),
        ci_high: share.map(|share| share.high),
        taken_p10_nm: quantile(&distances, 0.1),
        taken_median_nm: quantile(&distances, 0.5),
        taken_p90_nm: quantile(&distances, 0.9),
        // The place itself is one approach's: to half a mile it is that of several.
        frontier_nm: from
            .filter(|_| limit == "frontier")
            .map(|(nm, _)| (nm * 2.0).ceil() / 2.0),
        limit: Some(limit.to_owned()),
        ..row
    }
}
