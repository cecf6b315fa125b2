//! Flies a plan: a point mass with energy, drag, thrust and a crew, four steps a second.
//!
//! Energy is the state that matters: thrust less drag changes height plus V²/2g, the vertical path
//! takes its share, speed gets the rest. Everything the recorder shows follows from that.

use crate::flying::crew::Crew;
use crate::flying::disturbed::touchdown_peak_g;
use crate::flying::guidance::Guidance;
use crate::flying::motion::{Motion, advance, drag_ft_per_nm};
use crate::flying::path::{Track, glide_dots, localizer_dot_rad, localizer_range_ft};
use crate::flying::state::{Ending, History, Phase, STEP_S, Span, State};
use crate::plan::{Plan, Touch};
use crate::steady::Steady as _;
use crate::world::atmosphere::{
    FPS_PER_KT, FT_PER_NM, G_FPS2, cas_kt, field_pressure_altitude_ft, pressure_altitude_ft,
};
use crate::world::wind::{Gust, Gusts, load_g_per_kt};

/// Flies the plan from the first sample to the end of the record.
pub(crate) fn fly(plan: &Plan) -> History {
    let field_ft = field_pressure_altitude_ft(plan.end.elevation_ft, plan.qnh_hpa);
    let vref_kt = reference_speed_kt(plan);
    let mut crew = Crew::new(plan, vref_kt);
    let mut track = plan.routing.track.clone();
    let mut gusts = Gusts::new(plan.seed, plan.number, &plan.wind);
    let mut motion = Motion::start(plan, field_ft, &crew);
    let mut states: Vec<State> = Vec::with_capacity(3000);
    let mut spans = vec![Span {
        first: 0,
        end: 0,
        ending: Ending::GoAround,
        crossing_s: None,
    }];
    let comes_back = plan.second_approach || plan.touch.is_some();
    loop {
        let before = states.last().map_or(f64::MAX, |state| state.to_go_nm);
        let gust = gusts.next(STEP_S, motion.air_speed_kt(), motion.height_ft);
        let state = step(plan, &track, &mut motion, &mut crew, field_ft, &gust);
        let current = spans.len() - 1;
        if before > 0.0 && state.to_go_nm <= 0.0 && motion.phase != Phase::Missed {
            spans[current].crossing_s = Some(state.time_s);
        }
        states.push(state);
        match motion.phase {
            Phase::Approach
                if state.height_ft <= -state.to_go_nm * FT_PER_NM * plan.end.slope
                    && state.to_go_nm < 0.2 =>
            {
                spans[current].end = states.len();
                spans[current].ending = match plan.touch {
                    Some(Touch::Training) if motion.approach == 0 => Ending::TouchAndGo,
                    Some(Touch::Rejected) if motion.approach == 0 => Ending::GoAroundTouched,
                    _ => Ending::Landing,
                };
                motion.contact_sink_fps = -state.vertical_speed_fpm / 60.0;
                motion.enter(Phase::Roll);
            }
            Phase::Approach
                if motion.approach == 0
                    && plan
                        .go_around_ft
                        .is_some_and(|height| state.height_ft < height) =>
            {
                spans[current].end = states.len();
                motion.enter(Phase::Missed);
                if comes_back {
                    track = join_circuit(plan, &mut motion);
                }
            }
            Phase::Roll if motion.approach == 0 && plan.touch.is_some() => {
                let (headwind, _) = plan.wind.components(33.0, plan.end.bearing_deg);
                let set_s = plan.touch.map_or(0.0, Touch::rolls_s);
                // Off again once thrust is there and the speed of the contact is back.
                if motion.since_phase_s > set_s + 4.0
                    && motion.ground_speed_kt + headwind > vref_kt - 4.0
                {
                    motion.tas_kt = motion.ground_speed_kt + headwind;
                    motion.headwind_kt = f64::NAN;
                    motion.enter(Phase::Missed);
                    track = join_circuit(plan, &mut motion);
                }
            }
            Phase::Roll if state.ground_speed_kt < 32.0 => break,
            Phase::Missed
                if comes_back
                    && state.height_ft > Guidance::circuit_height_ft(state.to_go_nm) - 120.0 =>
            {
                motion.approach = 1;
                motion.enter(Phase::Approach);
                crew.start_circuit();
                spans.push(Span {
                    first: states.len(),
                    end: 0,
                    ending: Ending::GoAround,
                    crossing_s: None,
                });
            }
            Phase::Missed if !comes_back && motion.since_phase_s > 130.0 => break,
            _ => {}
        }
        // A plan that never lands would be a fault of ours; it must not hang a run.
        if states.len() > 12_000 {
            let length = states.len();
            if let Some(span) = spans.last_mut().filter(|span| span.end == 0) {
                span.end = length;
            }
            break;
        }
    }
    place_start(&states, &mut spans, field_ft);
    History {
        states,
        spans,
        field_ft,
        vref_kt,
    }
}

