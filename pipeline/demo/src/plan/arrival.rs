//! Ground tracks of arrivals: where the aircraft comes from decides how it is turned in.

use crate::dice::Dice;
use crate::flying::path::Track;
use crate::plan::descent::HOLD_FROM_NM;
use crate::world::airports::{Arrival, LandingEnd};

/// A track and what air traffic control did to it.
#[derive(Clone, Debug)]
pub(crate) struct Routing {
    pub(crate) track: Track,
    /// Track miles that a direct routing took away.
    pub(crate) shortcut_nm: f64,
    /// Track miles flown in a racetrack before the descent went on.
    pub(crate) hold_nm: f64,
    /// Whether a dog-leg was flown.
    pub(crate) vectored: bool,
}

/// What is asked for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Wish {
    pub(crate) shortcut: bool,
    pub(crate) holding: bool,
    pub(crate) vectored: bool,
}

/// Draws the track of an arrival to a landing end.
pub(crate) fn draw(dice: &mut Dice, arrival: Arrival, end: &LandingEnd, wish: Wish) -> Routing {
    // Measured from "straight out along the final", positive to the landing pilot's right.
    let outward = end.bearing_deg + 180.0 - arrival.bearing_deg() + dice.normal(0.0, 9.0);
    let off_deg = (outward + 180.0).rem_euclid(360.0) - 180.0;
    let side = if off_deg < 0.0 { -1.0 } else { 1.0 };
    let planned_final_nm = dice.uniform(10.0, 13.5);
    let mut legs: Vec<(f64, f64, f64)> = Vec::new();
    let mut shortcut_nm = 0.0;
    let mut final_nm = planned_final_nm;
    let turned_in = off_deg.abs() > 40.0;
    if wish.shortcut && turned_in {
        // Turned in early: both the final and the leg beside it get shorter.
        shortcut_nm = dice.uniform(2.0, 3.6);
        final_nm = (planned_final_nm - 0.5 * shortcut_nm).max(9.0);
    }
    if off_deg.abs() > 110.0 {
        legs.push((side * 90.0, 2.0, dice.uniform(1.5, 3.0)));
        legs.push((off_deg - side * 90.0, 2.4, 4.0));
    } else {
        legs.push((off_deg, if turned_in { 2.2 } else { 2.8 }, 4.0));
    }
    if wish.vectored {
        let turn = dice.uniform(25.0, 45.0) * if dice.chance(0.5) { 1.0 } else { -1.0 };
        let leg = dice.uniform(2.0, 4.0);
        legs.extend([(turn, 3.0, leg), (-2.0 * turn, 3.0, leg), (turn, 3.0, 4.0)]);
    }
    let mut hold_nm = 0.0;
    let before: f64 = final_nm
        + legs
            .iter()
            .map(|(turn, radius, straight)| radius * turn.abs().to_radians() + straight)
            .sum::<f64>();
    if let Some(last) = legs.last_mut() {
        last.2 += (HOLD_FROM_NM - before).max(0.0);
    }
    if wish.holding {
        let turn = if dice.chance(0.5) { 180.0 } else { -180.0 };
        let (radius, leg) = (2.3, dice.uniform(3.0, 4.5));
        for _ in 0..=usize::from(dice.chance(0.3)) {
            legs.extend([(turn, radius, leg), (turn, radius, leg)]);
            hold_nm += 2.0 * (std::f64::consts::PI * radius + leg);
        }
    }
    Routing {
        track: Track::new(final_nm, &legs),
        shortcut_nm,
        hold_nm,
        vectored: wish.vectored,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::steady::Steady as _;
    use crate::world::places::AIRPORTS;

    #[test]
    fn an_arrival_comes_from_where_it_says() {
        let dice = &mut Dice::new(1, 1, "arrival");
        for airport in &AIRPORTS {
            for end in airport.ends() {
                for arrival in Arrival::ALL {
                    let wish = Wish {
                        shortcut: false,
                        holding: false,
                        vectored: false,
                    };
                    let routing = draw(dice, arrival, &end, wish);
                    let far = routing.track.at(45.0);
                    // Right of the centreline is clockwise of the landing bearing.
                    let bearing = end.bearing_deg + 180.0
                        - far.right_nm.arc_tangent_of(far.out_nm).to_degrees();
                    let off = (bearing - arrival.bearing_deg() + 180.0).rem_euclid(360.0) - 180.0;
                    assert!(
                        off.abs() < 55.0,
                        "{} {} from {}: {off}",
                        airport.ident,
                        end.name,
                        arrival.name()
                    );
                }
            }
        }
    }
}
