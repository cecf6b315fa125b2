//! What really happened: every rule's quantity, from the noise-free history, by the definitions of
//! the rule files and nothing else.

pub(crate) mod checkpoints;
pub(crate) mod facts;
pub(crate) mod gates;
pub(crate) mod losses;

use crate::flying::state::{Ending, History, STEP_S, Span, State};
use crate::plan::Plan;
use crate::plan::descent::planning_height_ft;
use crate::recorder::Resolution;
use crate::truth::gates::gate;
use crate::world::atmosphere::{kinetic_ft, tas_kt};

/// One rule, one approach.
#[derive(Clone, Debug)]
pub(crate) struct Verdict {
    pub(crate) rule: String,
    /// Whether a recording of this flight can answer the rule.
    pub(crate) evaluable: bool,
    pub(crate) event: bool,
    /// The rule's deciding quantity at its extreme.
    pub(crate) worst: Option<f64>,
    pub(crate) limit: Option<f64>,
    /// Worst against limit, positive = event.
    pub(crate) margin: Option<f64>,
    /// How much of the margin a recorder can blur.
    pub(crate) band: Option<f64>,
}

impl Verdict {
    /// The rule cannot be answered on this approach.
    pub(crate) fn unknown(rule: String) -> Self {
        Self {
            rule,
            evaluable: false,
            event: false,
            worst: None,
            limit: None,
            margin: None,
            band: None,
        }
    }

    /// The rule's quantity was measured.
    pub(crate) fn measured(rule: String, worst: f64, limit: f64, margin: f64, band: f64) -> Self {
        Self {
            rule,
            evaluable: true,
            event: margin > 0.0,
            worst: Some(worst),
            limit: Some(limit),
            margin: Some(margin),
            band: Some(band),
        }
    }
}

/// One approach with what the judging needs.
pub(crate) struct Scene<'a> {
    pub(crate) plan: &'a Plan,
    pub(crate) history: &'a History,
    pub(crate) span: &'a Span,
    pub(crate) resolution: &'static Resolution,
}

/// All verdicts on one approach: the eight rules, and each gate's criteria.
pub(crate) fn judge(plan: &Plan, history: &History, span: &Span) -> Vec<Verdict> {
    let resolution = if plan.exact {
        Resolution::exact()
    } else {
        Resolution::of(plan.type_index)
    };
    let scene = Scene {
        plan,
        history,
        span,
        resolution,
    };
    let mut verdicts = vec![
        scene.energy_excess("energy_excess_20nm", 20.0, 1000.0),
        scene.energy_excess("energy_excess_10nm", 10.0, 800.0),
        scene.high_at_15nm(),
        scene.flap_limit(),
        scene.selection_margin(),
    ];
    verdicts.extend(gate(&scene, 1000.0));
    let low = gate(&scene, 500.0);
    let mut landed = low[0].clone();
    landed.rule = "unstable_and_landed".into();
    let has_landed = span.ending == Ending::Landing;
    landed.event &= has_landed;
    if !has_landed {
        (landed.worst, landed.limit, landed.margin, landed.band) = (None, None, None, None);
    }
    verdicts.extend(low);
    verdicts.push(landed);
    verdicts
}

