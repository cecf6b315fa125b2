//! What the crew did not ask for: planted gusts and banks, and what the runway does to the aircraft.

use crate::flying::crew::Crew;
use crate::flying::motion::Motion;
use crate::flying::state::STEP_S;
use crate::plan::Plan;
use crate::plan::plant::Kind;
use crate::steady::Steady as _;
use crate::world::atmosphere::{FPS_PER_KT, G_FPS2};

/// A bank that was not asked for by the track, with what it does to heading and position.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Pulse {
    pub(crate) roll_deg: f64,
    pub(crate) heading_deg: f64,
    pub(crate) offset_ft: f64,
}
impl Crew {
    /// The planted gust: a raised cosine of sixteen seconds, two seconds after the lever moved.
    pub(crate) fn planted_gust_kt(&self) -> f64 {
        match self.since_gust_s {
            Some(since) if (2.0..18.0).contains(&since) => {
                self.gust_kt * (1.0 - (std::f64::consts::TAU * (since - 2.0) / 16.0).cosine()) / 2.0
            }
            _ => 0.0,
        }
    }

    /// The planted bank at this moment.
    pub(crate) fn bank_pulse(&self) -> Pulse {
        self.pulse
    }

    /// Moves the planted bank one step on.
    pub(crate) fn bank(&mut self, motion: &Motion) {
        let Some((gate, side, size)) = self.plants.iter().find_map(|plant| match plant.kind {
            Kind::Bank(gate, side) => Some((gate, side, plant.size)),
            _ => None,
        }) else {
            self.pulse = Pulse::default();
            return;
        };
        // One way, the other way, and back: the middle bank is at the gate, and heading and position
        // come out nearly where they were.
        const LEAD_S: f64 = 4.0 + 2.8;
        if self.since_pulse_s.is_none() && self.seconds_to(gate, motion) <= LEAD_S {
            self.since_pulse_s = Some(0.0);
        }
        let Some(since) = self.since_pulse_s else {
            return;
        };
        let shape = |start: f64, ramp: f64, hold: f64| {
            ((since - start) / ramp)
                .min((start + 2.0 * ramp + hold - since) / ramp)
                .clamp(0.0, 1.0)
        };
        let counter = (0.6 * size.to_radians().tangent())
            .arc_tangent()
            .to_degrees();
        let roll =
            size * shape(4.0, 2.0, 1.6) - counter * (shape(0.0, 1.3, 1.7) + shape(9.6, 1.3, 1.7));
        self.since_pulse_s = Some(since + STEP_S);
        let fps = motion.ground_speed() * FPS_PER_KT;
        let fade = (-STEP_S / 15.0).exponential();
        self.pulse.roll_deg = side * roll;
        self.pulse.heading_deg = self.pulse.heading_deg * fade
            + (G_FPS2 * (side * roll).to_radians().tangent() / fps * STEP_S).to_degrees();
        self.pulse.offset_ft =
            self.pulse.offset_ft * fade + fps * self.pulse.heading_deg.to_radians().sine() * STEP_S;
    }

    /// Extra pitch in the flare, degrees.
    pub(crate) fn flare_pitch(&self) -> f64 {
        if self.near_ground { 0.8 } else { 0.0 }
    }

    /// Pitch on the ground: the nose comes down within four seconds.
    pub(crate) fn ground_pitch(&self, since_s: f64) -> f64 {
        (4.0 - since_s).clamp(0.0, 4.0) * 1.2 - 0.5
    }

    /// Normal acceleration on the ground: the jolt of contact, a half wave up to the planned peak,
    /// then rumble.
    pub(crate) fn ground_g(&self, peak_g: f64, since_s: f64, roughness: f64) -> f64 {
        let width_s = jolt_s(peak_g);
        if since_s < width_s {
            let part = (std::f64::consts::PI * since_s / width_s).sine();
            1.0 + (peak_g - 1.0) * part
        } else {
            1.0 + roughness * 0.012 * (1.0 + 2.0 * (-since_s / 3.0).exponential())
        }
    }
}

/// Peak of a contact by its sink: harder the faster it is, softer or harder by a flight's own share.
/// Judgement, no source.
pub(crate) fn touchdown_peak_g(plan: &Plan, sink_fps: f64) -> f64 {
    (1.06 + 0.062 * sink_fps.max(0.0) + plan.firmness_g).clamp(1.05, 2.4)
}

/// How long the jolt of a contact lasts, s: shorter the harder it is, because legs that are quickly
/// compressed are stiff. Judgement, no source.
fn jolt_s(peak_g: f64) -> f64 {
    (0.30 - 0.2 * (peak_g - 1.1)).clamp(0.18, 0.30)
}
