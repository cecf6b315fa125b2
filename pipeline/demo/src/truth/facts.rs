//! What was flown: facts of an approach, from the noise-free history.

use crate::flying::disturbed::touchdown_peak_g;
use crate::flying::state::{Ending, History, Phase, STEP_S, Span, State};
use crate::folder::rows::ApproachRow;
use crate::plan::{Plan, Touch};
use crate::world::atmosphere::FT_PER_NM;

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
