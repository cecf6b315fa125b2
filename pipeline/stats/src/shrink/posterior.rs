//! What is known about one place's rate: Gamma(a + x, b + n).

use super::{Place, Prior};
use crate::numerics::{gamma_quantile_lower, gamma_tails};
use crate::usable_phi;

/// A place's rate after shrinking; rates per approach.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Posterior {
    /// Mean: the shrunk rate.
    pub mean: f64,
    /// 5 % quantile: the rate is above it with probability 0.95. `None` when pooled.
    pub low_5pct: Option<f64>,
    /// Probability that the rate is above the one compared with. `None` when pooled.
    pub prob_above_fleet: Option<f64>,
    /// Probability that the rate is above `ratio` times the one compared with. `None` when
    /// pooled.
    pub prob_above_ratio: Option<f64>,
}

/// The posterior of one place on effective counts.
///
/// `compared_with` is the rate to be above (the fleet's, or the rest of the fleet's),
/// `ratio` its multiple. `None` for unusable numbers.
#[must_use]
pub fn posterior(
    prior: &Prior,
    place: &Place,
    compared_with: f64,
    ratio: f64,
    phi: Option<f64>,
) -> Option<Posterior> {
    let phi = usable_phi(phi)?;
    if !place.is_sound() {
        return None;
    }
    let (a, b) = match *prior {
        Prior::Pooled { fleet } => {
            return Some(Posterior {
                mean: fleet,
                low_5pct: None,
                prob_above_fleet: None,
                prob_above_ratio: None,
            });
        }
        Prior::Gamma { shape, rate, .. } => (shape, rate),
    };
    let (x, n) = place.effective(phi);
    let (shape, rate) = (a + x, b + n);
    let above = |limit: f64| gamma_tails(shape, limit * rate).map(|tails| tails.upper);
    Some(Posterior {
        mean: shape / rate,
        low_5pct: Some(gamma_quantile_lower(shape, 0.05)? / rate),
        prob_above_fleet: Some(above(compared_with)?),
        prob_above_ratio: Some(above(ratio * compared_with)?),
    })
}
