//! Airports and runways compared, rule by rule: shrunk, classed and ranked.
//!
//! All places take part in the fit, suppressed ones too: what is shown of the others does not
//! depend on who looks. Places that are not known by name are left out.

use stats::{Place, Thresholds, hot_spots};

use super::count::{Cells, Tally};
use super::group::{Group, UNKNOWN};
use super::rows::HotspotRow;
use super::suppress::Mask;
use super::{Shown, SummaryOptions};

pub(super) fn hotspots(
    rule: (&str, &str),
    cells: &Cells,
    mask: &Mask,
    options: &SummaryOptions,
    phi: Option<f64>,
) -> Vec<HotspotRow> {
    let mut rows = Vec::new();
    for kind in ["airport", "runway"] {
        let places: Vec<(&Group, &Tally)> = cells
            .total
            .iter()
            .filter(|(group, _)| group.kind() == kind && is_named(group))
            .collect();
        rows.extend(ranked(rule, &places, mask, options, phi));
    }
    rows
}

fn is_named(group: &Group) -> bool {
    match group {
        Group::Airport(airport) => airport != UNKNOWN,
        Group::Runway(airport, runway) => airport != UNKNOWN && runway != UNKNOWN,
        _ => false,
    }
}

fn ranked(
    (rule, status): (&str, &str),
    places: &[(&Group, &Tally)],
    mask: &Mask,
    options: &SummaryOptions,
    phi: Option<f64>,
) -> Vec<HotspotRow> {
    const ANY_LEVEL: usize = 0;
    #[allow(clippy::cast_precision_loss)] // counts of approaches
    let counted: Vec<Place> = places
        .iter()
        .map(|(_, tally)| Place::plain(tally.at_least[ANY_LEVEL] as f64, tally.evaluable as f64))
        .collect();
    let found = hot_spots(&counted, phi, &Thresholds::default());
    places
        .iter()
        .enumerate()
        .map(|(index, (group, tally))| {
            let hidden = mask.hides_total(group);
            let shown = Shown::new(tally, ANY_LEVEL, options, phi).unless(hidden);
            let spot = found
                .as_ref()
                .map(|spots| spots[index])
                .filter(|_| hidden.is_none());
            let posterior = spot.and_then(|spot| spot.posterior);
            let (airport, runway) = match group {
                Group::Runway(airport, runway) => (airport.clone(), Some(runway.clone())),
                other => (other.name(), None),
            };
            HotspotRow {
                airport,
                runway,
                rule: rule.to_owned(),
                rule_status: status.to_owned(),
                evaluable: shown.evaluable,
                approaches_with_event: shown.approaches_with_event,
                rate_per_1000: shown.rate.map(|rate| rate.per_1000),
                ci_low: shown.rate.map(|rate| rate.low),
                ci_high: shown.rate.map(|rate| rate.high),
                expected: None,
                standardised_ratio: None,
                shrunk_rate: posterior.map(|posterior| three_digits(1000.0 * posterior.mean)),
                shrunk_low_5pct: posterior
                    .and_then(|posterior| posterior.low_5pct)
                    .map(|low| three_digits(1000.0 * low)),
                prob_above_fleet: posterior.and_then(|posterior| posterior.prob_above_fleet),
                prob_above_1_5x: posterior.and_then(|posterior| posterior.prob_above_ratio),
                // A rule on trial flags no place.
                class: spot
                    .filter(|_| status != "trial")
                    .map(|spot| spot.class.label().to_owned()),
                rank: spot
                    .filter(|_| status != "trial")
                    .and_then(|spot| spot.rank)
                    .and_then(|rank| i64::try_from(rank).ok()),
                suppressed: hidden.map(str::to_owned),
            }
        })
        .collect()
}

/// Shrunk rates rest on all places, hidden ones too: more digits would let these be solved for.
fn three_digits(value: f64) -> f64 {
    format!("{value:.2e}").parse().unwrap_or(value)
}
