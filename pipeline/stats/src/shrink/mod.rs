//! Which airports or runways stand out, once small numbers are discounted.
//!
//! Counts are Poisson with a place's own rate λ, and the rates are Gamma distributed around
//! the fleet's. Each place's rate is then a compromise between its own record and the
//! fleet's, and a place with few approaches cannot top the list by chance.

mod class;
mod fit;
mod posterior;

pub use class::{Class, HotSpot, Thresholds, hot_spots};
pub use fit::{Prior, excess_variation, fit_prior};
pub use posterior::{Posterior, posterior};

/// One airport, runway or other group.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Approaches with at least one event.
    pub with_event: f64,
    /// Evaluable approaches: what eligibility is judged by.
    pub evaluable: f64,
    /// Exposure the rate is taken over: the evaluable approaches, or the standardised ones.
    pub exposure: f64,
}

impl Place {
    /// A place whose rate is simply events over approaches.
    #[must_use]
    pub fn plain(with_event: f64, evaluable: f64) -> Self {
        Self {
            with_event,
            evaluable,
            exposure: evaluable,
        }
    }

    /// A place with its own mix of types and runways: `expected` counts the approaches with
    /// an event if every stratum had the fleet's rate, `fleet_rate` is the fleet's per
    /// approach. Its rate becomes comparable with the others'. `None` unless the fleet rate
    /// is above zero.
    #[must_use]
    pub fn standardised(
        with_event: f64,
        evaluable: f64,
        expected: f64,
        fleet_rate: f64,
    ) -> Option<Self> {
        let exposure = expected / fleet_rate;
        (fleet_rate > 0.0 && crate::is_count(exposure)).then_some(Self {
            with_event,
            evaluable,
            exposure,
        })
    }

    fn is_sound(&self) -> bool {
        [self.with_event, self.evaluable, self.exposure]
            .into_iter()
            .all(crate::is_count)
    }

    /// This place and `sign` (1 or −1) times another; rounding does not take it below zero.
    fn plus(&self, other: &Self, sign: f64) -> Self {
        let sum = |one: f64, other: f64| (one + sign * other).max(0.0);
        Self {
            with_event: sum(self.with_event, other.with_event),
            evaluable: sum(self.evaluable, other.evaluable),
            exposure: sum(self.exposure, other.exposure),
        }
    }

    /// Effective counts (x/φ, n/φ).
    fn effective(&self, phi: f64) -> (f64, f64) {
        (self.with_event / phi, self.exposure / phi)
    }
}
