//! The commanded path: height, speed and centreline by track distance.

use crate::flying::motion::Motion;
use crate::flying::path::{localizer_dot_rad, localizer_range_ft};
use crate::flying::state::Phase;
use crate::plan::Plan;
use crate::plan::descent::{Bend, Descent, HOLD_FROM_NM};
use crate::plan::plant::{Gate, Kind, Plant};
use crate::plan::style::Intercept;
use crate::steady::Steady as _;
use crate::world::atmosphere::{FPS_PER_KT, FT_PER_NM, isa_k};

/// Speed in a holding, kt.
const HOLD_KT: f64 = 225.0;

/// What is flown towards.
pub(crate) struct Guidance {
    plants: Vec<Plant>,
    descent: Descent,
    /// Where the final path is joined, NM.
    join_nm: f64,
    vref_kt: f64,
    /// Track distance of the gates at 1,000 and 500 ft.
    gates_nm: [f64; 2],
}

impl Guidance {
    /// The commanded path of a plan with its planted heights.
    pub(crate) fn new(plan: &Plan, vref_kt: f64) -> Self {
        let mut offsets = [0.0; 3];
        for plant in &plan.plants {
            let share = match plant.kind {
                Kind::Energy20 => [1.0, 0.5, 0.0],
                Kind::High15 => [0.6, 1.0, 0.3],
                Kind::Energy10 => [0.2, 0.6, 1.0],
                _ => continue,
            };
            for (offset, share) in offsets.iter_mut().zip(share) {
                *offset += share * plant.size;
            }
        }
        // Planted heights replace the drawn ones.
        let planted = offsets.iter().any(|offset| *offset != 0.0);
        let descent = if planted {
            let bend = Bend {
                offsets_ft: offsets,
                intercept: Intercept::Descending,
                ..plan.bend
            };
            Descent::new(&plan.end, &bend)
        } else {
            plan.descent.clone()
        };
        let mut guidance = Self {
            plants: plan.plants.clone(),
            descent,
            join_nm: 0.0,
            vref_kt,
            gates_nm: [0.0; 2],
        };
        let (platform, path) = (
            guidance.descent.platform_ft(),
            guidance.path_height_ft(plan, 10.0),
        );
        guidance.join_nm = if platform < path - 60.0 {
            ((platform - 40.0 - guidance.path_height_ft(plan, 0.0)) / plan.end.gradient_ft_per_nm())
                .max(5.0)
        } else {
            (8.8 - (platform - path).max(0.0) / 130.0).clamp(5.5, 9.0)
        };
        guidance.gates_nm = [1000.0, 500.0].map(|gate: f64| {
            let height = gate * (1.0 + plan.deviation_k / isa_k(plan.end.elevation_ft));
            (height - guidance.path_height_ft(plan, 0.0)) / plan.end.gradient_ft_per_nm()
        });
        guidance
    }

    /// Nothing planted from here on.
    pub(crate) fn forget_plants(&mut self) {
        self.plants.clear();
    }

    /// Track distance at which a gate is passed.
    pub(crate) fn gate_nm(&self, gate: Gate) -> f64 {
        if gate.0 > 750.0 {
            self.gates_nm[0]
        } else {
            self.gates_nm[1]
        }
    }

    /// Height of the wheels when the antenna is on the glide path.
    fn path_height_ft(&self, plan: &Plan, to_go_nm: f64) -> f64 {
        plan.end.profile_height_ft(to_go_nm) - plan.aircraft().wheels_below_antenna_ft
    }

