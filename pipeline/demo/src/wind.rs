//! Wind by height, gusts, and the slow wander of a hand that follows a beam.

use crate::dice::Dice;

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
    /// Standard deviation of gusts along the flight path, kt.
    pub(crate) gust_kt: f64,
}

impl Wind {
    /// Speed (kt) and direction (from, degrees true) at a height above the field.
    pub(crate) fn at(&self, height_ft: f64) -> (f64, f64) {
        let speed = self.surface_kt * (height_ft.clamp(10.0, 9000.0) / 33.0).powf(self.exponent);
        (
            speed,
            self.from_deg + self.veer_deg * (height_ft / 1000.0).clamp(0.0, 6.0),
        )
    }

    /// Headwind and crosswind (from the right positive) on a track, kt.
    pub(crate) fn components(&self, height_ft: f64, track_deg: f64) -> (f64, f64) {
        let (speed, from_deg) = self.at(height_ft);
        let angle = (from_deg - track_deg).to_radians();
        (speed * angle.cos(), speed * angle.sin())
    }
}

/// Gusts: first-order noise smoothed once more, so that airspeed moves and does not jump.
pub(crate) struct Gusts {
    dice: Dice,
    along: f64,
    smooth: f64,
    vertical: f64,
}

impl Gusts {
    /// The gusts of one flight; the same for every way it may be flown.
    pub(crate) fn new(seed: u64, number: u64) -> Self {
        Self {
            dice: Dice::new(seed, number, "gusts"),
            along: 0.0,
            smooth: 0.0,
            vertical: 0.0,
        }
    }

    /// The next step: gust along the path in units of its deviation, and normal acceleration noise
    /// likewise.
    pub(crate) fn next(&mut self, step_s: f64) -> (f64, f64) {
        let decay = (-step_s / 6.0).exp();
        self.along = self.along * decay + self.dice.normal(0.0, (1.0 - decay * decay).sqrt());
        self.smooth += (self.along - self.smooth) * step_s / 2.0;
        let quick = (-step_s / 0.7).exp();
        self.vertical = self.vertical * quick + self.dice.normal(0.0, (1.0 - quick * quick).sqrt());
        (self.smooth * 1.15, self.vertical)
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
                size * (std::f64::consts::TAU * distance_nm / length + phase).sin()
            })
            .sum()
    }
}