/// The track of a circuit back to the same runway; all of it lies ahead.
fn join_circuit(plan: &Plan, motion: &mut Motion) -> Track {
    let (circuit, length_nm) = Track::circuit(6.0, 14.0, 1.65, plan.circuit_right);
    motion.to_go_nm += length_nm;
    circuit
}

/// An approach begins where the descent last passed 10,000 ft above the field, a later one at the
/// top of the climb before it.
fn place_start(states: &[State], spans: &mut [Span], field_ft: f64) {
    let above = |state: &State| state.pressure_altitude_ft - field_ft > 10_000.0;
    if let Some(last) = states[..spans[0].end].iter().rposition(above) {
        spans[0].first = last + 1;
    }
    for index in 1..spans.len() {
        let range = spans[index - 1].end..spans[index].end;
        let top = range.fold(spans[index - 1].end, |best, index| {
            if states[index].pressure_altitude_ft > states[best].pressure_altitude_ft {
                index
            } else {
                best
            }
        });
        spans[index].first = top;
    }
}

/// Reference speed of the flight, kt.
pub(crate) fn reference_speed_kt(plan: &Plan) -> f64 {
    let table = plan.aircraft().vref_kt(plan.mass_kg);
    // Recorded as the flight management shows it: whole knots, more with less flap.
    if plan.type_index == 0 {
        (table + if plan.landing_lever == 3 { 5.0 } else { 0.0 }).round()
    } else {
        table
    }
}

