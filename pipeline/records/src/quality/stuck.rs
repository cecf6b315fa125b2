//! Values that repeat to the last digit while a related parameter shows that they cannot.
//!
//! Repeating alone proves nothing: autothrust holds airspeed, cruise holds ground speed.

use crate::flight::RawFlight;
use crate::series::{Series, resolution, turn_deg};

use super::Tallies;
use super::limits::{
    BEND_FT, COURSE_DEG, HELD_GROUND_FT, LEVEL_STUCK_FT, LEVEL_STUCK_S, RADIO_STEPS, SINK_SHARE,
    SINK_STUCK_FT, SINK_STUCK_S, SPOOL_LEAP_PCT, SPOOL_PCT, SPOOL_S, SPOOL_SHARE, SPOOL_VALUES,
    STUCK,
};
use super::runs::{Run, Steps, each_run, repeats};
use super::settable::Limits;
use super::spikes::null;

/// Nulls stuck stretches after their first sample.
pub(super) fn remove(flight: &mut RawFlight, limits: &Limits, tallies: &mut Tallies) {
    altitude(flight, limits, tallies);
    let course = ["heading_true_deg", "track_true_deg"];
    let course = course.map(|name| Series::of(flight.channels.get(name)));
    let ground = Series::of(flight.channels.get("on_ground"));
    for &(name, longest_s, related, motion) in STUCK {
        let related = Series::of(flight.channels.get(related));
        let itself = Series::of(flight.channels.get(name));
        let highest = itself.value.iter().copied().fold(f64::NAN, f64::max);
        stretch(flight, limits, tallies, name, longest_s, |run| match name {
            // Radio altimeters rest at the top of their scale: that is no fault.
            "radio_altitude_ft" => {
                let rolls = run.value <= HELD_GROUND_FT && ground.held(run.to_s) == Some(1.0);
                let steps = RADIO_STEPS * step_aside(&itself, run);
                let rests = rolls || run.value > 0.95 * highest;
                !rests && span(&related, run) >= motion.max(steps)
            }
            "cas_kt" => {
                let turns = course.iter().any(|angle| turned(angle, run) >= COURSE_DEG);
                !turns && span(&related, run) >= motion
            }
            _ => span(&related, run) >= motion,
        });
    }
    vertical_speed(flight, limits, tallies);
    engines(flight, limits, tallies);
}

/// Altitude that stands while a vertical speed that is alive says otherwise, or while the aircraft
/// came down to the ground.
fn altitude(flight: &mut RawFlight, limits: &Limits, tallies: &mut Tallies) {
    let sink = Series::of(flight.channels.get("vertical_speed_fpm"));
    let radio = Series::of(flight.channels.get("radio_altitude_ft"));
    let ground = Series::of(flight.channels.get("on_ground"));
    let name = "pressure_altitude_ft";
    let itself = Series::of(flight.channels.get(name));
    // A recorder of 100 ft steps stands through the last of them.
    let least_ft = LEVEL_STUCK_FT.max(2.0 * resolution(&itself.value));
    // Ground that rises lifts no aircraft onto its wheels: whoever was that high above it, and then
    // stands on it, came down.
    let came_down = |run: &Run| {
        let high = radio.held(run.from_s).is_some_and(|ft| ft >= least_ft);
        let switch = |t: f64| ground.held(t);
        let contact = switch(run.to_s) == Some(1.0) && switch(run.from_s) == Some(0.0);
        high && (contact || radio.held(run.to_s).is_some_and(|ft| ft <= HELD_GROUND_FT))
    };
    stretch(flight, limits, tallies, name, LEVEL_STUCK_S, |run| {
        if came_down(run) {
            return true;
        }
        let fpm: Vec<f64> = sink.between(run.from_s, run.to_s).map(|s| s.1).collect();
        let mean_fpm = fpm.iter().sum::<f64>() / fpm.len() as f64;
        // One that repeats itself is the stuck one of the two.
        let alive = span(&sink, run) > 0.0;
        alive && mean_fpm.abs() * run.held_s() / 60.0 >= LEVEL_STUCK_FT
    });
}

