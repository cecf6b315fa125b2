//! Special functions: both tails and inverses, also for fractional arguments.
//!
//! `statrs` 0.18 supplies ln Γ, ψ and the first guess of the normal quantile. The rest of it
//! was measured and left: `erfc` is off by 4.5e-11; the
//! continued fraction of the beta function stops after 140 terms (7e-7 off for shapes of 1e5
//! and 1e6); the inverse beta function never goes below 1e-4 as a first guess and is lost for
//! shapes below 0.1, and 1e-7 off for 50 and 1e6; the inverse gamma function gives NaN for
//! small shapes and is 1e-6 off for shape 1e4 at 1e-9; upper tails come from `1 - lower`.
//!
//! The functions here compute the small tail directly, take their leading factor in Loader's
//! saddle-point form, which does not subtract huge logarithms, and hold 1e-9 relative for
//! counts up to 1e4.

mod beta;
mod gamma;
mod normal;
mod root;
mod saddle;
mod student;

pub use beta::{beta_odds_lower, beta_odds_upper, beta_tails};
pub use gamma::{chi_squared_upper, gamma_quantile_lower, gamma_quantile_upper, gamma_tails};
pub use normal::{normal_quantile_upper, normal_upper};
pub use root::bisect;
pub(crate) use root::first_whole;
pub use saddle::{binomial_term, poisson_term};
pub use statrs::function::gamma::{digamma, ln_gamma};
pub use student::{student_quantile_upper, student_two_sided};

/// Probabilities on both sides of a point; each keeps its own relative accuracy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tails {
    /// P(X ≤ x).
    pub lower: f64,
    /// P(X > x).
    pub upper: f64,
}

impl Tails {
    fn from_lower(lower: f64) -> Self {
        let lower = lower.clamp(0.0, 1.0);
        Self {
            lower,
            upper: 1.0 - lower,
        }
    }

    fn from_upper(upper: f64) -> Self {
        let upper = upper.clamp(0.0, 1.0);
        Self {
            lower: 1.0 - upper,
            upper,
        }
    }
}

/// Terms after which a series or fraction is given up: far beyond what any count here needs.
const MAX_TERMS: u32 = 1_000_000;

/// A shape parameter: finite and above zero.
fn is_shape(value: f64) -> bool {
    value.is_finite() && value > 0.0
}

/// A probability strictly between 0 and 1.
fn is_open_probability(value: f64) -> bool {
    value > 0.0 && value < 1.0
}