/// The state at this moment; then everything moves one step on.
fn step(
    plan: &Plan,
    track: &Track,
    motion: &mut Motion,
    crew: &mut Crew,
    field_ft: f64,
    gust: &Gust,
) -> State {
    let handling = plan.handling();
    let pressure = pressure_altitude_ft(field_ft, motion.height_ft, plan.deviation_k);
    let point = track.at(motion.to_go_nm);
    let track_deg = (plan.end.bearing_deg + point.track_deg).rem_euclid(360.0);
    let (headwind, crosswind) = plan.wind.components(motion.height_ft, track_deg);
    let airborne = motion.phase != Phase::Roll;
    let mut shear_kt = 0.0;
    if airborne {
        // The air slows with descent: what the headwind loses, the airspeed loses.
        if !motion.headwind_kt.is_nan() && point.curvature == 0.0 {
            shear_kt = headwind - motion.headwind_kt;
            motion.tas_kt += shear_kt;
        }
        let flat =
            (motion.tas_kt.powi(2) - (motion.climb_fps / FPS_PER_KT).powi(2) - crosswind.powi(2))
                .max(1.0)
                .sqrt();
        motion.ground_speed_kt = flat - headwind;
    }
    motion.headwind_kt = headwind;
    let gust_kt = gust.along_kt + crew.planted_gust_kt();
    let tas = if airborne {
        motion.tas_kt + gust_kt
    } else {
        motion.ground_speed_kt + headwind + gust_kt
    };
    let cas = cas_kt(tas.max(20.0), pressure, plan.deviation_k);
    crew.act(
        plan,
        motion,
        cas_kt(motion.tas_kt, pressure, plan.deviation_k),
        cas,
    );
    let pulse = crew.bank_pulse();

    let turn = point.curvature * (motion.ground_speed_kt / 3600.0);
    let bank = (motion.ground_speed_kt * FPS_PER_KT * turn / G_FPS2)
        .arc_tangent()
        .to_degrees();
    // An autopilot rolls into a turn at no more than 6 degrees a second.
    let roll_rate = (if airborne { bank } else { 0.0 } - motion.roll_deg) / 2.0;
    motion.roll_deg += roll_rate.clamp(-6.0, 6.0) * STEP_S;
    let roll_deg = motion.roll_deg + pulse.roll_deg + if airborne { gust.bank_deg } else { 0.0 };

    let drift = if airborne {
        (crosswind / tas.max(60.0))
            .clamp(-0.5, 0.5)
            .arc_sine()
            .to_degrees()
    } else {
        0.0
    };
    let fade = (motion.height_ft / 60.0).clamp(0.0, 1.0);
    let heading_deg = track_deg + drift * if airborne { fade } else { 0.0 } + pulse.heading_deg;
    let wanted_ft =
        crew.guidance
            .localizer_offset_ft(plan, motion.to_go_nm, motion.approach, motion.phase);
    motion.cross_ft += (wanted_ft - motion.cross_ft) * STEP_S / 4.0;
    let cross_ft = motion.cross_ft + pulse.offset_ft;
    let (sin, cos) = point.track_deg.to_radians().sine_cosine();
    let (out_nm, right_nm) = (
        point.out_nm + cross_ft / FT_PER_NM * sin,
        point.right_nm + cross_ft / FT_PER_NM * cos,
    );
    let available = plan.end.available_ft;
    let antenna_ft = motion.height_ft + plan.aircraft().wheels_below_antenna_ft;
    let clean = crew.lever == 0;
    let ratio =
        (plan.aircraft().min_manoeuvre_kt(crew.lever, plan.mass_kg) / cas.max(80.0)).min(1.15);
    let path_deg = (motion.climb_fps / (tas.max(50.0) * FPS_PER_KT))
        .arc_sine()
        .to_degrees();
    let (wind_kt, wind_from_deg) = plan.wind.at(motion.height_ft);
    let flare = crew.flare_pitch();
    let peak_g = touchdown_peak_g(plan, motion.contact_sink_fps);
    let state = State {
        time_s: motion.time_s,
        phase: motion.phase,
        to_go_nm: motion.to_go_nm,
        height_ft: motion.height_ft,
        pressure_altitude_ft: pressure,
        cas_kt: cas,
        tas_kt: tas,
        ground_speed_kt: motion.ground_speed_kt,
        vertical_speed_fpm: motion.climb_fps * 60.0,
        pitch_deg: if airborne {
            path_deg
                + 1.1
                + 4.4 * ratio * ratio
                + if clean { 0.4 } else { 0.0 }
                + flare
                + gust.pitch_deg
        } else {
            crew.ground_pitch(motion.since_phase_s)
        },
        roll_deg,
        heading_deg: heading_deg.rem_euclid(360.0),
        track_deg: (track_deg + pulse.heading_deg).rem_euclid(360.0),
        out_nm,
        right_nm,
        normal_g: std::array::from_fn(|half| {
            if airborne {
                (1.0 + motion.climb_rate / G_FPS2) / roll_deg.to_radians().cosine()
                    + load_g_per_kt(plan, cas, tas) * gust.vertical_kt[half]
            } else {
                let since_s = motion.since_phase_s + half as f64 * STEP_S / 2.0;
                crew.ground_g(peak_g, since_s, gust.roughness[half])
            }
        }),
        lever: crew.lever,
        flap_deg: crew.flap_deg,
        gear_lever: crew.gear_lever,
        gear_down: crew.gear_s <= 0.0,
        speedbrake: crew.speedbrake,
        n1_pct: motion.n1_pct,
        drag_ft_per_nm: drag_ft_per_nm(plan, motion, crew, pressure, roll_deg),
        shear_kt,
        glide_dots: glide_dots(
            antenna_ft,
            out_nm,
            plan.end.glide_path_deg,
            plan.end.crossing_height_ft,
        ),
        localizer_dots: (right_nm * FT_PER_NM)
            .arc_tangent_of(localizer_range_ft(out_nm, available))
            / localizer_dot_rad(available),
        toga: motion.phase != Phase::Approach && crew.toga,
        braking: motion.phase == Phase::Roll && (motion.approach > 0 || plan.touch.is_none()),
        mass_kg: plan.mass_kg + handling.burn_kg_per_s * (640.0 - motion.time_s),
        wind_kt: wind_kt.max(0.0),
        wind_from_deg: wind_from_deg.rem_euclid(360.0),
        on_ground: !airborne,
    };
    advance(plan, motion, crew, pressure, roll_deg);
    state
}
