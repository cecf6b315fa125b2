//! The spread of rates between places: boundary test, then one-parameter maximum likelihood.

use super::Place;
use crate::numerics::{bisect, digamma};
use crate::usable_phi;

/// The fleet's rate and how places scatter around it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Prior {
    /// The places differ no more than chance: each has the fleet's rate.
    Pooled {
        /// Rate per approach over all places.
        fleet: f64,
    },
    /// Rates follow Gamma(shape, rate) with mean shape/rate = fleet.
    Gamma {
        /// Shape a: large where places are alike.
        shape: f64,
        /// Rate b = a/fleet, in approaches.
        rate: f64,
        /// Rate per approach over all places.
        fleet: f64,
    },
}

impl Prior {
    /// Rate per approach over all places.
    #[must_use]
    pub fn fleet(&self) -> f64 {
        match self {
            Self::Pooled { fleet } | Self::Gamma { fleet, .. } => *fleet,
        }
    }
}

/// Search range of ln(shape). Above e¹⁷ (2·10⁷) places differ by less than 0.03 %, which is
/// told apart from no difference by no count.
const LN_SHAPE: (f64, f64) = (-14.0, 17.0);
/// Width of the steps in which the range is searched for the first maximum.
const LN_SHAPE_STEP: f64 = 0.25;

/// T = Σ[(x−mn)²−x] on effective counts: zero or less means no variation beyond chance.
///
/// `None` without any exposure or for unusable numbers. Places without exposure are left out.
#[must_use]
pub fn excess_variation(places: &[Place], phi: Option<f64>) -> Option<f64> {
    let (counts, fleet) = effective_counts(places, phi)?;
    Some(excess(&counts, fleet))
}

fn excess(counts: &[(f64, f64)], fleet: f64) -> f64 {
    counts
        .iter()
        .map(|(x, n)| (x - fleet * n).powi(2) - x)
        .sum()
}

/// Fits the spread of rates with the mean held at the fleet's rate (b = a/m).
///
/// Holding the mean keeps a place without data from looking elevated. `None` with fewer than
/// two places that have exposure, or for unusable numbers.
#[must_use]
pub fn fit_prior(places: &[Place], phi: Option<f64>) -> Option<Prior> {
    let (counts, fleet) = effective_counts(places, phi)?;
    if counts.len() < 2 {
        return None;
    }
    if excess(&counts, fleet) <= 0.0 {
        return Some(Prior::Pooled { fleet });
    }
    let slope = |ln_shape: f64| score(&counts, fleet, ln_shape.exp());
    let mut low = LN_SHAPE.0;
    while low < LN_SHAPE.1 {
        let high = low + LN_SHAPE_STEP;
        if slope(low) > 0.0 && slope(high) <= 0.0 {
            let shape = bisect(low, high, slope)?.exp();
            return Some(Prior::Gamma {
                shape,
                rate: shape / fleet,
                fleet,
            });
        }
        low = high;
    }
    Some(Prior::Pooled { fleet })
}

/// Derivative of the log-likelihood by the shape a, with b = a/m:
/// Σ ψ(a+x) − ψ(a) − ln(1 + E/a) + (E−x)/(a+E), where E = mn.
fn score(counts: &[(f64, f64)], fleet: f64, shape: f64) -> f64 {
    let at_shape = digamma(shape);
    counts
        .iter()
        .map(|(x, n)| {
            let expected = fleet * n;
            digamma(shape + x) - at_shape - (expected / shape).ln_1p()
                + (expected - x) / (shape + expected)
        })
        .sum()
}

/// Effective counts of the places with exposure, and the fleet's rate.
fn effective_counts(places: &[Place], phi: Option<f64>) -> Option<(Vec<(f64, f64)>, f64)> {
    let phi = usable_phi(phi)?;
    if !places.iter().all(Place::is_sound) {
        return None;
    }
    let counts: Vec<(f64, f64)> = places
        .iter()
        .filter(|p| p.exposure > 0.0)
        .map(|p| p.effective(phi))
        .collect();
    let events: f64 = counts.iter().map(|(x, _)| x).sum();
    let exposure: f64 = counts.iter().map(|(_, n)| n).sum();
    (exposure > 0.0).then(|| (counts, events / exposure))
}
