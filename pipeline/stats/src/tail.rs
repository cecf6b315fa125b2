//! How surprising a count is at a known expected count: the exact tails.
//!
//! Right also for small counts, where "three sigma" is wrong by a factor of two to four.

use crate::numerics::{beta_tails, gamma_tails};
use crate::{is_count, usable_phi};

/// P(X ≥ observed) at an expected count: Poisson for φ = 1, otherwise negative binomial with
/// that mean and variance φ·mean (size = E/(φ−1), probability 1/φ).
///
/// `None` when the expected count is not above zero, or numbers are unusable.
#[must_use]
pub fn upper_tail(observed: f64, expected: f64, phi: Option<f64>) -> Option<f64> {
    let phi = usable_phi(phi)?;
    if !is_count(observed) || !expected.is_finite() || expected <= 0.0 {
        return None;
    }
    if observed == 0.0 {
        return Some(1.0);
    }
    let size = expected / (phi - 1.0);
    if size.is_infinite() {
        return gamma_tails(observed, expected).map(|tails| tails.lower);
    }
    beta_tails(observed, size, (phi - 1.0) / phi, 1.0 / phi).map(|tails| tails.lower)
}

/// P(X ≤ observed) at an expected count, as [`upper_tail`]; not its complement: both contain the observed
/// count, and each keeps its own relative accuracy.
#[must_use]
pub fn lower_tail(observed: f64, expected: f64, phi: Option<f64>) -> Option<f64> {
    let phi = usable_phi(phi)?;
    if !is_count(observed) || !expected.is_finite() || expected <= 0.0 {
        return None;
    }
    let size = expected / (phi - 1.0);
    if size.is_infinite() {
        return gamma_tails(observed + 1.0, expected).map(|tails| tails.upper);
    }
    beta_tails(observed + 1.0, size, (phi - 1.0) / phi, 1.0 / phi).map(|tails| tails.upper)
}
