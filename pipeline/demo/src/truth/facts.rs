//! What was flown: facts of an approach, and its state at the checkpoints, from the noise-free history.

use crate::flying::disturbed::touchdown_peak_g;
use crate::flying::state::{Ending, History, Phase, STEP_S, Span, State};
use crate::folder::rows::{ApproachRow, CheckpointRow};
use crate::plan::descent::planning_height_ft;
use crate::plan::{Plan, Touch};
use crate::recorder::Resolution;
use crate::steady::Steady as _;
use crate::truth::Scene;
use crate::world::atmosphere::FT_PER_NM;

/// Checkpoints by track distance, NM, and by height above the threshold, ft.
const DISTANCES_NM: [f64; 7] = [20.0, 15.0, 10.0, 7.0, 5.0, 4.0, 3.0];
const HEIGHTS_FT: [f64; 2] = [1000.0, 500.0];

/// One approach, whole.
pub(crate) fn approach_row(
    plan: &Plan,
    history: &History,
    span: &Span,
    (flight_id, approach_no, month): (&str, i32, &str),
) -> ApproachRow {
    let states = &history.states[span.first..span.end];
    let last = &states[states.len() - 1];
    let aal = |state: &State| (state.pressure_altitude_ft - history.field_ft) as f32;
    let first = |when: &dyn Fn(&State) -> bool| states.iter().find(|state| when(state));
    let landing_lever = plan.aircraft().first_landing_lever();
    let landing_deg = plan.aircraft().lever[landing_lever].flap_deg - 0.5;
    let at_500 = states.iter().rfind(|state| aal(state) >= 500.0);
    let headwind = |height_ft| plan.wind.components(height_ft, plan.end.bearing_deg).0;
    let touched = span.ending.touched();
    let crossing = span
        .crossing_s
        .filter(|_| last.phase == Phase::Approach)
        .and_then(|time_s| states.iter().find(|state| state.time_s >= time_s));
    ApproachRow {
        flight_id: flight_id.to_owned(),
        approach_no,
        airport: plan.airport.to_owned(),
        runway: plan.end.name.to_owned(),
        aircraft_type: plan.aircraft().aircraft_type.clone(),
        month: month.to_owned(),
        approach_kind: if plan.end.ils { "ils" } else { "visual" }.to_owned(),
        outcome: span.ending.name().to_owned(),
        start_s: states[0].time_s,
        end_s: span.end as f64 * STEP_S,
        touchdown_s: touched.then_some(span.end as f64 * STEP_S),
        threshold_crossing_s: crossing.and(span.crossing_s),
        end_height_aal_ft: aal(last),
        temperature_deviation_k: plan.deviation_k as f32,
        threshold_pressure_altitude_ft: history.field_ft as f32,
        vref_kt: history.vref_kt as f32,
        lost_flap: plan.lost.flap,
        lost_gear: plan.lost.gear,
        lost_ils: plan.lost.ils && plan.end.ils,
        planted: plan
            .plants
            .iter()
            .filter(|_| approach_no == 1)
            .map(|plant| plant.kind.rule())
            .collect::<Vec<_>>()
            .join(" "),
        flight_purpose: if plan.touch == Some(Touch::Training) {
            "training"
        } else {
            "line"
        }
        .to_owned(),
        style: plan.style.name().to_owned(),
        intercept: if approach_no == 1 {
            plan.bend.intercept.name()
        } else {
            "circuit"
        }
        .to_owned(),
        arrival: plan.arrival.name().to_owned(),
        shortcut_nm: plan.routing.shortcut_nm as f32,
        holding_nm: plan.routing.hold_nm as f32,
        vectored: plan.routing.vectored,
        mass_ratio: plan.mass_ratio() as f32,
        headwind_kt: at_500.map_or_else(|| headwind(500.0), |state| headwind(state.height_ft))
            as f32,
        first_flap_nm: first(&|state| state.lever > 0).map(|state| state.to_go_nm as f32),
        gear_down_nm: first(&|state| state.gear_down).map(|state| state.to_go_nm as f32),
        gear_down_height_aal_ft: first(&|state| state.gear_down).map(aal),
        landing_flap_height_aal_ft: first(&|state| state.flap_deg >= landing_deg).map(aal),
        speedbrake_against_thrust_s: (states
            .iter()
            .filter(|state| state.speedbrake > 0.1 && state.n1_pct > plan.handling().idle_pct + 8.0)
            .count() as f64
            * STEP_S) as f32,
        threshold_height_ft: crossing.map(|state| state.height_ft as f32),
        threshold_cas_kt: crossing.map(|state| state.cas_kt as f32),
        touchdown_distance_ft: touched.then_some((-last.to_go_nm * FT_PER_NM) as f32),
        touchdown_sink_fpm: touched.then_some(-last.vertical_speed_fpm as f32),
        touchdown_peak_g: touched
            .then(|| touchdown_peak_g(plan, -last.vertical_speed_fpm / 60.0) as f32),
        go_around_height_aal_ft: (span.ending == Ending::GoAround).then(|| aal(last)),
    }
}

