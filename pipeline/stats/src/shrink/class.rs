//! From posteriors to a short list: class and rank of every place.

use super::{Place, Posterior, Prior, fit_prior, posterior};
use std::cmp::Ordering;

/// What makes a place eligible, a hot spot or one to watch. Judgement, not a standard:
/// configurable, and to be printed beside the result.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thresholds {
    /// Fewest evaluable approaches of an eligible place.
    pub min_evaluable: f64,
    /// Fewest approaches with an event of an eligible place.
    pub min_with_event: f64,
    /// A hot spot is above this multiple of the fleet's rate …
    pub hot_ratio: f64,
    /// … with at least this probability.
    pub hot_probability: f64,
    /// A place to watch is above the fleet's rate with at least this probability.
    pub watch_probability: f64,
    /// A place with more than this share of all exposure is compared with the (shrunk) rate of
    /// the rest, as it would otherwise be compared mostly with itself. 1 switches this off.
    pub dominant_share: f64,
}

impl Default for Thresholds {
    fn default() -> Self {
        Self {
            min_evaluable: 100.0,
            min_with_event: 3.0,
            hot_ratio: 1.5,
            hot_probability: 0.80,
            watch_probability: 0.95,
            dominant_share: 0.30,
        }
    }
}

/// What is said about a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Class {
    /// Very likely well above the fleet.
    HotSpot,
    /// Very likely above the fleet.
    Watch,
    /// Nothing stands out.
    NotElevated,
    /// Too few approaches to say.
    InsufficientData,
}

impl Class {
    /// The words used in tables.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            Self::HotSpot => "hot spot",
            Self::Watch => "watch",
            Self::NotElevated => "not elevated",
            Self::InsufficientData => "insufficient data",
        }
    }
}

/// One place's line, in the order the places were given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HotSpot {
    /// The shrunk rate; `None` without exposure or when no spread could be fitted.
    pub posterior: Option<Posterior>,
    /// Rate per approach it was compared with; `None` as for the posterior.
    pub compared_with: Option<f64>,
    /// What is said about it.
    pub class: Class,
    /// 1 for the highest posterior 5 % quantile among the eligible; `None` for the others.
    pub rank: Option<usize>,
}

/// Shrinks, classes and ranks all places of one kind for one rule.
///
/// Ties in rank go to the higher raw rate, then to more exposure, then to the place given
/// first: sort the places by name beforehand. `None` for unusable numbers.
#[must_use]
pub fn hot_spots(
    places: &[Place],
    phi: Option<f64>,
    thresholds: &Thresholds,
) -> Option<Vec<HotSpot>> {
    crate::usable_phi(phi)?;
    if !places.iter().all(Place::is_sound) {
        return None;
    }
    let prior = fit_prior(places, phi);
    let mut lines: Vec<HotSpot> = places
        .iter()
        .map(|place| line(place, places, prior.as_ref(), phi, thresholds))
        .collect();
    rank(places, &mut lines, thresholds);
    Some(lines)
}

fn line(
    place: &Place,
    places: &[Place],
    prior: Option<&Prior>,
    phi: Option<f64>,
    thresholds: &Thresholds,
) -> HotSpot {
    let found = prior.filter(|_| place.exposure > 0.0).and_then(|prior| {
        let compared_with = rate_compared_with(place, places, prior, phi, thresholds)?;
        let posterior = posterior(prior, place, compared_with, thresholds.hot_ratio, phi)?;
        Some((posterior, compared_with))
    });
    HotSpot {
        posterior: found.map(|(posterior, _)| posterior),
        compared_with: found.map(|(_, rate)| rate),
        class: class(place, found.map(|(posterior, _)| posterior), thresholds),
        rank: None,
    }
}

/// The fleet's rate, or for a dominant place the rate of all others together.
///
/// The others' rate is shrunk like any place's: they may be few, and a rate of 0 among them
/// would otherwise put every dominant place above it with certainty.
fn rate_compared_with(
    place: &Place,
    places: &[Place],
    prior: &Prior,
    phi: Option<f64>,
    thresholds: &Thresholds,
) -> Option<f64> {
    let others = places
        .iter()
        .filter(|p| p.exposure > 0.0)
        .fold(Place::plain(0.0, 0.0), |sum, p| sum.plus(p, 1.0))
        .plus(place, -1.0);
    let all = others.exposure + place.exposure;
    if place.exposure <= thresholds.dominant_share * all || others.exposure <= 0.0 {
        return Some(prior.fleet());
    }
    posterior(prior, &others, prior.fleet(), 1.0, phi).map(|others| others.mean)
}

fn is_eligible(place: &Place, thresholds: &Thresholds) -> bool {
    place.evaluable >= thresholds.min_evaluable && place.with_event >= thresholds.min_with_event
}

fn class(place: &Place, posterior: Option<Posterior>, thresholds: &Thresholds) -> Class {
    if place.evaluable < thresholds.min_evaluable || place.exposure <= 0.0 {
        return Class::InsufficientData;
    }
    if !is_eligible(place, thresholds) {
        return Class::NotElevated;
    }
    // A single place has nothing to be compared with.
    let Some(posterior) = posterior else {
        return Class::InsufficientData;
    };
    let reaches = |probability: Option<f64>, limit: f64| probability.is_some_and(|p| p >= limit);
    if reaches(posterior.prob_above_ratio, thresholds.hot_probability) {
        Class::HotSpot
    } else if reaches(posterior.prob_above_fleet, thresholds.watch_probability) {
        Class::Watch
    } else {
        Class::NotElevated
    }
}

/// Numbers the eligible places from the highest posterior 5 % quantile down.
fn rank(places: &[Place], lines: &mut [HotSpot], thresholds: &Thresholds) {
    let mut order: Vec<(usize, f64)> = lines
        .iter()
        .enumerate()
        .filter(|(i, _)| is_eligible(&places[*i], thresholds))
        .filter_map(|(i, line)| Some((i, line.posterior?.low_5pct?)))
        .collect();
    order.sort_by(|(i, low_i), (j, low_j)| {
        low_j
            .total_cmp(low_i)
            .then_with(|| tie(&places[*i], &places[*j]))
            .then(i.cmp(j))
    });
    for (position, (i, _)) in order.into_iter().enumerate() {
        lines[i].rank = Some(position + 1);
    }
}

fn tie(one: &Place, other: &Place) -> Ordering {
    let rate = |place: &Place| place.with_event / place.exposure;
    rate(other)
        .total_cmp(&rate(one))
        .then(other.exposure.total_cmp(&one.exposure))
}
