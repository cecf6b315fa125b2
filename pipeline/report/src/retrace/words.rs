//! The approach in a few sentences: what was, where, with the number; no cause and no blame.

use super::axis::{Axis, at};
use super::input::{Checkpoint, Gate, Retrace, Series};
use super::pictures::BAND_FT;
use crate::words::{decimals, limit, measure};

/// A speedbrake this far out counts as in use; judgement: less is the noise of its sensor.
const SPEEDBRAKE_IN_USE: f64 = 0.1;
/// Differences of speed smaller than this are not worth words; judgement.
const SMALL_KT: f64 = 5.0;

/// A rule id or criterion as words.
pub(super) fn plain(id: &str) -> String {
    id.replace('_', " ")
}

/// "at least 5, at most 20".
pub(super) fn limits(gate: &Gate) -> String {
    let lower = gate
        .lower
        .map(|value| format!("at least {}", measure(value)));
    let upper = gate
        .upper
        .map(|value| format!("at most {}", measure(value)));
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

/// The sentences, in the order of the flight.
pub(super) fn story(input: &Retrace, axis: &Axis<'_>) -> Vec<String> {
    let mut lines = Vec::new();
    for name in ["15 NM", "10 NM", "5 NM", "1,000 ft", "500 ft"] {
        let found = input.checkpoints.iter().find(|c| c.name == name);
        lines.extend(found.and_then(at_checkpoint));
    }
    lines.extend(energy(input, axis));
    lines.extend(moves(input, axis));
    lines.extend(speedbrake(input));
    lines.extend(margin(input, axis));
    lines.extend(gates(input));
    lines.push(events(input));
    lines
}

fn at_checkpoint(row: &Checkpoint) -> Option<String> {
    row.time_s?;
    let mut parts = Vec::new();
    match (row.over_profile_ft, row.height_ft) {
        (Some(over), _) => parts.push(format!(
            "the aircraft was {} the glide path",
            over_by(over, "ft")
        )),
        (None, Some(ft)) => parts.push(format!(
            "the aircraft was {} ft above the threshold",
            decimals(ft, 0)
        )),
        (None, None) => {}
    }
    if let Some(kt) = row.cas_kt {
        let mut part = format!("airspeed was {} kt", decimals(kt, 0));
        match row.target_cas_kt.map(|target| kt - target) {
            Some(over) if over.abs() < SMALL_KT => part.push_str(", about as planned"),
            Some(over) => part.push_str(&format!(", {} the planned speed", over_by(over, "kt"))),
            None => {}
        }
        parts.push(part);
    }
    if let Some(ft) = row.energy_excess_ft {
        parts.push(format!("energy was {} the plan", over_by(ft, "ft")));
    }
    let (last, before) = parts.split_last()?;
    let joined = if before.is_empty() {
        last.clone()
    } else {
        format!("{} and {last}", before.join(", "))
    };
    Some(format!("At {} {joined}.", row.name))
}

/// "120 ft above" or "40 ft below".
fn over_by(value: f64, unit: &str) -> String {
    let side = if value < 0.0 { "below" } else { "above" };
    format!("{} {unit} {side}", decimals(value.abs(), 0))
}

/// Where energy was furthest from the plan, and from where it stayed inside the band.
fn energy(input: &Retrace, axis: &Axis<'_>) -> Vec<String> {
    let excess = &input.series.energy_excess_ft;
    let known = || {
        let seen = excess.iter().enumerate().filter(|(k, _)| axis.shows(*k));
        seen.filter_map(|(k, ft)| ft.map(|ft| (k, ft)))
    };
    let mut lines = Vec::new();
    let Some((k, most)) = known().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs())) else {
        return lines;
    };
    let band = decimals(BAND_FT, 0);
    if most.abs() <= BAND_FT {
        lines.push(format!(
            "Energy stayed within {band} ft of the plan wherever it is known."
        ));
        return lines;
    }
    if let Some(place) = place(input, axis, k) {
        lines.push(format!(
            "Energy was furthest from the plan, {} it, at {place}.",
            over_by(most, "ft")
        ));
    }
    let inside = known().filter(|(_, ft)| ft.abs() > BAND_FT).last();
    let last = known().last().map(|(k, _)| k);
    match inside {
        Some((outside, _)) if Some(outside) == last => lines.push(format!(
            "Energy was outside {band} ft of the plan when it was last known."
        )),
        Some((outside, _)) => {
            if let Some(place) = place(input, axis, outside + 1) {
                lines.push(format!(
                    "From {place} on, energy was within {band} ft of the plan."
                ));
            }
        }
        None => {}
    }
    lines
}

fn place(input: &Retrace, axis: &Axis<'_>, k: usize) -> Option<String> {
    axis.words(*input.series.time_s.get(k)?)
}

