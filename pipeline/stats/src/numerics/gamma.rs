//! The regularised incomplete gamma function, its inverse, and χ² through it.

use super::root::solve_tail;
use super::{MAX_TERMS, Tails, is_open_probability, is_shape, poisson_term};

/// Both tails of the unit-rate gamma distribution with shape `a` at `x` ≥ 0.
///
/// Series below the mean, Lentz's continued fraction above it. `None` for a shape that is
/// not finite and positive or an `x` that is negative or NaN.
#[must_use]
pub fn gamma_tails(a: f64, x: f64) -> Option<Tails> {
    if !is_shape(a) || x.is_nan() || x < 0.0 {
        return None;
    }
    if x == 0.0 {
        return Some(Tails {
            lower: 0.0,
            upper: 1.0,
        });
    }
    if x == f64::INFINITY {
        return Some(Tails {
            lower: 1.0,
            upper: 0.0,
        });
    }
    let term = poisson_term(a, x);
    Some(if x < a + 1.0 {
        Tails::from_lower(term * series(a, x))
    } else {
        Tails::from_upper(term * a * fraction(a, x))
    })
}

/// 1 + x/(a+1) + x²/((a+1)(a+2)) + …
fn series(a: f64, x: f64) -> f64 {
    let mut sum = 1.0;
    let mut term = 1.0;
    let mut shape = a;
    for _ in 0..MAX_TERMS {
        shape += 1.0;
        term *= x / shape;
        sum += term;
        if term < sum * f64::EPSILON / 4.0 {
            break;
        }
    }
    sum
}

/// Continued fraction of Γ(a, x)·e^x·x^(−a), modified Lentz.
fn fraction(a: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let mut b = x + 1.0 - a;
    let mut c = 1.0 / TINY;
    let mut d = 1.0 / b;
    let mut value = d;
    for i in 1..MAX_TERMS {
        let i = f64::from(i);
        let an = -i * (i - a);
        b += 2.0;
        d = an * d + b;
        if d.abs() < TINY {
            d = TINY;
        }
        c = b + an / c;
        if c.abs() < TINY {
            c = TINY;
        }
        d = 1.0 / d;
        let step = d * c;
        value *= step;
        if (step - 1.0).abs() <= f64::EPSILON {
            break;
        }
    }
    value
}

/// The x with P(X ≤ x) = `p` for a unit-rate gamma variable of shape `a`.
///
/// Zero where the quantile is below the smallest double. `None` unless 0 < p < 1 and the
/// shape is finite and positive.
#[must_use]
pub fn gamma_quantile_lower(a: f64, p: f64) -> Option<f64> {
    if p > 0.5 {
        return gamma_quantile_upper(a, 1.0 - p);
    }
    quantile(a, p, |tails| tails.lower, 1.0)
}

/// The x with P(X > x) = `q` for a unit-rate gamma variable of shape `a`.
///
/// Conditions as for [`gamma_quantile_lower`].
#[must_use]
pub fn gamma_quantile_upper(a: f64, q: f64) -> Option<f64> {
    if q > 0.5 {
        return gamma_quantile_lower(a, 1.0 - q);
    }
    quantile(a, q, |tails| tails.upper, -1.0)
}

fn quantile(a: f64, p: f64, tail: impl Fn(Tails) -> f64, direction: f64) -> Option<f64> {
    if !is_shape(a) || !is_open_probability(p) {
        return None;
    }
    let ln_x = solve_tail(p, a.ln(), direction, |u| {
        let x = u.exp();
        // d P / d ln x = x · density = a · poisson_term
        let slope = if x > 0.0 && x.is_finite() {
            a * poisson_term(a, x)
        } else {
            0.0
        };
        (gamma_tails(a, x).map_or(f64::NAN, &tail), slope)
    })?;
    Some(ln_x.exp())
}

/// P(X > x) for χ² with `df` degrees of freedom (`df` may be fractional).
#[must_use]
pub fn chi_squared_upper(x: f64, df: f64) -> Option<f64> {
    gamma_tails(df / 2.0, x / 2.0).map(|tails| tails.upper)
}
