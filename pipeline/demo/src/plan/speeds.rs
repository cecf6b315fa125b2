//! The speeds that are flown: held one after the other and given up in between, where the planned
//! ones run down evenly.

use crate::dice::Dice;
use crate::world::types::{AircraftType, interpolate};

/// Speeds of one approach by track distance.
#[derive(Clone, Debug)]
pub(crate) struct Speeds {
    /// Rising distances, NM, from where the approach speed is reached.
    distance_nm: [f64; 6],
    /// Speeds at all but the first, which has the approach speed.
    cas_kt: [f64; 5],
}

impl Speeds {
    /// Draws where speeds are given up and taken up.
    pub(crate) fn draw(dice: &mut Dice, aircraft: &AircraftType) -> Self {
        let planned = |distance_nm| aircraft.target_cas_kt(distance_nm, 0.0);
        let first = dice.normal(0.0, 1.0).clamp(-2.0, 2.0);
        let second = dice.normal(0.0, 0.6).clamp(-1.4, 1.4);
        let third = dice.normal(0.0, 0.3).clamp(-0.7, 0.7);
        // Air traffic control hands out round numbers.
        let round = |cas_kt: f64| (cas_kt / 5.0).round() * 5.0;
        let (far, middle, near) = (
            round(planned(30.0)),
            round(planned(20.0) - 2.0),
            round(0.5 * (planned(10.0) + planned(7.0)) + 2.0),
        );
        Self {
            distance_nm: [
                4.0,
                7.3 + third,
                10.0 + third,
                15.0 + second,
                20.0 + first,
                26.0 + first,
            ],
            cas_kt: [near, near, middle, middle, far],
        }
    }

    /// CAS at a track distance, VAPP close in.
    pub(crate) fn at(&self, distance_nm: f64, vapp_kt: f64) -> f64 {
        let [near, _, middle, _, far] = self.cas_kt;
        let cas_kt = [vapp_kt, near, near, middle, middle, far];
        interpolate(&self.distance_nm, &cas_kt, distance_nm)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::world::types::TYPES;

    #[test]
    fn speeds_are_held_and_given_up_and_never_taken_up_again() {
        for (number, aircraft) in TYPES.iter().enumerate() {
            let speeds = Speeds::draw(&mut Dice::new(3, number as u64, "speeds"), aircraft);
            let flown: Vec<f64> = (0..=400)
                .map(|tenth| speeds.at(f64::from(tenth) / 10.0, 138.0))
                .collect();
            assert!(flown.windows(2).all(|pair| pair[0] <= pair[1]));
            let held = flown[50..350]
                .windows(2)
                .filter(|pair| pair[0] == pair[1])
                .count();
            // The real recorder flight of tests/data/real holds its speed 41 % of that way.
            assert!((90..=180).contains(&held), "{held} of 300");
            assert!((flown[0] - 138.0).abs() < 1e-9);
        }
    }
}