/// Lever and gear, each move with place, height and speed.
fn moves(input: &Retrace, axis: &Axis<'_>) -> Vec<String> {
    let series = &input.series;
    let mut found: Vec<(f64, String)> = Vec::new();
    for (time_s, to) in steps(series, &series.flap_lever) {
        found.push((
            time_s,
            format!("the flap lever moved to {}", decimals(to, 0)),
        ));
    }
    for (time_s, to) in steps(series, &series.gear_down) {
        let how = if to >= 0.5 {
            "was down and locked"
        } else {
            "was no longer down and locked"
        };
        found.push((time_s, format!("the gear {how}")));
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    let line = |(time_s, what): (f64, String)| {
        let place = axis.words(time_s)?;
        let figure = |values: &[Option<f64>], unit: &str| {
            at(&series.time_s, values, time_s).map(|v| format!("{} {unit}", decimals(v, 0)))
        };
        let figures = [
            figure(&series.height_ft, "ft"),
            figure(&series.cas_kt, "kt"),
        ];
        let figures: Vec<String> = figures.into_iter().flatten().collect();
        let figures = if figures.is_empty() {
            String::new()
        } else {
            format!(" ({})", figures.join(", "))
        };
        Some(format!("At {place}{figures} {what}."))
    };
    found.into_iter().filter_map(line).collect()
}

/// Changes from one known value to the next, at the first sample of the new one.
pub(super) fn steps(series: &Series, values: &[Option<f64>]) -> Vec<(f64, f64)> {
    let mut steps = Vec::new();
    let mut last: Option<f64> = None;
    for (time_s, value) in series.time_s.iter().zip(values) {
        if let Some(value) = value {
            if last.is_some_and(|last| last != *value) {
                steps.push((*time_s, *value));
            }
            last = Some(*value);
        }
    }
    steps
}

fn speedbrake(input: &Retrace) -> Option<String> {
    let series = &input.series;
    let out = |value: &Option<f64>| value.is_some_and(|share| share > SPEEDBRAKE_IN_USE);
    if series.speedbrake.iter().all(Option::is_none) {
        return None;
    }
    let spans = series.time_s.windows(2).zip(&series.speedbrake);
    let seconds: f64 = spans
        .filter(|(_, v)| out(v))
        .map(|(t, _)| t[1] - t[0])
        .sum();
    Some(if seconds > 0.0 {
        format!(
            "Speedbrake was in use for {} s in all.",
            decimals(seconds, 0)
        )
    } else {
        "Speedbrake was not used.".to_owned()
    })
}

/// The least margin to the limit of the lever position.
fn margin(input: &Retrace, axis: &Axis<'_>) -> Option<String> {
    let series = &input.series;
    let margins = series.cas_kt.iter().zip(&series.limit_kt).enumerate();
    let (k, least) = margins
        .filter(|(k, _)| axis.shows(*k))
        .filter_map(|(k, (cas, limit))| Some((k, (*limit)? - (*cas)?)))
        .min_by(|a, b| a.1.total_cmp(&b.1))?;
    let place = place(input, axis, k)?;
    Some(if least < 0.0 {
        format!(
            "Airspeed was up to {} kt above the limit of the lever position, at {place}.",
            decimals(-least, 0)
        )
    } else {
        format!(
            "The least margin to the limit of the lever position was {} kt, at {place}.",
            decimals(least, 0)
        )
    })
}

/// One sentence a gate: how many criteria were met, and which were not.
fn gates(input: &Retrace) -> Vec<String> {
    let mut names: Vec<(&str, &str)> = Vec::new();
    for gate in &input.gates {
        if !names.contains(&(&gate.rule, &gate.name)) {
            names.push((&gate.rule, &gate.name));
        }
    }
    let line = |(rule, name): (&str, &str)| {
        let of_gate = || {
            input
                .gates
                .iter()
                .filter(|g| g.rule == rule && g.name == name)
        };
        let known = of_gate().filter(|gate| gate.passed.is_some()).count();
        if known == 0 {
            return format!(
                "At the gate at {name} ({}) no criterion could be judged.",
                plain(rule)
            );
        }
        let missed: Vec<String> = of_gate()
            .filter(|gate| gate.passed == Some(false))
            .map(|gate| {
                let value = gate.value.map_or_else(|| "unknown".to_owned(), measure);
                format!(
                    "{} was {value}, expected {}",
                    plain(&gate.criterion),
                    limits(gate)
                )
            })
            .collect();
        let met = known - missed.len();
        let count = match (met, known) {
            (1, 1) => "the criterion was met".to_owned(),
            (0, 1) => "the criterion was not met".to_owned(),
            _ => format!("{met} of {known} criteria were met"),
        };
        let mut text = format!("At the gate at {name} ({}) {count}", plain(rule));
        if !missed.is_empty() {
            text.push_str(&format!(": {}", missed.join("; ")));
        }
        format!("{text}.")
    };
    names.into_iter().map(line).collect()
}

fn events(input: &Retrace) -> String {
    match (input.judged, input.events.len()) {
        (false, _) => {
            "The rules have not judged this approach yet, so that nothing is said about events."
                .to_owned()
        }
        (true, 0) => "No rule found an event.".to_owned(),
        (true, 1) => {
            "One event was found; it is marked in the pictures and listed below.".to_owned()
        }
        (true, n) => {
            format!("{n} events were found; they are numbered in the pictures and listed below.")
        }
    }
}