impl Scene<'_> {
    /// The states of the approach segment.
    pub(crate) fn states(&self) -> &[State] {
        &self.history.states[self.span.first..self.span.end]
    }

    /// Where `value` last came down through `at` inside the segment: fractional index into
    /// [`Scene::states`].
    pub(crate) fn last_crossing(&self, at: f64, value: impl Fn(&State) -> f64) -> Option<f64> {
        let states = self.states();
        (1..states.len()).rev().find_map(|index| {
            let (before, after) = (value(&states[index - 1]), value(&states[index]));
            (before > at && after <= at)
                .then(|| index as f64 - 1.0 + (before - at) / (before - after))
        })
    }

    /// A value at a fractional index, linear in between.
    pub(crate) fn value(&self, index: f64, value: impl Fn(&State) -> f64) -> f64 {
        let states = self.states();
        let clamped = index.clamp(0.0, states.len() as f64 - 1.0);
        let low = clamped.floor() as usize;
        let high = (low + 1).min(states.len() - 1);
        let part = clamped - low as f64;
        value(&states[low]) * (1.0 - part) + value(&states[high]) * part
    }

    /// Largest change of a value within `seconds` before or after a fractional index.
    pub(crate) fn change(
        &self,
        index: f64,
        seconds: f64,
        value: impl Fn(&State) -> f64 + Copy,
    ) -> f64 {
        let here = self.value(index, value);
        let steps = (seconds / STEP_S) as i32;
        (-steps..=steps)
            .map(|step| (self.value(index + f64::from(step), value) - here).abs())
            .fold(0.0, f64::max)
    }

    /// Reference speed at a state: recorded for the first type, from the table at gross mass else.
    pub(crate) fn vref_kt(&self, state: &State) -> f64 {
        if self.plan.type_index == 0 {
            self.history.vref_kt
        } else {
            self.plan.aircraft().vref_kt(state.mass_kg)
        }
    }

    /// Energy height above the reference, ft.
    pub(crate) fn excess_ft(&self, state: &State) -> f64 {
        let plan = self.plan;
        let vapp = plan.aircraft().vapp_kt(self.vref_kt(state));
        let height = planning_height_ft(&plan.end, state.to_go_nm);
        let target = plan.aircraft().target_cas_kt(state.to_go_nm, vapp);
        let reference = height
            + kinetic_ft(tas_kt(
                target,
                self.history.field_ft + height,
                plan.deviation_k,
            ));
        state.height_ft + kinetic_ft(state.tas_kt) - reference
    }

    /// What half a step of ground speed, kept up all the way to the threshold, does to a planned
    /// height there: 300 ft for each NM by which the distance is off.
    fn distance_step_ft(&self, at: f64) -> f64 {
        let states = self.states();
        let here_s = self.value(at, |state| state.time_s);
        let end_s = states.last().map_or(here_s, |state| state.time_s);
        300.0 * 0.5 * self.resolution.ground_speed_kt * (end_s - here_s) / 3600.0
    }

    /// What one step of altitude and one of temperature do to a height.
    fn height_step_ft(&self, height_ft: f64) -> f64 {
        1.5 * self.resolution.altitude_ft + height_ft * self.resolution.temperature_k / 280.0
    }

    fn energy_excess(&self, rule: &str, distance_nm: f64, limit: f64) -> Verdict {
        let Some(at) = self.last_crossing(distance_nm, |state| state.to_go_nm) else {
            return Verdict::unknown(rule.into());
        };
        let worst = self.value(at, |state| self.excess_ft(state));
        let tas = self.value(at, |state| state.tas_kt);
        let height = self.value(at, |state| state.height_ft);
        let speed_step = kinetic_ft(tas + self.resolution.cas_kt * tas / 200.0) - kinetic_ft(tas);
        let band = self.height_step_ft(height)
            + self.distance_step_ft(at)
            + speed_step
            + self.change(at, 1.0, |state| self.excess_ft(state));
        Verdict::measured(rule.into(), worst, limit, worst - limit, band)
    }

    fn high_at_15nm(&self) -> Verdict {
        let rule = "high_at_15nm".to_owned();
        let over = |state: &State| state.height_ft - (300.0 * state.to_go_nm - 1000.0);
        let Some(at) = self.last_crossing(15.0, |state| state.to_go_nm) else {
            return Verdict::unknown(rule);
        };
        let worst = self.value(at, over);
        let band = self.height_step_ft(worst + 3500.0)
            + self.distance_step_ft(at)
            + self.change(at, 1.0, over);
        Verdict::measured(rule, worst, 1000.0, worst - 1000.0, band)
    }

    fn flap_limit(&self) -> Verdict {
        let rule = "flap_limit_exceeded".to_owned();
        let aircraft = self.plan.aircraft();
        let over = |state: &State| {
            state.cas_kt
                - aircraft.lever[state.lever]
                    .limit_kt
                    .min(aircraft.surface_limit_kt(state.flap_deg))
        };
        let within = |state: &State| {
            state.lever > 0 && state.pressure_altitude_ft - self.history.field_ft < 10_000.0
        };
        let worst = self
            .states()
            .iter()
            .enumerate()
            .filter(|(_, state)| within(state))
            .map(|(index, state)| (index, over(state)));
        let Some((index, worst)) = worst.fold(None, |best: Option<(usize, f64)>, now| match best {
            Some(best) if best.1 >= now.1 => Some(best),
            _ => Some(now),
        }) else {
            return Verdict::unknown(rule);
        };
        if self.plan.lost.flap {
            return Verdict::unknown(rule);
        }
        let band = self.resolution.cas_kt
            + self.change(index as f64, self.resolution.flap_s, |state| state.cas_kt);
        Verdict::measured(rule, worst, 0.0, worst, band)
    }

    fn selection_margin(&self) -> Verdict {
        let rule = "flap_selection_margin".to_owned();
        let states = self.states();
        let moves =
            (1..states.len()).filter(|index| states[*index].lever > states[*index - 1].lever);
        let margin = |index: usize| {
            self.plan.aircraft().lever[states[index].lever].limit_kt - states[index].cas_kt
        };
        let worst = moves.map(|index| (index, margin(index))).fold(
            None,
            |best: Option<(usize, f64)>, now| match best {
                Some(best) if best.1 <= now.1 => Some(best),
                _ => Some(now),
            },
        );
        match worst {
            _ if self.plan.lost.flap => Verdict::unknown(rule),
            Some((index, worst)) => {
                let band = self.resolution.cas_kt
                    + self.change(index as f64, self.resolution.flap_s, |state| state.cas_kt);
                Verdict::measured(rule, worst, 5.0, 5.0 - worst, band)
            }
            // Nothing was selected: the rule could not have fired.
            None => Verdict::unknown(rule),
        }
    }
}
