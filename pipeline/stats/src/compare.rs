//! Two rates against each other: the exact conditional test and its ratio interval.
//!
//! Given the m approaches with an event in both periods together, those in the first are
//! Binomial(m, n₁/(n₁+n₂)) if the rates are equal. The p-value is the central one (twice the
//! smaller tail), so that it agrees with the interval: p < α exactly when the interval
//! misses 1. With φ the same formulas run on x/φ through the incomplete beta function.

use crate::numerics::{beta_odds_lower, beta_odds_upper, beta_tails};
use crate::{Counted, tail_of, usable_phi};

/// The first rate compared with the second.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Comparison {
    /// First rate over second; `None` when nothing was seen in the second.
    pub ratio: Option<f64>,
    /// Lower limit of the ratio; 0 when nothing was seen in the first.
    pub ratio_low: f64,
    /// Upper limit of the ratio; `None` when there is none (nothing seen in the second).
    pub ratio_high: Option<f64>,
    /// Two-sided central p-value, min(1, twice the smaller tail).
    pub p_central: f64,
    /// One-sided p-value for "the first rate is higher".
    pub p_higher: f64,
    /// One-sided p-value for "the first rate is lower".
    pub p_lower: f64,
}

/// Compares two independent rates, for example a month with the twelve before it.
///
/// The second must not contain the first. `confidence` as a fraction (0.95). Nothing seen on
/// either side gives p = 1 and the interval from 0 upwards. `None` when either side has no
/// evaluable approaches or numbers are unusable.
#[must_use]
pub fn compare(
    first: Counted,
    second: Counted,
    confidence: f64,
    phi: Option<f64>,
) -> Option<Comparison> {
    let tail = tail_of(confidence)?;
    let (p_higher, p_lower) = one_sided_p(first, second, 1.0, phi)?;
    let phi = usable_phi(phi)?;
    let (x1, x2) = (first.with_event / phi, second.with_event / phi);
    let exposure_odds = second.evaluable / first.evaluable;
    let ratio = (x2 > 0.0).then(|| first.with_event / second.with_event * exposure_odds);
    let ratio_low = if x1 > 0.0 {
        beta_odds_lower(x1, x2 + 1.0, tail)? * exposure_odds
    } else {
        0.0
    };
    let ratio_high = if x2 > 0.0 {
        Some(beta_odds_upper(x1 + 1.0, x2, tail)? * exposure_odds)
    } else {
        None
    };
    Some(Comparison {
        ratio: ratio.filter(|r| r.is_finite()),
        ratio_low,
        ratio_high: ratio_high.filter(|r| r.is_finite()),
        p_central: (2.0 * p_higher.min(p_lower)).min(1.0),
        p_higher,
        p_lower,
    })
}

/// The one-sided p-values (higher, lower) for a rate ratio against `null_ratio` (1: equal).
///
/// Each tail contains the observed count. `None` as for [`compare`], or when the null ratio
/// is not finite and positive.
#[must_use]
pub fn one_sided_p(
    first: Counted,
    second: Counted,
    null_ratio: f64,
    phi: Option<f64>,
) -> Option<(f64, f64)> {
    let phi = usable_phi(phi)?;
    let sound = first.is_sound()
        && second.is_sound()
        && first.evaluable > 0.0
        && second.evaluable > 0.0
        && null_ratio.is_finite()
        && null_ratio > 0.0;
    if !sound {
        return None;
    }
    let (x1, x2) = (first.with_event / phi, second.with_event / phi);
    let total = null_ratio * first.evaluable + second.evaluable;
    let p0 = null_ratio * first.evaluable / total;
    let q0 = second.evaluable / total;
    let higher = if x1 > 0.0 {
        beta_tails(x1, x2 + 1.0, p0, q0)?.lower
    } else {
        1.0
    };
    let lower = if x2 > 0.0 {
        beta_tails(x2, x1 + 1.0, q0, p0)?.lower
    } else {
        1.0
    };
    Some((higher, lower))
}
