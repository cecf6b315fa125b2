//! Poisson and binomial terms in Loader's saddle-point form.
//!
//! C. Loader, "Fast and accurate computation of binomial probabilities" (2000): the term is
//! written as its deviance plus Stirling corrections, so that no two large logarithms are
//! subtracted. The formulas hold for fractional arguments too.

use super::ln_gamma;
use std::f64::consts::{LN_2, PI};

/// Above this argument the asymptotic series of the Stirling correction is exact to 1e-16.
const SERIES_FROM: f64 = 16.0;

/// ln Γ(a + 1) minus Stirling's approximation of it; a > 0.
fn stirling_error(a: f64) -> f64 {
    if a < SERIES_FROM {
        return ln_gamma(a + 1.0) - (a + 0.5) * a.ln() + a - 0.5 * (LN_2 + PI.ln());
    }
    let s = 1.0 / (a * a);
    // 1/12a - 1/360a³ + 1/1260a⁵ - 1/1680a⁷ + 1/1188a⁹ - 691/360360a¹¹
    (1.0 / 12.0
        - s * (1.0 / 360.0
            - s * (1.0 / 1260.0
                - s * (1.0 / 1680.0 - s * (1.0 / 1188.0 - s * (691.0 / 360_360.0))))))
        / a
}

/// Deviance a·ln(a/mean) + mean − a, without cancellation where a is near the mean.
fn deviance(a: f64, mean: f64) -> f64 {
    let gap = a - mean;
    if gap.abs() >= 0.1 * (a + mean) {
        return a * (a / mean).ln() - gap;
    }
    // a·ln(a/mean) = 2a·artanh(v), v = gap/(a + mean); the first term of the series is
    // joined with `gap` by hand.
    let v = gap / (a + mean);
    let mut sum = gap * v;
    let mut power = 2.0 * a * v;
    let v_squared = v * v;
    let mut order = 1.0;
    loop {
        power *= v_squared;
        order += 2.0;
        let next = sum + power / order;
        if next == sum {
            return sum;
        }
        sum = next;
    }
}

/// x^a e^(−x) / Γ(a + 1): the Poisson probability of `a` at mean `x`, `a` > 0 and `x` > 0.
#[must_use]
pub fn poisson_term(a: f64, x: f64) -> f64 {
    (-stirling_error(a) - deviance(a, x)).exp() / (2.0 * PI * a).sqrt()
}

/// Γ(a+b+1)/(Γ(a+1)Γ(b+1)) · x^a y^b with y = 1 − x given: the binomial probability of `a`
/// successes and `b` failures; all four above zero.
#[must_use]
pub fn binomial_term(a: f64, b: f64, x: f64, y: f64) -> f64 {
    let n = a + b;
    let exponent = stirling_error(n)
        - stirling_error(a)
        - stirling_error(b)
        - deviance(a, n * x)
        - deviance(b, n * y);
    exponent.exp() * (n / (2.0 * PI * a * b)).sqrt()
}
