//! Bank that stands while the heading turns otherwise: in the air one makes the other.

use crate::flight::RawFlight;
use crate::series::{Series, turn_deg};

use super::Tallies;
use super::limits::{MOVING_KT, TURN_DEG, TURN_S, TURN_SHARE};
use super::settable::Limits;
use super::stuck::stretch;

/// Turn rate of a bank of 45° at 1 kt, degrees a second: g over speed.
const TURN_DEG_KT_S: f64 = 9.806_65 / (1_852.0 / 3_600.0) * 180.0 / std::f64::consts::PI;

/// Nulls roll that stands while heading tells another bank.
pub(super) fn roll(flight: &mut RawFlight, limits: &Limits, tallies: &mut Tallies) {
    let heading = Series::of(flight.channels.get("heading_true_deg"));
    let speeds = ["tas_kt", "cas_kt", "ground_speed_kt"];
    let speeds = speeds.map(|name| Series::of(flight.channels.get(name)));
    let ground = Series::of(flight.channels.get("on_ground"));
    stretch(flight, limits, tallies, "roll_deg", TURN_S, |run| {
        let speed = speeds.iter().find_map(|s| s.held(run.from_s));
        let Some(kt) = speed.filter(|kt| *kt >= MOVING_KT) else {
            return false;
        };
        if ground.between(run.from_s, run.to_s).any(|s| s.1 != 0.0) {
            return false;
        }
        let angles: Vec<f64> = heading.between(run.from_s, run.to_s).map(|s| s.1).collect();
        if angles.len() < 3 {
            return false;
        }
        let turned: f64 = angles.windows(2).map(|w| turn_deg(w[0], w[1])).sum();
        let due = TURN_DEG_KT_S / kt * run.value.to_radians().tan() * run.held_s();
        (turned - due).abs() >= TURN_DEG + TURN_SHARE * due.abs()
    });
}
