//! The regularised incomplete beta function and its inverse as odds.

use super::root::solve_tail;
use super::{MAX_TERMS, Tails, binomial_term, is_open_probability, is_shape};

/// Both tails of Beta(a, b) at `x`, with y = 1 − x given so that nothing is lost near 1.
///
/// `None` for shapes that are not finite and positive or points outside [0, 1].
#[must_use]
pub fn beta_tails(a: f64, b: f64, x: f64, y: f64) -> Option<Tails> {
    let inside = |v: f64| (0.0..=1.0).contains(&v);
    if !is_shape(a) || !is_shape(b) || !inside(x) || !inside(y) {
        return None;
    }
    if x == 0.0 {
        return Some(Tails {
            lower: 0.0,
            upper: 1.0,
        });
    }
    if y == 0.0 {
        return Some(Tails {
            lower: 1.0,
            upper: 0.0,
        });
    }
    // x^a y^b / B(a, b)
    let term = binomial_term(a, b, x, y) * (a / (a + b)) * b;
    Some(if x < (a + 1.0) / (a + b + 2.0) {
        Tails::from_lower(term * fraction(a, b, x) / a)
    } else {
        Tails::from_upper(term * fraction(b, a, y) / b)
    })
}

/// Continued fraction of the incomplete beta function, modified Lentz.
fn fraction(a: f64, b: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let keep_off_zero = |v: f64| if v.abs() < TINY { TINY } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / keep_off_zero(1.0 - (a + b) * x / (a + 1.0));
    let mut value = d;
    for m in 1..MAX_TERMS {
        let m = f64::from(m);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / keep_off_zero(1.0 + even * d);
        c = keep_off_zero(1.0 + even / c);
        value *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / keep_off_zero(1.0 + odd * d);
        c = keep_off_zero(1.0 + odd / c);
        let step = d * c;
        value *= step;
        if (step - 1.0).abs() <= f64::EPSILON {
            break;
        }
    }
    value
}

/// The odds x/(1 − x) at which P(X ≤ x) = `p` for Beta(a, b).
///
/// Odds keep their accuracy at both ends; x is odds/(1 + odds). `None` unless 0 < p < 1 and
/// both shapes are finite and positive.
#[must_use]
pub fn beta_odds_lower(a: f64, b: f64, p: f64) -> Option<f64> {
    if p > 0.5 {
        return beta_odds_upper(a, b, 1.0 - p);
    }
    odds(a, b, p, |tails| tails.lower, 1.0)
}

/// The odds x/(1 − x) at which P(X > x) = `q` for Beta(a, b); see [`beta_odds_lower`].
#[must_use]
pub fn beta_odds_upper(a: f64, b: f64, q: f64) -> Option<f64> {
    if q > 0.5 {
        return beta_odds_lower(a, b, 1.0 - q);
    }
    odds(a, b, q, |tails| tails.upper, -1.0)
}

fn odds(a: f64, b: f64, p: f64, tail: impl Fn(Tails) -> f64, direction: f64) -> Option<f64> {
    if !is_shape(a) || !is_shape(b) || !is_open_probability(p) {
        return None;
    }
    let logit = solve_tail(p, (a / b).ln(), direction, |u| {
        let x = 1.0 / (1.0 + (-u).exp());
        let y = 1.0 / (1.0 + u.exp());
        // d P / d logit = x^a y^b / B(a, b)
        let slope = if x > 0.0 && y > 0.0 {
            binomial_term(a, b, x, y) * (a / (a + b)) * b
        } else {
            0.0
        };
        (beta_tails(a, b, x, y).map_or(f64::NAN, &tail), slope)
    })?;
    Some(logit.exp())
}