/// The checkpoints that an approach passed, in the order in which they are flown.
pub(crate) fn checkpoint_rows(
    plan: &Plan,
    history: &History,
    span: &Span,
    (flight_id, approach_no): (&str, i32),
) -> Vec<CheckpointRow> {
    let scene = Scene {
        plan,
        history,
        span,
        resolution: Resolution::of(plan.type_index),
    };
    let aal = |state: &State| state.pressure_altitude_ft - history.field_ft;
    let by_distance = DISTANCES_NM.map(|at_nm| {
        (
            format!("{at_nm}nm"),
            scene.last_crossing(at_nm, |state| state.to_go_nm),
        )
    });
    let by_height = HEIGHTS_FT.map(|at_ft| (format!("{at_ft}ft"), scene.last_crossing(at_ft, aal)));
    let gate = by_height[0].1;
    by_distance
        .into_iter()
        .chain(by_height)
        .filter_map(|(checkpoint, at)| {
            let at = at?;
            Some(checkpoint_row(
                &scene,
                at,
                gate,
                checkpoint,
                (flight_id, approach_no),
            ))
        })
        .collect()
}

fn checkpoint_row(
    scene: &Scene<'_>,
    at: f64,
    gate: Option<f64>,
    checkpoint: String,
    (flight_id, approach_no): (&str, i32),
) -> CheckpointRow {
    let plan = scene.plan;
    let states = scene.states();
    let here = &states[(at.round() as usize).min(states.len() - 1)];
    let value = |read: fn(&State) -> f64| scene.value(at, read) as f32;
    let to_go_nm = scene.value(at, |state| state.to_go_nm);
    let vapp = plan.aircraft().vapp_kt(scene.vref_kt(here));
    // Still air flown between two indices, NM.
    let air_nm = |from: f64, to: f64| {
        states[from as usize..(to as usize).min(states.len())]
            .iter()
            .map(|state| state.tas_kt * STEP_S / 3600.0)
            .sum::<f64>()
    };
    let mut back = at as usize;
    let mut flown_nm = 0.0;
    while back > 0 && flown_nm < 1.0 {
        back -= 1;
        flown_nm += states[back].tas_kt * STEP_S / 3600.0;
    }
    let lost_kt = states[back].cas_kt - scene.value(at, |state| state.cas_kt);
    let (headwind, _) = plan.wind.components(here.height_ft, here.track_deg);
    CheckpointRow {
        flight_id: flight_id.to_owned(),
        approach_no,
        checkpoint,
        time_s: value(|state| state.time_s),
        distance_nm: to_go_nm as f32,
        direct_nm: value(|state| state.out_nm.hypotenuse(state.right_nm)),
        air_distance_to_gate_nm: gate
            .filter(|gate| *gate > at)
            .map(|gate| air_nm(at, gate) as f32),
        height_ft: value(|state| state.height_ft),
        planning_height_ft: planning_height_ft(&plan.end, to_go_nm) as f32,
        profile_height_ft: plan.end.profile_height_ft(to_go_nm) as f32,
        energy_excess_ft: scene.value(at, |state| scene.excess_ft(state)) as f32,
        cas_kt: value(|state| state.cas_kt),
        target_cas_kt: plan.aircraft().target_cas_kt(to_go_nm, vapp) as f32,
        lever: here.lever as i32,
        gear_down: here.gear_down,
        speedbrake: here.speedbrake as f32,
        n1_pct: value(|state| state.n1_pct),
        headwind_kt: headwind as f32,
        decel_kt_per_nm: (flown_nm >= 1.0).then_some((lost_kt / flown_nm) as f32),
    }
}
