//! The gusts that one flight meets, step by step.

use super::Wind;
use super::felt::Attitude;
use super::filter::{Across, Along};
use super::spectrum::{Scales, aloft_fps};
use crate::dice::Dice;
use crate::steady::Steady as _;
use crate::world::atmosphere::FPS_PER_KT;

/// Gusts at one step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Gust {
    /// Along the flight path, kt, positive = more airspeed.
    pub(crate) along_kt: f64,
    /// Bank and pitch that gusts across the path and upwards leave behind, degrees.
    pub(crate) bank_deg: f64,
    pub(crate) pitch_deg: f64,
    /// Upwards, kt, at the step and half a step later, as far as the whole wing feels it.
    pub(crate) vertical_kt: [f64; 2],
    /// The same two, in units of their deviation before the wing evens them out.
    pub(crate) roughness: [f64; 2],
}

/// A wing feels a gust as its mean over this way: a chord or two until the lift has built up, and
/// the length at which gusts differ from one wing tip to the other. Judgement, no source.
const WING_FT: f64 = 30.0;
/// Slowest airspeed of the filters, kt: on the ground the air still passes.
const LEAST_TAS_KT: f64 = 40.0;

/// A source of gusts.
pub(crate) struct Gusts {
    dice: Dice,
    wind_20ft_kt: f64,
    aloft_kt: f64,
    along: Along,
    across: Across,
    up: Across,
    felt: f64,
    attitude: Attitude,
}

impl Gusts {
    /// The gusts of one flight in its wind; the same draws for every way it may be flown.
    pub(crate) fn new(seed: u64, number: u64, wind: &Wind) -> Self {
        let mut dice = Dice::new(seed, number, "gusts");
        let aloft_kt = aloft_fps(dice.uniform(0.0, 1.0), dice.normal(0.0, 1.0)) / FPS_PER_KT;
        let mut normal = || dice.normal(0.0, 1.0);
        let (along, across, up) = (
            Along::new(normal()),
            Across::new([normal(), normal()]),
            Across::new([normal(), normal()]),
        );
        Self {
            wind_20ft_kt: wind.at(20.0).0,
            aloft_kt,
            along,
            across,
            up,
            felt: 0.0,
            attitude: Attitude::default(),
            dice,
        }
    }

    /// The next step, flown at `tas_kt` and `height_ft` above the ground: seven draws, whatever
    /// these are.
    pub(crate) fn next(&mut self, step_s: f64, tas_kt: f64, height_ft: f64) -> Gust {
        let scales = Scales::at(height_ft, self.wind_20ft_kt, self.aloft_kt);
        let flown_ft = tas_kt.max(LEAST_TAS_KT) * FPS_PER_KT * step_s;
        let mut normal = || self.dice.normal(0.0, 1.0);
        let along = self.along.next(flown_ft / scales.flat_ft, normal());
        let lateral = self
            .across
            .next(flown_ft / scales.flat_ft, [normal(), normal()]);
        // Acceleration is recorded twice as often as anything else is stepped.
        let half_ft = flown_ft / 2.0;
        let share = 1.0 - (-half_ft / WING_FT).exponential();
        let mut felt_kt = [0.0; 2];
        let roughness = std::array::from_fn(|half| {
            let up = self.up.next(half_ft / scales.up_ft, [normal(), normal()]);
            self.felt += share * (up - self.felt);
            felt_kt[half] = scales.up_kt * self.felt;
            up
        });
        let lateral_kt = scales.flat_kt * lateral;
        self.attitude.follow(lateral_kt, felt_kt[0], step_s);
        Gust {
            along_kt: scales.flat_kt * along,
            bank_deg: self.attitude.bank_deg,
            pitch_deg: self.attitude.pitch_deg,
            vertical_kt: felt_kt,
            roughness,
        }
    }
}
