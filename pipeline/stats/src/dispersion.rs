//! How much more than independent approaches the counts vary: φ, 1 when they don't.
//!
//! Estimated per rule over the whole fleet: per-cell estimates are too noisy.

use crate::Counted;
use crate::numerics::chi_squared_upper;

/// Fewest periods from which a series says anything about φ.
pub const FEWEST_PERIODS: usize = 12;

/// Approaches that share something (one tail on one day, one airport on one day).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cluster {
    /// Evaluable approaches in the cluster.
    pub evaluable: u64,
    /// Those with at least one event.
    pub with_event: u64,
}

/// φ of a baseline series with its test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeriesDispersion {
    /// Pearson's φ, before it is raised to 1.
    pub phi: f64,
    /// Pearson's χ².
    pub chi_squared: f64,
    /// Degrees of freedom.
    pub degrees_of_freedom: usize,
    /// P(χ² at least this large) if the counts were Poisson.
    pub p: f64,
}

/// φ of clusters within groups (months): each cluster is held against the share of its own group, so that a rate
/// which differs between groups is no dispersion.
///
/// Σ(s−mp)² over all clusters, p the share of the group, over what independent approaches would give for as many
/// estimated shares: Σ pq·n/(n−1)·(n − Σm²/n), n the approaches of the group. Not raised to 1. Empty clusters are
/// left out; groups of fewer than two clusters say nothing. `None` where no group says anything, when no or every
/// approach has an event, when no cluster holds two approaches (then nothing could show clustering), or when a
/// cluster has more events than approaches.
#[must_use]
pub fn phi_within(groups: &[Vec<Cluster>]) -> Option<f64> {
    let (mut observed, mut expected, mut told) = (0.0, 0.0, false);
    for group in groups {
        let held: Vec<&Cluster> = group.iter().filter(|c| c.evaluable > 0).collect();
        if held.iter().any(|c| c.with_event > c.evaluable) {
            return None;
        }
        if held.len() < 2 {
            continue;
        }
        let n: f64 = held.iter().map(|c| c.evaluable as f64).sum();
        let p = held.iter().map(|c| c.with_event as f64).sum::<f64>() / n;
        let squares: f64 = held.iter().map(|c| (c.evaluable as f64).powi(2)).sum();
        expected += p * (1.0 - p) * n / (n - 1.0) * (n - squares / n);
        let apart = |c: &&Cluster| (c.with_event as f64 - c.evaluable as f64 * p).powi(2);
        observed += held.iter().map(apart).sum::<f64>();
        told |= held.iter().any(|c| c.evaluable > 1);
    }
    (told && expected > 0.0).then(|| observed / expected)
}

/// Pearson's φ of a series against its own constant rate; periods without approaches are gaps.
///
/// Not raised to 1. A trend inflates it: see [`phi_from_expected`]. `None` with fewer than
/// [`FEWEST_PERIODS`] periods left, without any event, or for unusable numbers.
#[must_use]
pub fn phi_from_series(series: &[Counted]) -> Option<SeriesDispersion> {
    if !series.iter().all(Counted::is_sound) {
        return None;
    }
    let events: f64 = series
        .iter()
        .filter(|c| c.evaluable > 0.0)
        .map(|c| c.with_event)
        .sum();
    let approaches: f64 = series.iter().map(|c| c.evaluable).sum();
    let rate = events / approaches;
    let pairs: Vec<(f64, f64)> = series
        .iter()
        .filter(|c| c.evaluable > 0.0)
        .map(|c| (c.with_event, rate * c.evaluable))
        .collect();
    phi_from_expected(&pairs, 1)
}

/// Pearson's φ of (observed, expected) counts of a model with `fitted` parameters.
///
/// With a fitted trend (two parameters) a real trend is not taken for noise. `None` with
/// fewer than [`FEWEST_PERIODS`] pairs or an expected count that is not above zero.
#[must_use]
pub fn phi_from_expected(pairs: &[(f64, f64)], fitted: usize) -> Option<SeriesDispersion> {
    let sound = pairs
        .iter()
        .all(|(o, e)| crate::is_count(*o) && e.is_finite() && *e > 0.0);
    if !sound || pairs.len() < FEWEST_PERIODS || pairs.len() <= fitted {
        return None;
    }
    let degrees_of_freedom = pairs.len() - fitted;
    let chi_squared: f64 = pairs.iter().map(|(o, e)| (o - e).powi(2) / e).sum();
    Some(SeriesDispersion {
        phi: chi_squared / degrees_of_freedom as f64,
        chi_squared,
        degrees_of_freedom,
        p: chi_squared_upper(chi_squared, degrees_of_freedom as f64)?,
    })
}

/// The φ to use: the largest of those known, raised to 1; `None` when none is known.
#[must_use]
pub fn choose_phi(estimates: &[Option<f64>]) -> Option<f64> {
    estimates
        .iter()
        .flatten()
        .copied()
        .filter(|phi| phi.is_finite())
        .reduce(f64::max)
        .map(|phi| phi.max(1.0))
}
