//! Limits of a funnel: how far a place may lie from the whole by chance alone.

use crate::tail::{lower_tail, upper_tail};

/// Ratios of observed to expected between which a place with `expected` events lies with probability
/// `coverage` (0 to 1) if it is like the rest: lower and upper limit.
///
/// Counts are whole, so that no limit has the probability exactly; between two counts it is interpolated on
/// the distribution function (Spiegelhalter, Statistics in Medicine 24, 2005, appendix). Poisson, or
/// negative binomial where `phi` is above 1, as everywhere here. `None` where nothing is expected.
#[must_use]
pub fn funnel_limits(expected: f64, phi: Option<f64>, coverage: f64) -> Option<(f64, f64)> {
    if !(coverage > 0.0 && coverage < 1.0) {
        return None;
    }
    let side = (1.0 - coverage) / 2.0;
    let low = interpolated_count(expected, phi, side)?;
    let high = interpolated_count(expected, phi, 1.0 - side)?;
    Some((low.max(0.0) / expected, high / expected))
}

/// The count below which the share `p` (0 to 1) of the distribution lies, interpolated between whole counts; below
/// zero where even no event at all is more than that share. `None` where nothing is expected.
#[must_use]
pub fn interpolated_count(expected: f64, phi: Option<f64>, p: f64) -> Option<f64> {
    if !(expected > 0.0 && expected.is_finite() && p > 0.0 && p < 1.0) {
        return None;
    }
    // P(X ≤ k); through the upper tail where that is the smaller number of the two.
    let below = |k: f64| -> Option<f64> {
        if k < 0.0 {
            Some(0.0)
        } else if k > expected {
            upper_tail(k + 1.0, expected, phi).map(|above| 1.0 - above)
        } else {
            lower_tail(k, expected, phi)
        }
    };
    // The first whole count at which the share is reached, by halving.
    let mut short = -1.0;
    let mut reached = (expected + 1.0).ceil();
    while below(reached)? < p {
        short = reached;
        reached *= 2.0;
    }
    while reached - short > 1.0 {
        let middle = ((short + reached) / 2.0).floor();
        if below(middle)? < p {
            short = middle;
        } else {
            reached = middle;
        }
    }
    let (at, before) = (below(reached)?, below(reached - 1.0)?);
    let over = if at > before {
        (at - p) / (at - before)
    } else {
        0.0
    };
    Some(reached - over)
}