    /// Height on final: the path, the hand's wander, and what is planted.
    fn final_height_ft(&self, plan: &Plan, to_go_nm: f64) -> f64 {
        let calm = (to_go_nm / 1.2).clamp(0.0, 1.0);
        let mut dots = plan.glide_wander.at(to_go_nm) * calm;
        let mut feet = 0.0;
        for plant in &self.plants {
            match plant.kind {
                Kind::GlidePath(gate, side) => {
                    dots = dots * (1.0 - self.bump(gate, to_go_nm))
                        + side * plant.size * self.bump(gate, to_go_nm)
                }
                Kind::Sink(gate) => {
                    let width_nm = if gate.0 > 750.0 { 0.45 } else { 0.35 };
                    let u = (to_go_nm - self.gate_nm(gate)) / width_nm;
                    feet += plant.size * width_nm * 60.0 / 138.0 * u * (-u * u / 2.0).exponential();
                }
                _ => {}
            }
        }
        let range_ft = to_go_nm.max(0.0) * FT_PER_NM
            + plan.end.crossing_height_ft / plan.end.glide_path_deg.to_radians().tangent();
        let path = plan.end.glide_path_deg;
        feet + self.path_height_ft(plan, to_go_nm)
            + range_ft
                * ((path * (1.0 + 0.12 * dots)).to_radians().tangent()
                    - path.to_radians().tangent())
    }

    fn bump(&self, gate: Gate, to_go_nm: f64) -> f64 {
        let half_nm = if gate.0 > 750.0 { 1.5 } else { 1.0 };
        let part = ((to_go_nm - self.gate_nm(gate)) / half_nm).abs();
        if part < 1.0 {
            (std::f64::consts::FRAC_PI_2 * part).cosine().powi(2)
        } else {
            0.0
        }
    }

    /// Height of a circuit after a go-around: a shallow descent, so that its top is a top.
    pub(crate) fn circuit_height_ft(to_go_nm: f64) -> f64 {
        3000.0 + 60.0 * (to_go_nm - 12.0).max(0.0)
    }

    /// Commanded height (ft) and gradient (ft per NM).
    pub(crate) fn height_command(&self, plan: &Plan, to_go_nm: f64, approach: usize) -> (f64, f64) {
        let height = |distance: f64| self.command(plan, distance, approach);
        // Looking slightly ahead makes up for the lag of the aircraft.
        let ahead = to_go_nm - 0.13;
        (
            height(to_go_nm),
            (height(ahead + 0.08) - height(ahead - 0.08)) / 0.16,
        )
    }

    fn command(&self, plan: &Plan, to_go_nm: f64, approach: usize) -> f64 {
        if approach > 0 {
            return Self::circuit_height_ft(to_go_nm).min(self.final_height_ft(plan, to_go_nm));
        }
        if to_go_nm <= self.join_nm {
            return self.final_height_ft(plan, to_go_nm);
        }
        if to_go_nm < 10.0 {
            let join = self.final_height_ft(plan, self.join_nm);
            return join
                + (to_go_nm - self.join_nm) / (10.0 - self.join_nm)
                    * (self.descent.platform_ft() - join);
        }
        // Gone where the plan's distances are measured close in.
        let loose = ((to_go_nm - 11.0) / 3.0).clamp(0.0, 1.0);
        self.descent.at(to_go_nm) + loose * plan.descent_wander.at(to_go_nm)
    }

