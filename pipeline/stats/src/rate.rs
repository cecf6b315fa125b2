//! Rates per 1,000 approaches with the exact Poisson interval of Garwood (1936).

use crate::numerics::{gamma_quantile_lower, gamma_quantile_upper, normal_quantile_upper};
use crate::{Counted, is_count, tail_of, usable_phi};

/// A two-sided interval with both ends known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
}

/// A rate per 1,000 evaluable approaches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rate {
    /// Approaches with an event per 1,000 evaluable approaches.
    pub per_1000: f64,
    /// Lower limit per 1,000.
    pub low: f64,
    /// Upper limit per 1,000.
    pub high: f64,
}

/// The rate per 1,000 with Garwood's interval on effective counts.
///
/// `confidence` as a fraction (0.95). Nothing seen gives a rate of 0 *with* an upper limit.
/// `None` without evaluable approaches, for negative or non-finite numbers, or a confidence
/// outside 0 to 1.
#[must_use]
pub fn rate_per_1000(counted: Counted, confidence: f64, phi: Option<f64>) -> Option<Rate> {
    let scale = per_1000(counted)?;
    let limits = garwood(counted.with_event, confidence, phi)?;
    Some(Rate {
        per_1000: counted.with_event * scale,
        low: limits.low * scale,
        high: limits.high * scale,
    })
}

/// The one-sided upper limit per 1,000: "at most this, with that confidence".
///
/// Conditions as for [`rate_per_1000`].
#[must_use]
pub fn upper_limit_per_1000(counted: Counted, confidence: f64, phi: Option<f64>) -> Option<f64> {
    let scale = per_1000(counted)?;
    tail_of(confidence)?;
    Some(upper(counted.with_event, 1.0 - confidence, usable_phi(phi)?)? * scale)
}

/// Garwood's exact interval for the mean of a Poisson count.
///
/// With φ: L = φ·Γ⁻¹(α/2; x/φ), U = φ·Γ⁻¹(1−α/2; x/φ+1). `None` for a negative or non-finite
/// count or φ, or a confidence outside 0 to 1.
#[must_use]
pub fn garwood(count: f64, confidence: f64, phi: Option<f64>) -> Option<Interval> {
    let tail = tail_of(confidence)?;
    let phi = usable_phi(phi)?;
    if !is_count(count) {
        return None;
    }
    let low = if count == 0.0 {
        0.0
    } else {
        phi * gamma_quantile_lower(count / phi, tail)?
    };
    Some(Interval {
        low,
        high: upper(count, tail, phi)?,
    })
}

fn upper(count: f64, tail: f64, phi: f64) -> Option<f64> {
    if !is_count(count) {
        return None;
    }
    Some(phi * gamma_quantile_upper(count / phi + 1.0, tail)?)
}

fn per_1000(counted: Counted) -> Option<f64> {
    (counted.is_sound() && counted.evaluable > 0.0).then(|| 1000.0 / counted.evaluable)
}

/// Byar's approximation of [`garwood`] (Breslow and Day 1987), for comparison only.
///
/// Standard form; the variant with x + ½ found in some tools is another formula. `None` as for
/// [`garwood`].
#[must_use]
pub fn byar(count: f64, confidence: f64) -> Option<Interval> {
    let z = normal_quantile_upper(tail_of(confidence)?)?;
    if !is_count(count) {
        return None;
    }
    let limit = |x: f64, z: f64| x * (1.0 - 1.0 / (9.0 * x) + z / (3.0 * x.sqrt())).powi(3);
    let low = if count == 0.0 {
        0.0
    } else {
        limit(count, -z).max(0.0)
    };
    Some(Interval {
        low,
        high: limit(count + 1.0, z),
    })
}
