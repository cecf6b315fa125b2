//! The share of approaches with at least one event: Wilson by default, Clopper–Pearson where
//! coverage must be guaranteed.

use crate::numerics::{beta_odds_lower, beta_odds_upper, normal_quantile_upper};
use crate::{Counted, tail_of, usable_phi};

/// A share with its interval, all fractions of 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// Approaches with an event over evaluable approaches.
    pub share: f64,
    /// Lower limit; exactly 0 when no approach has an event.
    pub low: f64,
    /// Upper limit; exactly 1 when every approach has an event.
    pub high: f64,
}

/// Wilson's score interval on effective counts.
///
/// `confidence` as a fraction (0.95). `None` without evaluable approaches, with more
/// approaches with an event than evaluable ones, or for unusable numbers.
#[must_use]
pub fn wilson(counted: Counted, confidence: f64, phi: Option<f64>) -> Option<Share> {
    let z = normal_quantile_upper(tail_of(confidence)?)?;
    let phi = usable_phi(phi)?;
    let share = share_of(counted)?;
    let n = counted.evaluable / phi;
    let z_squared = z * z;
    let centre = share + z_squared / (2.0 * n);
    let half = z * (share * (1.0 - share) / n + z_squared / (4.0 * n * n)).sqrt();
    let scale = 1.0 + z_squared / n;
    Some(at_the_ends(
        counted,
        Share {
            share,
            low: ((centre - half) / scale).max(0.0),
            high: ((centre + half) / scale).min(1.0),
        },
    ))
}

/// The exact interval of Clopper and Pearson on effective counts.
///
/// Conditions as for [`wilson`].
#[must_use]
pub fn clopper_pearson(counted: Counted, confidence: f64, phi: Option<f64>) -> Option<Share> {
    let tail = tail_of(confidence)?;
    let phi = usable_phi(phi)?;
    let share = share_of(counted)?;
    let hit = counted.with_event / phi;
    let missed = (counted.evaluable - counted.with_event) / phi;
    let low = if hit > 0.0 {
        from_odds(beta_odds_lower(hit, missed + 1.0, tail)?)
    } else {
        0.0
    };
    let high = if missed > 0.0 {
        from_odds(beta_odds_upper(hit + 1.0, missed, tail)?)
    } else {
        1.0
    };
    Some(Share { share, low, high })
}

fn share_of(counted: Counted) -> Option<f64> {
    let usable =
        counted.is_sound() && counted.evaluable > 0.0 && counted.with_event <= counted.evaluable;
    usable.then(|| counted.with_event / counted.evaluable)
}

/// Rounding must not turn an exact 0 or 1 into nearly 0 or 1.
fn at_the_ends(counted: Counted, mut share: Share) -> Share {
    if counted.with_event == 0.0 {
        share.low = 0.0;
    }
    if counted.with_event == counted.evaluable {
        share.high = 1.0;
    }
    share
}

fn from_odds(odds: f64) -> f64 {
    if odds.is_infinite() {
        1.0
    } else {
        odds / (1.0 + odds)
    }
}
