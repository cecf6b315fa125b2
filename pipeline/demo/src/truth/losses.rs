//! What an approach lost at idle in each configuration: the drag of the model, averaged over the way.

use crate::flying::state::{History, STEP_S, Span, State};
use crate::folder::rows::LossRow;
use crate::plan::Plan;
use crate::world::atmosphere::kinetic_ft;

/// Thrust this little above idle is idle.
const IDLE_WITHIN_PCT: f64 = 1.0;
/// Shorter stretches begin and end with a change of something.
const STRETCH_NM: f64 = 0.5;
/// Approaches with less way in a configuration say little about it.
const LEAST_NM: f64 = 1.0;

/// The configuration of a state, where it is one of the four.
fn configuration(state: &State) -> Option<&'static str> {
    let stowed = state.speedbrake <= 0.1;
    if state.gear_lever != state.gear_down {
        return None;
    }
    match (state.gear_down, state.lever > 0) {
        (true, true) if stowed => Some("gear"),
        (false, true) if stowed => Some("flap"),
        (false, false) if stowed => Some("clean"),
        (false, false) if state.speedbrake >= 0.75 => Some("speedbrake"),
        _ => None,
    }
}

/// One row a configuration that was flown at idle for a mile.
pub(crate) fn loss_rows(
    plan: &Plan,
    history: &History,
    span: &Span,
    (flight_id, approach_no): (&str, i32),
) -> Vec<LossRow> {
    let states = &history.states[span.first..span.end];
    let own = |state: &State| {
        let idle = state.n1_pct <= plan.handling().idle_pct + IDLE_WITHIN_PCT;
        configuration(state).filter(|_| idle && state.height_ft > 200.0)
    };
    let rows = ["clean", "flap", "speedbrake", "gear"].map(|name| {
        let (mut air_nm, mut drag_ft, mut shear_ft) = (0.0, 0.0, 0.0);
        for stretch in states.chunk_by(|a, b| own(a) == own(b)) {
            let way = |state: &State| state.tas_kt * STEP_S / 3600.0;
            let length_nm: f64 = stretch.iter().map(way).sum();
            if own(&stretch[0]) != Some(name) || length_nm < STRETCH_NM {
                continue;
            }
            air_nm += length_nm;
            for state in stretch {
                drag_ft += state.drag_ft_per_nm * way(state);
                shear_ft += kinetic_ft(state.tas_kt - state.shear_kt) - kinetic_ft(state.tas_kt);
            }
        }
        (air_nm >= LEAST_NM).then(|| LossRow {
            flight_id: flight_id.to_owned(),
            approach_no,
            configuration: name.to_owned(),
            air_nm: air_nm as f32,
            drag_ft_per_nm: (drag_ft / air_nm) as f32,
            shear_ft_per_nm: (shear_ft / air_nm) as f32,
        })
    });
    rows.into_iter().flatten().collect()
}
