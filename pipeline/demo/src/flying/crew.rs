//! What the crew does: configuration, thrust, drag. Deviations that are planted act here.

use crate::flying::disturbed::Pulse;
use crate::flying::guidance::Guidance;
use crate::flying::motion::Motion;
use crate::flying::state::{Phase, STEP_S};
use crate::plan::Plan;
use crate::plan::plant::{Kind, Plant};
use crate::steady::Steady as _;
use crate::world::atmosphere::{FPS_PER_KT, FT_PER_NM};

/// Configuration and intentions at one moment.
pub(crate) struct Crew {
    pub(crate) guidance: Guidance,
    pub(crate) lever: usize,
    pub(crate) flap_deg: f64,
    pub(crate) gear_lever: bool,
    /// Seconds until the gear is down and locked.
    pub(crate) gear_s: f64,
    pub(crate) speedbrake: f64,
    pub(crate) toga: bool,
    pub(crate) plants: Vec<Plant>,
    since_selection_s: f64,
    high_for_s: f64,
    forgotten_s: f64,
    brake_wanted: f64,
    wish_kt_per_s: f64,
    thrust_pct: Option<f64>,
    pub(crate) since_gust_s: Option<f64>,
    pub(crate) gust_kt: f64,
    pub(crate) pulse: Pulse,
    pub(crate) since_pulse_s: Option<f64>,
    pub(crate) near_ground: bool,
}

impl Crew {
    /// The crew of a plan at the first sample: clean, gear up.
    pub(crate) fn new(plan: &Plan, vref_kt: f64) -> Self {
        Self {
            guidance: Guidance::new(plan, vref_kt),
            lever: 0,
            flap_deg: 0.0,
            gear_lever: false,
            gear_s: plan.handling().gear_transit_s,
            speedbrake: 0.0,
            toga: false,
            plants: plan.plants.clone(),
            since_selection_s: 99.0,
            high_for_s: 0.0,
            forgotten_s: 0.0,
            brake_wanted: 0.0,
            wish_kt_per_s: 0.0,
            thrust_pct: None,
            since_gust_s: None,
            gust_kt: 0.0,
            pulse: Pulse::default(),
            since_pulse_s: None,
            near_ground: false,
        }
    }

    /// One step of decisions. `cas_kt` is the airspeed in the mean wind, `shown_kt` with gusts.
    pub(crate) fn act(&mut self, plan: &Plan, motion: &Motion, cas_kt: f64, shown_kt: f64) {
        self.since_selection_s += STEP_S;
        match motion.phase {
            Phase::Approach => self.act_approach(plan, motion, cas_kt, shown_kt),
            Phase::Roll => {
                // Spoilers come out by themselves, and go in when thrust is set.
                let stays = motion.approach > 0 || plan.touch.is_none();
                self.speedbrake = if stays {
                    (self.speedbrake + STEP_S).min(1.0)
                } else {
                    0.0
                };
                self.toga = !stays
                    && plan
                        .touch
                        .is_some_and(|touch| motion.since_phase_s >= touch.rolls_s());
                self.thrust_pct = None;
            }
            Phase::Missed => self.act_missed(plan, motion, cas_kt),
        }
        let angle = plan.aircraft().lever[self.lever].flap_deg;
        let step = plan.handling().flap_deg_per_s * STEP_S;
        self.flap_deg += (angle - self.flap_deg).clamp(-step, step);
        if self.gear_lever {
            self.gear_s -= STEP_S;
        }
        self.bank(motion);
        if let Some(since) = &mut self.since_gust_s {
            *since += STEP_S;
        }
    }

    fn act_approach(&mut self, plan: &Plan, motion: &Motion, cas_kt: f64, shown_kt: f64) {
        let floor = if self.lever < plan.aircraft().first_landing_lever() {
            plan.aircraft().min_manoeuvre_kt(self.lever, plan.mass_kg) - 6.0
        } else {
            0.0
        };
        let over = cas_kt
            - self
                .guidance
                .speed_command(plan, motion.to_go_nm, motion.approach)
                .max(floor);
        // Thrust answers a gust a little before it is known to be one.
        let answered = over + 0.25 * (shown_kt - cas_kt);
        self.wish_kt_per_s = (-0.12 * answered).clamp(-1.3, 1.0);
        self.near_ground = motion.height_ft < 30.0 && motion.to_go_nm < 0.4;
        self.thrust_pct = if self.near_ground {
            Some(plan.handling().idle_pct)
        } else {
            None
        };
        for plant in &self.plants {
            if let Kind::ThrustLow(gate) = plant.kind {
                let ahead_nm = motion.to_go_nm - self.guidance.gate_nm(gate);
                if (-0.12..0.45).contains(&ahead_nm) {
                    self.thrust_pct = Some(plant.size);
                }
            }
        }
        self.use_speedbrake(plan, motion, over);
        self.use_gear(plan, motion, over);
        self.use_flap(plan, motion, shown_kt);
    }

