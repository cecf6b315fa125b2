//! The state of an approach at its checkpoints, from the noise-free history.

use crate::flying::state::{History, STEP_S, Span, State};
use crate::folder::rows::CheckpointRow;
use crate::plan::Plan;
use crate::plan::descent::planning_height_ft;
use crate::recorder::Resolution;
use crate::steady::Steady as _;
use crate::truth::Scene;
use crate::world::atmosphere::{kinetic_ft, tas_kt};
use crate::world::types::Loss;

/// Checkpoints by track distance, NM, and by height above the threshold, ft.
const DISTANCES_NM: [f64; 7] = [20.0, 15.0, 10.0, 7.0, 5.0, 4.0, 3.0];
const HEIGHTS_FT: [f64; 2] = [1000.0, 500.0];
/// Energy is planned for the place where the glide path is this high.
const GATE_FT: f64 = 1000.0;
/// Way to that place that is too short to lose anything over.
const AT_GATE_NM: f64 = 0.5;

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
    let gate_nm = (GATE_FT - plan.end.crossing_height_ft) / plan.end.gradient_ft_per_nm();
    let gate = (
        gate_nm,
        scene.last_crossing(gate_nm, |state| state.to_go_nm),
    );
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
    (gate_nm, gate): (f64, Option<f64>),
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
    let left_nm = to_go_nm - gate_nm;
    let way_nm = gate
        .filter(|_| left_nm >= AT_GATE_NM)
        .map(|gate| air_nm(at, gate));
    let aim_kt = tas_kt(vapp, scene.history.field_ft + GATE_FT, plan.deviation_k);
    let energy_ft = scene.value(at, |state| state.height_ft + kinetic_ft(state.tas_kt));
    let needed = way_nm.map(|nm| (energy_ft - GATE_FT - kinetic_ft(aim_kt)) / nm);
    let excess_ft = scene.value(at, |state| scene.excess_ft(state));
    let loss = &plan.aircraft().loss_ft_per_nm;
    let class = if left_nm < AT_GATE_NM {
        Some(class(excess_ft, f64::INFINITY, loss))
    } else {
        needed.map(|needed| class(excess_ft, needed, loss))
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
        air_distance_to_gate_nm: way_nm.map(|nm| nm as f32),
        height_ft: value(|state| state.height_ft),
        planning_height_ft: planning_height_ft(&plan.end, to_go_nm) as f32,
        profile_height_ft: plan.end.profile_height_ft(to_go_nm) as f32,
        energy_excess_ft: excess_ft as f32,
        loss_needed_ft_per_nm: needed.map(|loss| loss as f32),
        energy_class: class.map(str::to_owned),
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

/// What it takes to be rid of an excess.
fn class(excess_ft: f64, needed_ft_per_nm: f64, loss: &Loss) -> &'static str {
    let enough = |loss_ft_per_nm: f64| needed_ft_per_nm <= loss_ft_per_nm;
    match excess_ft {
        low if low < -300.0 => "low",
        on if on <= 300.0 => "on_profile",
        _ if enough(loss.clean) => "clean",
        _ if enough(loss.speedbrake.max(loss.flap)) => "drag",
        _ if enough(loss.gear) => "gear",
        _ => "beyond",
    }
}
