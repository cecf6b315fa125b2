//! The equations of motion: thrust less drag, shared between height and speed.

use crate::flying::crew::Crew;
use crate::flying::state::{Phase, STEP_S};
use crate::plan::{Plan, Touch};
use crate::steady::Steady as _;
use crate::world::atmosphere::{
    FPS_PER_KT, FT_PER_NM, G_FPS2, cas_kt, pressure_altitude_ft, tas_kt,
};

/// A state of motion that is carried from step to step.
pub(crate) struct Motion {
    pub(crate) time_s: f64,
    pub(crate) to_go_nm: f64,
    pub(crate) height_ft: f64,
    /// True airspeed in the mean wind, kt.
    pub(crate) tas_kt: f64,
    /// Vertical speed, ft/s.
    pub(crate) climb_fps: f64,
    pub(crate) climb_rate: f64,
    pub(crate) roll_deg: f64,
    pub(crate) headwind_kt: f64,
    pub(crate) n1_pct: f64,
    pub(crate) phase: Phase,
    pub(crate) approach: usize,
    pub(crate) since_phase_s: f64,
    pub(crate) ground_speed_kt: f64,
    pub(crate) cross_ft: f64,
    /// Sink at the last contact, ft/s.
    pub(crate) contact_sink_fps: f64,
}

impl Motion {
    /// At the first sample: on the commanded height, at the commanded speed.
    pub(crate) fn start(plan: &Plan, field_ft: f64, crew: &Crew) -> Self {
        let height_ft = crew.guidance.height_command(plan, plan.start_nm, 0).0;
        let cas = crew.guidance.speed_command(plan, plan.start_nm, 0);
        let pressure = pressure_altitude_ft(field_ft, height_ft, plan.deviation_k);
        let tas = tas_kt(cas, pressure, plan.deviation_k);
        Self {
            time_s: 0.0,
            to_go_nm: plan.start_nm,
            height_ft,
            tas_kt: tas,
            climb_fps: -14.0,
            climb_rate: 0.0,
            roll_deg: 0.0,
            headwind_kt: f64::NAN,
            n1_pct: plan.handling().idle_pct + 3.0,
            phase: Phase::Approach,
            approach: 0,
            since_phase_s: 0.0,
            ground_speed_kt: tas,
            cross_ft: 0.0,
            contact_sink_fps: 0.0,
        }
    }

    /// Ground speed, kt, never so small that a time to go would explode.
    pub(crate) fn ground_speed(&self) -> f64 {
        self.ground_speed_kt.max(30.0)
    }

    /// Speed of the air that passes, kt, free of gusts.
    pub(crate) fn air_speed_kt(&self) -> f64 {
        if self.phase == Phase::Roll && !self.headwind_kt.is_nan() {
            self.ground_speed_kt + self.headwind_kt
        } else {
            self.tas_kt
        }
    }

    /// Begins a phase.
    pub(crate) fn enter(&mut self, phase: Phase) {
        self.phase = phase;
        self.since_phase_s = 0.0;
    }
}

/// Moves the aircraft one step on.
pub(crate) fn advance(
    plan: &Plan,
    motion: &mut Motion,
    crew: &mut Crew,
    pressure: f64,
    roll_deg: f64,
) {
    if motion.phase == Phase::Roll {
        roll(plan, motion);
    } else {
        let wanted = crew.climb_command_fps(plan, motion);
        // Half a g per ten seconds: passengers, and engineers, would notice more.
        let limit = if motion.phase == Phase::Missed {
            4.0
        } else {
            2.4
        };
        let rate = ((wanted - motion.climb_fps) / 1.6).clamp(-limit, limit);
        motion.climb_rate += (rate - motion.climb_rate) * STEP_S / 0.8;
        motion.climb_fps += motion.climb_rate * STEP_S;
        motion.height_ft += motion.climb_fps * STEP_S;
        accelerate(plan, motion, crew, pressure, roll_deg);
    }
    motion.to_go_nm -= motion.ground_speed_kt * STEP_S / 3600.0;
    motion.time_s += STEP_S;
    motion.since_phase_s += STEP_S;
}

