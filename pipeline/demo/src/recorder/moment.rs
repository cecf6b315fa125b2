//! The history between its steps: what a sensor sees that looks at its own time.

use crate::flying::state::{History, STEP_S, State};
use crate::plan::Plan;

/// Track distance jumps when a second approach is laid out; nothing moves that fast.
const JUMP_NM: f64 = 1.0;

/// One moment of a flight.
pub(crate) struct Moment<'a> {
    pub(crate) plan: &'a Plan,
    pub(crate) time_s: f64,
    pub(crate) state: State,
    history: &'a History,
}

impl<'a> Moment<'a> {
    /// At a time of the record; its first and last states hold beyond its ends.
    pub(crate) fn at(plan: &'a Plan, history: &'a History, time_s: f64) -> Self {
        Self {
            plan,
            time_s,
            state: state_at(history, time_s),
            history,
        }
    }

    /// The state at another time.
    pub(crate) fn state_at(&self, time_s: f64) -> State {
        state_at(self.history, time_s)
    }

    /// Normal acceleration: of the half step it falls in, so that a jolt is not evened out.
    pub(crate) fn normal_g(&self) -> f64 {
        let half_steps = (self.time_s / STEP_S * 2.0 + 1e-6).max(0.0) as usize;
        let last = self.history.states.len() - 1;
        let index = half_steps / 2;
        if index > last {
            self.history.states[last].normal_g[1]
        } else {
            self.history.states[index].normal_g[half_steps % 2]
        }
    }
}

/// Quantities that move linearly in between, all others as they were at the step before.
fn state_at(history: &History, time_s: f64) -> State {
    let states = &history.states;
    let position = (time_s / STEP_S).clamp(0.0, states.len() as f64 - 1.0);
    let index = (position + 1e-6) as usize;
    let part = position - index as f64;
    let a = &states[index];
    let Some(b) = states.get(index + 1).filter(|_| part > 1e-6) else {
        return *a;
    };
    let mix = |read: fn(&State) -> f64| read(a) + part * (read(b) - read(a));
    let turn = |read: fn(&State) -> f64| {
        let arc = (read(b) - read(a) + 180.0).rem_euclid(360.0) - 180.0;
        (read(a) + part * arc).rem_euclid(360.0)
    };
    State {
        time_s: mix(|s| s.time_s),
        to_go_nm: if (b.to_go_nm - a.to_go_nm).abs() > JUMP_NM {
            a.to_go_nm
        } else {
            mix(|s| s.to_go_nm)
        },
        height_ft: mix(|s| s.height_ft),
        pressure_altitude_ft: mix(|s| s.pressure_altitude_ft),
        cas_kt: mix(|s| s.cas_kt),
        tas_kt: mix(|s| s.tas_kt),
        ground_speed_kt: mix(|s| s.ground_speed_kt),
        vertical_speed_fpm: mix(|s| s.vertical_speed_fpm),
        pitch_deg: mix(|s| s.pitch_deg),
        roll_deg: mix(|s| s.roll_deg),
        heading_deg: turn(|s| s.heading_deg),
        track_deg: turn(|s| s.track_deg),
        out_nm: mix(|s| s.out_nm),
        right_nm: mix(|s| s.right_nm),
        flap_deg: mix(|s| s.flap_deg),
        speedbrake: mix(|s| s.speedbrake),
        n1_pct: mix(|s| s.n1_pct),
        glide_dots: mix(|s| s.glide_dots),
        localizer_dots: mix(|s| s.localizer_dots),
        mass_kg: mix(|s| s.mass_kg),
        wind_kt: mix(|s| s.wind_kt),
        wind_from_deg: turn(|s| s.wind_from_deg),
        ..*a
    }
}