    fn use_speedbrake(&mut self, plan: &Plan, motion: &Motion, over_kt: f64) {
        let idle = motion.n1_pct < plan.handling().idle_pct + 2.5;
        let high_ft = motion.height_ft
            - self
                .guidance
                .height_command(plan, motion.to_go_nm, motion.approach)
                .0;
        if idle && (over_kt > 7.0 || high_ft > 200.0) && self.lever < 3 && motion.height_ft > 1500.0
        {
            self.high_for_s += STEP_S;
            self.forgotten_s = 0.0;
        } else if over_kt < 1.5 || self.lever >= 3 || motion.height_ft < 1300.0 || !idle {
            self.high_for_s = 0.0;
            // Thrust may come before the hand remembers the lever.
            self.forgotten_s += STEP_S;
            if self.forgotten_s >= plan.brake_forgotten_s || motion.height_ft < 1300.0 {
                self.brake_wanted = 0.0;
            }
        } else {
            self.forgotten_s = 0.0;
        }
        if self.high_for_s > 5.0 + 25.0 * (1.0 - plan.brake_habit) && plan.brake_habit > 0.3 {
            // Out it goes by half or whole, and stays so until it is not needed.
            self.brake_wanted = self
                .brake_wanted
                .max(if over_kt > 18.0 { 1.0 } else { 0.5 });
        }
        self.speedbrake += (self.brake_wanted - self.speedbrake).clamp(-0.5 * STEP_S, 0.5 * STEP_S);
    }

    fn use_gear(&mut self, plan: &Plan, motion: &Motion, over_kt: f64) {
        if self.gear_lever || motion.to_go_nm > 10.0 {
            return;
        }
        let late = self.plants.iter().find_map(|plant| match plant.kind {
            Kind::GearLate(gate) => {
                Some(self.seconds_to(gate, motion) <= plan.handling().gear_transit_s - plant.size)
            }
            _ => None,
        });
        let for_drag = over_kt > 11.0 && motion.height_ft < 3200.0 && motion.to_go_nm < 8.8;
        self.gear_lever = late.unwrap_or(motion.height_ft < plan.gear_ft || for_drag);
    }

    fn use_flap(&mut self, plan: &Plan, motion: &Motion, shown_kt: f64) {
        let next = self.lever + 1;
        if next > plan.landing_lever || self.since_selection_s < 5.0 {
            return;
        }
        let limit = plan.aircraft().lever[next].limit_kt;
        let low = motion.height_ft < 1350.0;
        let (mut within, mut speed) = match next {
            1 => (motion.to_go_nm < 17.0, plan.selection_kt[1]),
            2 => (motion.to_go_nm < 12.0, plan.selection_kt[2]),
            3 => (
                self.gear_lever && motion.height_ft < plan.gear_ft,
                plan.selection_kt[3],
            ),
            _ => (motion.height_ft < plan.full_flap_ft, plan.selection_kt[4]),
        };
        // Heavy: the band below the limit is narrow, and the speed is not let go below it.
        let lowest = plan.aircraft().min_manoeuvre_kt(self.lever, plan.mass_kg);
        speed = speed.max((lowest - 3.0).min(limit - 3.0));
        // Fast for a while: flap is taken for its drag as soon as there is a margin.
        if self.high_for_s > 20.0 {
            speed = speed.max(limit - 12.0);
        }
        // Low and still unconfigured: taken as soon as the limit allows.
        if low {
            (within, speed) = (true, limit - 2.0);
        }
        let first_landing = plan.aircraft().first_landing_lever();
        for plant in &self.plants {
            match plant.kind {
                Kind::Selection(lever) if lever == next => {
                    (within, speed) = (motion.to_go_nm < 24.0, limit - 5.0 + plant.size)
                }
                Kind::FlapLate(gate) if next >= first_landing => {
                    let travel_s = (plan.aircraft().lever[first_landing].flap_deg
                        - 0.5
                        - plan.aircraft().lever[first_landing - 1].flap_deg)
                        / plan.handling().flap_deg_per_s;
                    within = self.seconds_to(gate, motion) <= travel_s - plant.size;
                    speed = limit - 2.0;
                }
                _ => {}
            }
        }
        if within && shown_kt <= speed {
            self.lever = next;
            self.since_selection_s = 0.0;
            if let Some(plant) = self
                .plants
                .iter()
                .find(|plant| plant.kind == Kind::Gust(next))
            {
                self.since_gust_s = Some(0.0);
                self.gust_kt = plant.size;
            }
        }
    }

