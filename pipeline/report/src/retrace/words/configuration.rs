//! Lever, gear and speedbrake: when, where, at what speed.

use super::{joined, place};
use crate::retrace::axis::Axis;
use crate::retrace::input::{Lever, LeverMove, Retrace};
use crate::words::decimals;

/// More stretches than this are counted, not listed.
const MOST_STRETCHES: usize = 3;

pub(super) fn sentences(input: &Retrace, axis: &Axis<'_>) -> Vec<String> {
    let mut lines: Vec<String> = input.moves.iter().map(|one| moved(one, axis)).collect();
    lines.extend(speedbrake(input, axis));
    lines.extend(margin(input, axis));
    lines
}

/// "At 10.7 NM (2,941 ft, 194 kt, 6 kt below the limit) the flap lever moved to 2."
fn moved(one: &LeverMove, axis: &Axis<'_>) -> String {
    let down = one.to >= 0.5;
    let what = match (one.lever, down) {
        (Lever::Flap, _) => format!("the flap lever moved to {}", decimals(one.to, 0)),
        (Lever::Gear, true) => "the gear lever moved down".to_owned(),
        (Lever::Gear, false) => "the gear lever moved up".to_owned(),
        (Lever::GearItself, true) => "the gear was down and locked".to_owned(),
        (Lever::Speedbrake, true) => "the speedbrake came out".to_owned(),
        (Lever::Speedbrake, false) => "the speedbrake was stowed".to_owned(),
        (Lever::GearItself, false) => "the gear was no longer down and locked".to_owned(),
    };
    let of_what = if one.lever == Lever::Flap {
        "limit of the new position"
    } else {
        "limit for moving the gear"
    };
    let whole = |value: f64| decimals(value, 0);
    let figures = [
        one.height_ft.map(|ft| format!("{} ft", whole(ft))),
        one.cas_kt.map(|kt| format!("{} kt", whole(kt))),
        one.margin_kt.map(|kt| {
            let side = if kt < 0.0 { "above" } else { "below" };
            format!("{} kt {side} the {of_what}", whole(kt.abs()))
        }),
    ];
    let figures: Vec<String> = figures.into_iter().flatten().collect();
    let figures = if figures.is_empty() {
        String::new()
    } else {
        format!(" ({})", figures.join(", "))
    };
    // Far out or where no distance is known the time is all there is.
    let place = axis
        .words(one.time_s)
        .unwrap_or_else(|| format!("{} s", decimals(one.time_s, 0)));
    format!("At {place}{figures} {what}.")
}

fn speedbrake(input: &Retrace, axis: &Axis<'_>) -> Option<String> {
    let series = &input.series;
    let known = series.speedbrake.iter().flatten().count();
    if known == 0 {
        return None;
    }
    let partly = if known < series.speedbrake.len() {
        ", as far as it is known"
    } else {
        ""
    };
    let out = |value: &Option<f64>| value.is_some_and(|share| share > input.speedbrake_out);
    let mut stretches: Vec<(usize, usize)> = Vec::new();
    for (k, _) in series.speedbrake.iter().enumerate().filter(|(_, v)| out(v)) {
        match stretches.last_mut() {
            Some((_, last)) if *last + 1 == k => *last = k,
            _ => stretches.push((k, k)),
        }
    }
    // A sample stands for the time to the next, and the last for none: spoilers that rise with the contact.
    let at_the_end = if stretches.is_empty() {
        ""
    } else {
        " before the end"
    };
    stretches.retain(|(first, _)| first + 1 < series.time_s.len());
    if stretches.is_empty() {
        return Some(format!("Speedbrake was not out{at_the_end}{partly}."));
    }
    let spans = series.time_s.windows(2).zip(&series.speedbrake);
    let seconds: f64 = spans
        .filter(|(_, v)| out(v))
        .map(|(t, _)| t[1] - t[0])
        .sum();
    let seconds = decimals(seconds, 0);
    let text = format!("Speedbrake was out for {seconds} s in all{partly}");
    if stretches.len() > MOST_STRETCHES {
        return Some(format!("{text}, in {} stretches.", stretches.len()));
    }
    let between = |(first, last): &(usize, usize)| {
        let (first, last) = (place(input, axis, *first)?, place(input, axis, *last)?);
        Some(format!("from {first} to {last}"))
    };
    let places: Vec<String> = stretches.iter().filter_map(between).collect();
    let places = joined(&places).map_or_else(String::new, |places| format!(": {places}"));
    Some(format!("{text}{places}."))
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
