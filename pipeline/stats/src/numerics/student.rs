//! Student's t through the incomplete beta function.

use super::{beta_odds_lower, beta_tails, is_open_probability, is_shape};

/// P(|T| > t) with `df` degrees of freedom; `None` for NaN or `df` ≤ 0.
#[must_use]
pub fn student_two_sided(t: f64, df: f64) -> Option<f64> {
    if !is_shape(df) || t.is_nan() {
        return None;
    }
    if t.is_infinite() {
        return Some(0.0);
    }
    let square = t * t;
    beta_tails(df / 2.0, 0.5, df / (df + square), square / (df + square)).map(|tails| tails.lower)
}

/// The t with P(T > t) = `q`; `None` unless 0 < q < 1 and `df` > 0.
#[must_use]
pub fn student_quantile_upper(q: f64, df: f64) -> Option<f64> {
    if !is_open_probability(q) || !is_shape(df) {
        return None;
    }
    if q == 0.5 {
        return Some(0.0);
    }
    if q > 0.5 {
        return student_quantile_upper(1.0 - q, df).map(|t| -t);
    }
    let t = (df / beta_odds_lower(df / 2.0, 0.5, 2.0 * q)?).sqrt();
    t.is_finite().then_some(t)
}
