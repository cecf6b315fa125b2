//! The approach in a few sentences: what was, where, with the number; no cause and no blame.

mod configuration;
mod energy;
mod judged;
mod whole;

use super::axis::Axis;
use super::input::{Gate, Retrace, Series};
use crate::words::{decimals, limit};

/// The sentences under their headings, in the order of the flight; nothing known, no heading.
pub(super) fn story(input: &Retrace, axis: &Axis<'_>) -> Vec<(&'static str, Vec<String>)> {
    let all = [
        ("Path, speed and energy", energy::sentences(input, axis)),
        ("Configuration", configuration::sentences(input, axis)),
        ("The approach as a whole", whole::sentences(&input.measures)),
        ("Gates and events", judged::sentences(input)),
    ];
    all.into_iter()
        .filter(|(_, lines)| !lines.is_empty())
        .collect()
}

/// A rule id or criterion as words.
pub(super) fn plain(id: &str) -> String {
    id.replace('_', " ")
}

/// "at least 5, at most 20".
pub(super) fn limits(gate: &Gate) -> String {
    let lower = gate.lower.map(|value| format!("at least {}", limit(value)));
    let upper = gate.upper.map(|value| format!("at most {}", limit(value)));
    let both: Vec<String> = lower.into_iter().chain(upper).collect();
    if both.is_empty() {
        "none known".to_owned()
    } else {
        both.join(", ")
    }
}

/// What the record does not hold, in words.
pub(super) fn unknown(series: &Series) -> Vec<&'static str> {
    let named: [(&[Option<f64>], &'static str); 9] = [
        (&series.distance_nm, "distance to the threshold"),
        (&series.height_ft, "height above the threshold"),
        (&series.energy_excess_ft, "energy against the plan"),
        (&series.cas_kt, "airspeed"),
        (&series.flap_lever, "flap lever"),
        (&series.gear_down, "gear"),
        (&series.speedbrake, "speedbrake"),
        (&series.thrust_pct, "thrust"),
        (&series.headwind_kt, "wind"),
    ];
    named
        .into_iter()
        .filter(|(values, _)| values.iter().all(Option::is_none))
        .map(|(_, name)| name)
        .collect()
}

/// "120 ft above" or "40 ft below".
fn over_by(value: f64, unit: &str) -> String {
    let side = if value < 0.0 { "below" } else { "above" };
    format!("{} {unit} {side}", decimals(value.abs(), 0))
}

/// Where sample `k` was.
fn place(input: &Retrace, axis: &Axis<'_>, k: usize) -> Option<String> {
    axis.words(*input.series.time_s.get(k)?)
}

/// "a, b and c"; `None` of nothing.
fn joined(parts: &[String]) -> Option<String> {
    let (last, before) = parts.split_last()?;
    Some(if before.is_empty() {
        last.clone()
    } else {
        format!("{} and {last}", before.join(", "))
    })
}