/// On the runway: braking to a taxi speed, or, after a touch, thrust for another take-off.
fn roll(plan: &Plan, motion: &mut Motion) {
    let since_s = motion.since_phase_s;
    let stays = motion.approach > 0 || plan.touch.is_none();
    let thrust_from_s = plan.touch.map_or(f64::MAX, Touch::rolls_s);
    let (acceleration_g, n1_pct) = if stays {
        // Brakes ease off towards the speed at which the runway is left.
        let usual_g: f64 = if motion.ground_speed_kt > 70.0 {
            0.17
        } else {
            0.05
        };
        // And are used harder where the runway is short.
        let left_ft = (plan.end.available_ft + motion.to_go_nm * FT_PER_NM - 700.0).max(100.0);
        let needed_g = (motion.ground_speed_kt * FPS_PER_KT).powi(2) / (2.0 * G_FPS2 * left_ft);
        let braking_g = usual_g.max(needed_g.min(0.4) - 0.05);
        let braking = (since_s - 1.0).clamp(0.0, 3.0) / 3.0 * braking_g + 0.05;
        (-braking, 22.0)
    } else if since_s < thrust_from_s {
        (-0.04, plan.handling().idle_pct)
    } else {
        (0.16 * ((motion.n1_pct - 40.0) / 50.0).clamp(0.0, 1.0), 91.0)
    };
    motion.ground_speed_kt += acceleration_g * G_FPS2 / FPS_PER_KT * STEP_S;
    motion.height_ft = -motion.to_go_nm * FT_PER_NM * plan.end.slope;
    motion.climb_fps = motion.ground_speed_kt * FPS_PER_KT * plan.end.slope;
    motion.climb_rate = 0.0;
    let spool = (n1_pct - motion.n1_pct) / if stays { 3.0 } else { 2.0 };
    motion.n1_pct += spool * STEP_S;
}

/// Energy height that drag takes per NM of air; turns cost some.
pub(crate) fn drag_ft_per_nm(
    plan: &Plan,
    motion: &Motion,
    crew: &Crew,
    pressure: f64,
    roll_deg: f64,
) -> f64 {
    crew.loss_ft_per_nm(plan, cas_kt(motion.tas_kt, pressure, plan.deviation_k))
        * (1.0 + 0.6 * (1.0 / roll_deg.to_radians().cosine() - 1.0))
}

/// Thrust follows the crew's wish with a lag; the energy that is left over changes the speed.
fn accelerate(plan: &Plan, motion: &mut Motion, crew: &Crew, pressure: f64, roll_deg: f64) {
    let handling = plan.handling();
    let speed = motion.tas_kt * FPS_PER_KT;
    let loss = drag_ft_per_nm(plan, motion, crew, pressure, roll_deg);
    let wish = crew.acceleration_wish() * FPS_PER_KT;
    // Thrust (in energy height per air NM) that would give the wished acceleration on this path.
    let needed = loss + (motion.climb_fps / speed + wish / G_FPS2) * FT_PER_NM;
    let share = (needed / handling.full_thrust_ft_per_nm).clamp(0.0, 1.0);
    let wanted = crew
        .thrust_override_pct()
        .unwrap_or(handling.idle_pct + (100.0 - handling.idle_pct) * share.to_power(1.0 / 1.6));
    let wanted = wanted.min(if motion.phase == Phase::Missed {
        92.0
    } else {
        88.0
    });
    let spool =
        ((wanted - motion.n1_pct) / 1.8).clamp(-6.0, if motion.n1_pct < 45.0 { 5.0 } else { 9.0 });
    motion.n1_pct += spool * STEP_S;
    let share = ((motion.n1_pct - handling.idle_pct) / (100.0 - handling.idle_pct))
        .max(0.0)
        .to_power(1.6);
    let net = share * handling.full_thrust_ft_per_nm - loss;
    let acceleration = (net / FT_PER_NM - motion.climb_fps / speed) * G_FPS2;
    motion.tas_kt += acceleration / FPS_PER_KT * STEP_S;
}
