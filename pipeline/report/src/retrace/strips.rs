//! Configuration and air as strips, one under the other, on the same axis as the pictures above.

use super::axis::{Axis, LEFT, RIGHT, WIDTH};
use super::input::{Event, Retrace};
use super::panel::runs;
use super::pictures::{description, extent};
use crate::scale::Scale;
use crate::svg::{Anchor, Svg};
use crate::words::decimals;

const TOP: f64 = 30.0;
const STRIP: f64 = 52.0;
const APART: f64 = 22.0;
/// Each event has a line of its own, so that none hides another.
const EVENT: f64 = 14.0;

/// One strip: name with unit, values, and the range it shows at least.
struct Strip<'a> {
    name: &'static str,
    values: &'a [Option<f64>],
    at_least: (f64, f64),
}

/// Lever, gear, speedbrake and thrust, and the events as bars; `None` where nothing is known.
pub(super) fn configuration(input: &Retrace, axis: &Axis<'_>) -> Option<String> {
    let series = &input.series;
    let strips = [
        strip("flap lever, position", &series.flap_lever, (0.0, 1.0)),
        strip("gear, 1 = down and locked", &series.gear_down, (0.0, 1.0)),
        strip(
            "speedbrake, 0 stowed to 1 full",
            &series.speedbrake,
            (0.0, 1.0),
        ),
        strip("thrust, % N1", &series.thrust_pct, (0.0, 60.0)),
    ];
    let text = description(input, axis, "flap lever position", "", &series.flap_lever);
    draw(
        input,
        axis,
        &strips,
        "configuration",
        "Configuration against distance",
        &text,
    )
}

/// Wind and turbulence; `None` where nothing is known.
pub(super) fn air(input: &Retrace, axis: &Axis<'_>) -> Option<String> {
    let series = &input.series;
    let strips = [
        strip("headwind, kt", &series.headwind_kt, (-10.0, 10.0)),
        strip(
            "crosswind, kt, from the right above 0",
            &series.crosswind_kt,
            (-10.0, 10.0),
        ),
        strip("turbulence, g", &series.turbulence_g, (0.0, 0.1)),
    ];
    let text = description(input, axis, "headwind", "kt", &series.headwind_kt);
    draw(
        input,
        axis,
        &strips,
        "air",
        "Wind and turbulence against distance",
        &text,
    )
}

fn strip<'a>(name: &'static str, values: &'a [Option<f64>], at_least: (f64, f64)) -> Strip<'a> {
    Strip {
        name,
        values,
        at_least,
    }
}

fn draw(
    input: &Retrace,
    axis: &Axis<'_>,
    strips: &[Strip<'_>],
    id: &str,
    title: &str,
    description: &str,
) -> Option<String> {
    let known: Vec<(&Strip<'_>, (f64, f64))> = strips
        .iter()
        .filter_map(|strip| extent(axis, &[strip.values]).map(|range| (strip, range)))
        .collect();
    if known.is_empty() {
        return None;
    }
    #[allow(clippy::cast_precision_loss)] // a handful of strips and events
    let (count, events) = (known.len() as f64, input.events.len() as f64);
    let below = TOP + (STRIP + APART) * count;
    let bottom = below + EVENT * events + 6.0;
    let mut svg = Svg::new(WIDTH, bottom + 42.0);
    axis.draw(&mut svg, TOP, bottom);
    let mut top = TOP + 6.0;
    for checkpoint in &input.checkpoints {
        if let Some(x) = checkpoint.time_s.and_then(|t| axis.of_moment(t)) {
            svg.line((x, TOP), (x, bottom), "change");
        }
    }
    for (strip, (low, high)) in known {
        let range = (low.min(strip.at_least.0), high.max(strip.at_least.1));
        one(&mut svg, axis, strip, range, top);
        top += STRIP + APART;
    }
    let mut y = below;
    for (index, event) in input.events.iter().enumerate() {
        bar(&mut svg, axis, event, index + 1, y);
        y += EVENT;
    }
    Some(svg.finish(id, title, description))
}

fn one(svg: &mut Svg, axis: &Axis<'_>, strip: &Strip<'_>, range: (f64, f64), top: f64) {
    let foot = top + STRIP;
    let scale = Scale::linear(range, (foot, top + 14.0));
    svg.line((LEFT, foot), (RIGHT, foot), "base");
    if range.0 < 0.0 && range.1 > 0.0 {
        let zero = scale.place(0.0);
        svg.line((LEFT, zero), (RIGHT, zero), "grid");
    }
    for value in [range.0, range.1] {
        let places = if range.1 - range.0 < 1.0 { 2 } else { 0 };
        let label = decimals(value, places);
        svg.text(
            (LEFT - 7.0, scale.place(value) + 4.0),
            Anchor::End,
            "tick",
            &label,
        );
    }
    for run in runs(axis, &scale, strip.values) {
        svg.polyline(&run, "rate");
    }
    svg.text_on_blank((LEFT + 6.0, top + 8.0), "axis", strip.name);
}

/// An event from its start to its end, with its number before it.
fn bar(svg: &mut Svg, axis: &Axis<'_>, event: &Event, number: usize, y: f64) {
    let Some(at) = event.moment_s().and_then(|t| axis.of_moment(t)) else {
        return;
    };
    let place = |time_s: Option<f64>| time_s.and_then(|t| axis.of_moment(t)).unwrap_or(at);
    let (from, to) = (place(event.start_s), place(event.end_s));
    svg.line((from, y), (to, y), "interval");
    svg.diamond((at, y), 4.5, "shrunk");
    let before = (from.min(at) - 8.0, y + 4.0);
    svg.text(before, Anchor::End, "letter halo", &number.to_string());
}