    /// Commanded CAS, kt.
    pub(crate) fn speed_command(&self, plan: &Plan, to_go_nm: f64, approach: usize) -> f64 {
        let vapp = plan.aircraft().vapp_kt(self.vref_kt);
        let late_nm = plan.late_nm.max(if approach > 0 { -0.6 } else { -9.0 });
        // What is added for wind comes with the approach speed, so that speed never rises again.
        let scheduled = plan
            .speeds
            .at(to_go_nm + late_nm, vapp + plan.wind_additive_kt);
        let mut speed = scheduled + plan.fast_kt * ((to_go_nm - 7.0) / 3.0).clamp(0.0, 1.0);
        let before_hold_nm = to_go_nm - HOLD_FROM_NM - plan.bend.hold_nm;
        if approach == 0 && before_hold_nm > 0.0 {
            // Above 10,000 ft speeds are higher.
            speed += 4.0 * before_hold_nm;
        } else if approach == 0 && plan.bend.hold_nm > 0.0 && to_go_nm > HOLD_FROM_NM - 4.0 {
            speed = speed.min(HOLD_KT.max(plan.aircraft().min_manoeuvre_kt(0, plan.mass_kg) + 6.0));
        }
        if approach > 0 {
            speed =
                speed.min(200.0_f64.max(plan.aircraft().min_manoeuvre_kt(1, plan.mass_kg) + 10.0));
        }
        for plant in &self.plants {
            match plant.kind {
                Kind::SpeedHigh(gate) => {
                    let ahead = to_go_nm - self.gate_nm(gate);
                    let held = self.vref_kt + plant.size + (ahead + 0.12).min(0.0) * 22.0;
                    speed = speed.max(held);
                }
                Kind::SpeedLow(gate) => {
                    let ahead = to_go_nm - self.gate_nm(gate);
                    if (-0.15..0.9).contains(&ahead) {
                        speed = self.vref_kt + plant.size;
                    }
                }
                // A selection at a chosen speed needs that speed to be passed on the way down.
                Kind::Selection(1) if to_go_nm > 21.0 => {
                    speed = speed.max(plan.aircraft().lever[1].limit_kt + plant.size + 3.0)
                }
                _ => {}
            }
        }
        speed
    }

    /// Wanted vertical speed on the approach, ft/s; in the flare height alone decides.
    pub(crate) fn climb_command_fps(&self, plan: &Plan, motion: &Motion) -> f64 {
        let (height, gradient) = self.height_command(plan, motion.to_go_nm, motion.approach);
        let settle_s = if motion.to_go_nm < self.join_nm {
            6.5
        } else {
            9.0
        };
        let path =
            -gradient * motion.ground_speed() / 3600.0 + (height - motion.height_ft) / settle_s;
        // Corrections stay within what a crew would fly: no more than 350 ft/min below the path's own.
        let steepest = if motion.to_go_nm < self.join_nm {
            motion.ground_speed() * FPS_PER_KT * plan.end.glide_path_deg.to_radians().tangent()
                + 6.0
        } else {
            32.0
        };
        let path = path.clamp(-steepest, if motion.to_go_nm > 1.0 { 6.0 } else { 0.0 });
        if motion.to_go_nm < 0.5 && motion.height_ft < 130.0 {
            // The flare is flown against the runway, which may rise or fall.
            let (ground_ft, rise_fps) = if motion.to_go_nm < 0.0 {
                let slope = plan.end.slope;
                let fps = motion.ground_speed() * FPS_PER_KT;
                (-motion.to_go_nm * FT_PER_NM * slope, slope * fps)
            } else {
                (0.0, 0.0)
            };
            let above_ft = (motion.height_ft - ground_ft).max(0.0);
            let flare = plan.flare;
            let sink_fps = above_ft / flare.decay_s + flare.settle_fps;
            return path.max(-sink_fps).min(-0.9 * flare.settle_fps) + rise_fps;
        }
        path
    }

    /// Distance right of the centreline that is flown, ft.
    pub(crate) fn localizer_offset_ft(
        &self,
        plan: &Plan,
        to_go_nm: f64,
        approach: usize,
        phase: Phase,
    ) -> f64 {
        let calm = (to_go_nm / 1.0).clamp(0.0, 1.0);
        let mut dots = if phase == Phase::Roll {
            0.0
        } else {
            plan.localizer_wander.at(to_go_nm.min(20.0)) * calm
        };
        if approach == 0 {
            for plant in &self.plants {
                if let Kind::Localizer(gate, side) = plant.kind {
                    let bump = self.bump(gate, to_go_nm);
                    dots = dots * (1.0 - bump) + side * plant.size * bump;
                }
            }
        }
        dots * localizer_dot_rad(plan.end.available_ft)
            * localizer_range_ft(to_go_nm.clamp(0.0, 9.0), plan.end.available_ft)
    }
}
