//! The stabilised gates: each criterion at the last downward crossing, and the gate as a whole.

use crate::flying::state::{STEP_S, State};
use crate::truth::{Scene, Verdict};

/// The gate's own verdict first, then its criteria.
pub(crate) fn gate(scene: &Scene<'_>, gate_ft: f64) -> Vec<Verdict> {
    let id = format!("unstable_{gate_ft}");
    let names = [
        "speed",
        "sink",
        "glide_path",
        "localizer",
        "flap",
        "gear",
        "thrust",
        "bank",
    ];
    let field = scene.history.field_ft;
    let Some(at) = scene.last_crossing(gate_ft, |state| state.pressure_altitude_ft - field) else {
        let all = std::iter::once(id.clone()).chain(names.map(|name| format!("{id}.{name}")));
        return all.map(Verdict::unknown).collect();
    };
    let moment = Moment { scene, at, id: &id };
    let lost = scene.plan.lost;
    let resolution = scene.resolution;
    // `None` = does not apply here; a criterion that applies but was lost makes the gate unknown.
    let criteria = [
        Some(moment.speed()),
        Some(moment.sink()),
        moment.beam("glide_path", lost.ils, |state| state.glide_dots),
        moment.beam("localizer", lost.ils, |state| state.localizer_dots),
        Some(
            moment.late("flap", lost.flap, resolution.flap_s + 0.5, |state| {
                state.flap_deg >= moment.landing_deg() - 0.5
            }),
        ),
        Some(
            moment.late("gear", lost.gear, resolution.gear_s + 1.0, |state| {
                state.gear_down
            }),
        ),
        Some(moment.thrust()),
        Some(moment.bank()),
    ];
    let known = criteria.iter().flatten().all(|verdict| verdict.evaluable);
    let scaled = criteria
        .iter()
        .flatten()
        .filter_map(|verdict| Some(verdict.margin? / verdict.band?))
        .fold(f64::MIN, f64::max);
    let whole = if known {
        Verdict::measured(id.clone(), scaled, 0.0, scaled, 1.0)
    } else {
        Verdict::unknown(id.clone())
    };
    let rows = names
        .iter()
        .zip(criteria)
        .map(|(name, verdict)| verdict.unwrap_or_else(|| Verdict::unknown(format!("{id}.{name}"))));
    std::iter::once(whole).chain(rows).collect()
}

struct Moment<'a> {
    scene: &'a Scene<'a>,
    at: f64,
    id: &'a str,
}

impl Moment<'_> {
    fn name(&self, criterion: &str) -> String {
        format!("{}.{criterion}", self.id)
    }

    fn speed(&self) -> Verdict {
        let over = |state: &State| state.cas_kt - self.scene.vref_kt(state);
        let value = self.scene.value(self.at, over);
        let band = self.scene.resolution.cas_kt + 0.1 + self.scene.change(self.at, 1.0, over);
        let (limit, margin) = if value > 10.0 {
            (20.0, value - 20.0)
        } else {
            (0.0, -value)
        };
        Verdict::measured(self.name("speed"), value, limit, margin, band)
    }

    fn sink(&self) -> Verdict {
        let limit = if self.scene.plan.airport == "ZSTP" {
            1300.0
        } else {
            1000.0
        };
        // Three seconds, centred: thirteen steps.
        let mean = |at: f64| {
            (-6..=6)
                .map(|step| {
                    self.scene
                        .value(at + f64::from(step), |state| -state.vertical_speed_fpm)
                })
                .sum::<f64>()
                / 13.0
        };
        let value = mean(self.at);
        let second = 1.0 / STEP_S;
        let change = (mean(self.at - second) - value)
            .abs()
            .max((mean(self.at + second) - value).abs());
        Verdict::measured(
            self.name("sink"),
            value,
            limit,
            value - limit,
            self.scene.resolution.vertical_speed_fpm + change,
        )
    }

    fn beam(&self, criterion: &str, lost: bool, dots: fn(&State) -> f64) -> Option<Verdict> {
        if !self.scene.plan.end.ils {
            return None;
        }
        if lost {
            return Some(Verdict::unknown(self.name(criterion)));
        }
        if criterion == "glide_path"
            && self
                .scene
                .value(self.at, |state| state.localizer_dots)
                .abs()
                >= 2.0
        {
            return None;
        }
        let value = self.scene.value(self.at, dots);
        let band = self.scene.resolution.dots + self.scene.change(self.at, 1.0, dots);
        Some(Verdict::measured(
            self.name(criterion),
            value,
            if value < 0.0 { -1.0 } else { 1.0 },
            value.abs() - 1.0,
            band,
        ))
    }

    fn landing_deg(&self) -> f64 {
        let aircraft = self.scene.plan.aircraft();
        aircraft.lever[aircraft.first_landing_lever()].flap_deg
    }

    /// Seconds by which a state came after the gate; its quantity is a time, because the state
    /// itself is only true or false. A minute stands for "not at all".
    fn late(
        &self,
        criterion: &str,
        lost: bool,
        band: f64,
        set: impl Fn(&State) -> bool,
    ) -> Verdict {
        if lost {
            return Verdict::unknown(self.name(criterion));
        }
        let states = self.scene.states();
        let first = states
            .iter()
            .rposition(|state| !set(state))
            .map_or(0, |index| index + 1);
        let late_s = if first == states.len() {
            60.0
        } else {
            (first as f64 - self.at) * STEP_S
        };
        Verdict::measured(self.name(criterion), late_s, 0.0, late_s, band)
    }

    fn thrust(&self) -> Verdict {
        let limit = self.scene.plan.aircraft().approach.min_thrust_pct;
        let n1 = |state: &State| state.n1_pct;
        let value = self.scene.value(self.at, n1);
        let band = self.scene.resolution.n1_pct + self.scene.change(self.at, 1.0, n1);
        Verdict::measured(self.name("thrust"), value, limit, limit - value, band)
    }

    fn bank(&self) -> Verdict {
        let roll = |state: &State| state.roll_deg.abs();
        let value = self.scene.value(self.at, roll);
        let band = 1.5 * self.scene.resolution.roll_deg + self.scene.change(self.at, 1.0, roll);
        Verdict::measured(self.name("bank"), value, 30.0, value - 30.0, band)
    }
}
