//! Wind by height, gusts, and the slow wander of a hand that follows a beam.

mod felt;
mod filter;
mod gusts;
mod spectrum;

pub(crate) use felt::load_g_per_kt;
pub(crate) use gusts::{Gust, Gusts};

use crate::dice::Dice;
use crate::steady::Steady as _;

/// The mean wind of one flight.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Wind {
    /// Speed at 33 ft, kt.
    pub(crate) surface_kt: f64,
    /// Direction at the surface, from, degrees true.
    pub(crate) from_deg: f64,
    /// Veer per 1,000 ft, degrees.
    pub(crate) veer_deg: f64,
    /// Exponent of growth with height.
    pub(crate) exponent: f64,
}

impl Wind {
    /// Speed (kt) and direction (from, degrees true) at a height above the field.
    pub(crate) fn at(&self, height_ft: f64) -> (f64, f64) {
        let speed =
            self.surface_kt * (height_ft.clamp(10.0, 9000.0) / 33.0).to_power(self.exponent);
        (
            speed,
            self.from_deg + self.veer_deg * (height_ft / 1000.0).clamp(0.0, 6.0),
        )
    }

    /// Headwind and crosswind (from the right positive) on a track, kt.
    pub(crate) fn components(&self, height_ft: f64, track_deg: f64) -> (f64, f64) {
        let (speed, from_deg) = self.at(height_ft);
        let angle = (from_deg - track_deg).to_radians();
        (speed * angle.cosine(), speed * angle.sine())
    }
}

/// Slow wander as a sum of three waves over distance.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Wander([(f64, f64, f64); 3]);

impl Wander {
    /// Waves of the given total size.
    pub(crate) fn new(dice: &mut Dice, size: f64) -> Self {
        Self([3.1, 4.7, 7.3].map(|length_nm: f64| {
            let amplitude = dice.normal(0.0, size * 0.8);
            (
                amplitude,
                length_nm * dice.uniform(0.85, 1.15),
                dice.uniform(0.0, std::f64::consts::TAU),
            )
        }))
    }

    /// Value at a distance.
    pub(crate) fn at(&self, distance_nm: f64) -> f64 {
        self.0
            .iter()
            .map(|(size, length, phase)| {
                size * (std::f64::consts::TAU * distance_nm / length + phase).sine()
            })
            .sum()
    }
}

#[cfg(test)]
mod tests;