    fn act_missed(&mut self, plan: &Plan, motion: &Motion, cas_kt: f64) {
        let since = motion.since_phase_s;
        self.toga = since < 25.0;
        self.near_ground = false;
        self.speedbrake = 0.0;
        self.thrust_pct = if since < 40.0 { Some(91.0) } else { None };
        self.wish_kt_per_s = (0.12 * (190.0 - cas_kt)).clamp(-1.0, 1.0);
        if since > 7.0 && self.gear_lever {
            self.gear_lever = false;
            self.gear_s = plan.handling().gear_transit_s;
        }
        let may_retract = cas_kt
            > plan
                .aircraft()
                .min_manoeuvre_kt(self.lever.saturating_sub(1), plan.mass_kg)
                + 2.0;
        if self.lever > 1
            && self.since_selection_s > 8.0
            && ((since > 3.0 && self.lever == plan.landing_lever) || (since > 25.0 && may_retract))
        {
            self.lever -= 1;
            self.since_selection_s = 0.0;
        }
    }

    /// A circuit back to the same runway begins: nothing is planted in it.
    pub(crate) fn start_circuit(&mut self) {
        self.plants.clear();
        self.guidance.forget_plants();
        self.thrust_pct = None;
        self.since_pulse_s = None;
    }

    /// Seconds until a gate, at the present ground speed.
    pub(crate) fn seconds_to(&self, gate: crate::plan::plant::Gate, motion: &Motion) -> f64 {
        (motion.to_go_nm - self.guidance.gate_nm(gate)) * 3600.0 / motion.ground_speed()
    }

    /// Loss of energy height per air NM at idle in the present configuration.
    pub(crate) fn loss_ft_per_nm(&self, plan: &Plan, cas_kt: f64) -> f64 {
        let loss = &plan.aircraft().loss_ft_per_nm;
        let ratio = cas_kt / (1.12 * plan.aircraft().min_manoeuvre_kt(0, plan.mass_kg));
        let clean = loss.clean
            * if self.lever == 0 {
                0.55 * ratio * ratio + 0.45 / (ratio * ratio)
            } else {
                1.0
            };
        let gear_share = if self.gear_lever { 1.0 } else { 0.0 };
        // The table's gear figure includes an approach flap setting.
        let gear = (loss.gear - loss.clean - 90.0).max(80.0) * gear_share;
        let position = self.flap_deg;
        let angles: Vec<f64> = plan
            .aircraft()
            .lever
            .iter()
            .map(|lever| lever.flap_deg)
            .collect();
        let flap = crate::world::types::interpolate(
            &angles,
            &plan.handling().flap_loss_ft_per_nm,
            position,
        );
        clean + gear + flap + (loss.speedbrake - loss.clean) * self.speedbrake
    }

    /// Wanted vertical speed, ft/s.
    pub(crate) fn climb_command_fps(&self, plan: &Plan, motion: &Motion) -> f64 {
        if motion.phase == Phase::Missed {
            if motion.since_phase_s < 1.5 {
                return motion.climb_fps;
            }
            let handling = plan.handling();
            let share = ((motion.n1_pct - handling.idle_pct) / (100.0 - handling.idle_pct))
                .max(0.0)
                .to_power(1.6);
            let net = share * handling.full_thrust_ft_per_nm
                - self.loss_ft_per_nm(plan, motion.tas_kt * 0.97);
            return (0.7 * net / FT_PER_NM * motion.tas_kt * FPS_PER_KT).clamp(6.0, 38.0);
        }
        self.guidance.climb_command_fps(plan, motion)
    }

    /// Acceleration the crew wants, kt a second.
    pub(crate) fn acceleration_wish(&self) -> f64 {
        self.wish_kt_per_s
    }

    /// N1 set by hand, where it is.
    pub(crate) fn thrust_override_pct(&self) -> Option<f64> {
        self.thrust_pct
    }
}