/// Vertical speed that stands while altitude goes another way, or changes its way.
fn vertical_speed(flight: &mut RawFlight, limits: &Limits, tallies: &mut Tallies) {
    let altitude = Series::of(flight.channels.get("pressure_altitude_ft"));
    let coarse_ft = 4.0 * resolution(&altitude.value);
    let climbed = |from_s: f64, to_s: f64| -> Option<f64> {
        Some(altitude.linear(to_s)? - altitude.linear(from_s)?)
    };
    let name = "vertical_speed_fpm";
    stretch(flight, limits, tallies, name, SINK_STUCK_S, |run| {
        let Some(is_ft) = climbed(run.from_s, run.to_s) else {
            return false;
        };
        let due_ft = run.value * run.held_s() / 60.0;
        if (due_ft - is_ft).abs() >= SINK_STUCK_FT + SINK_SHARE * due_ft.abs().max(is_ft.abs()) {
            return true;
        }
        // A steady share of error leaves altitude on the line between its ends.
        let begin_ft = altitude.linear(run.from_s).unwrap_or(f64::NAN);
        altitude.between(run.from_s, run.to_s).any(|(t, ft)| {
            let share = (t - run.from_s) / run.held_s();
            (ft - begin_ft - share * is_ft).abs() >= BEND_FT + coarse_ft
        })
    });
}

const ENGINES: [&str; 4] = ["n1_1_pct", "n1_2_pct", "n1_3_pct", "n1_4_pct"];

/// An engine that stands to the last digit while another spools, or that moves on in a leap which no
/// other makes: they are moved together.
fn engines(flight: &mut RawFlight, limits: &Limits, tallies: &mut Tallies) {
    for name in ENGINES {
        let others: Vec<Series> = ENGINES
            .iter()
            .filter(|other| **other != name)
            .map(|other| Series::of(flight.channels.get(*other)))
            .filter(|other| !other.is_empty())
            .collect();
        let itself = Series::of(flight.channels.get(name));
        stretch(flight, limits, tallies, name, SPOOL_S, |run| {
            // One that has stopped stands for good.
            run.value > 0.0
                && (others.iter().any(|other| spools(other, run))
                    || leaps_alone(&itself, &others, run))
        });
    }
}

/// Whether an engine goes through values, not just from one to another.
fn spools(other: &Series, run: &Run) -> bool {
    let mut values: Vec<f64> = other.between(run.from_s, run.to_s).map(|s| s.1).collect();
    values.sort_by(f64::total_cmp);
    values.dedup();
    span(other, run) >= SPOOL_PCT && values.len() >= SPOOL_VALUES
}

fn leaps_alone(itself: &Series, others: &[Series], run: &Run) -> bool {
    let Some(&next_s) = itself.time_s.get(itself.upto(run.to_s)) else {
        return false;
    };
    let step = |engine: &Series| Some(engine.linear(next_s)? - engine.linear(run.to_s)?);
    let leap = step(itself).filter(|_| next_s - run.to_s <= 1.5 * itself.interval_s);
    let moved = others.iter().map(step).collect::<Option<Vec<f64>>>();
    leap.zip(moved).is_some_and(|(leap, moved)| {
        leap.abs() >= SPOOL_LEAP_PCT
            && !moved.is_empty()
            && moved.iter().all(|m| m.abs() <= SPOOL_SHARE * leap.abs())
    })
}

/// Nulls every constant stretch of at least `longest_s` that is `stuck`.
pub(super) fn stretch(
    flight: &mut RawFlight,
    limits: &Limits,
    tallies: &mut Tallies,
    name: &str,
    longest_s: f64,
    stuck: impl Fn(&Run) -> bool,
) {
    let Some(channel) = flight.channels.get_mut(name) else {
        return;
    };
    if channel.holds {
        return;
    }
    let tally = tallies.entry(name.to_owned()).or_default();
    let steps = Steps::of(channel);
    let mut found = Vec::new();
    for (run, samples) in each_run(channel, &steps.known) {
        if run.held_s() >= longest_s && stuck(&run) {
            found.extend_from_slice(repeats(name, channel, limits, &steps, samples));
            tally.stuck_s += run.held_s();
        }
    }
    tally.stuck += null(channel, &found);
}

/// Highest less lowest known value during a run; zero where nothing is known.
fn span(series: &Series, run: &Run) -> f64 {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for (_, v) in series.between(run.from_s, run.to_s) {
        low = low.min(v);
        high = high.max(v);
    }
    if high >= low { high - low } else { 0.0 }
}

/// The smaller of the steps into a run and out of it.
fn step_aside(series: &Series, run: &Run) -> f64 {
    let before = series.from(run.from_s).checked_sub(1);
    let after = Some(series.upto(run.to_s)).filter(|i| *i < series.len());
    let step = |i: usize| (series.value[i] - run.value).abs();
    let steps = [before, after].into_iter().flatten().map(step);
    steps.reduce(f64::min).unwrap_or(0.0)
}

/// How far an angle goes from its first value during a run.
fn turned(angle: &Series, run: &Run) -> f64 {
    let mut values = angle.between(run.from_s, run.to_s).map(|s| s.1);
    let Some(first) = values.next() else {
        return 0.0;
    };
    values.map(|v| turn_deg(first, v).abs()).fold(0.0, f64::max)
}
