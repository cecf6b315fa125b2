//! One picture with two axes: lines that break where nothing is known, bands, marks.

use super::axis::{Axis, LEFT, RIGHT, WIDTH};
use crate::scale::{Scale, tick_label};
use crate::svg::{Anchor, Svg};

/// Room above the drawing for the names of checkpoints and the numbers of events.
const TOP: f64 = 40.0;
/// Points nearer than this to the last one drawn add nothing on paper or screen.
const APART: f64 = 0.4;

/// Room that the number of an event takes.
const NUMBER_WIDTH: f64 = 14.0;
const NUMBER_HEIGHT: f64 = 13.0;

/// A picture being drawn.
pub(super) struct Panel<'a> {
    axis: &'a Axis<'a>,
    svg: Svg,
    scale: Scale,
    bottom: f64,
    /// Places of the events so far, left to right.
    events: Vec<f64>,
}

impl<'a> Panel<'a> {
    /// A picture of `height`, its values from `low` to `high`; `unit` is written at the upper left.
    pub(super) fn new(axis: &'a Axis<'a>, height: f64, values: (f64, f64), unit: &str) -> Self {
        let bottom = TOP + height;
        let mut svg = Svg::new(WIDTH, bottom + 42.0);
        let scale = Scale::linear(values, (bottom, TOP));
        axis.draw(&mut svg, TOP, bottom);
        let ticks = scale.ticks(34.0);
        for tick in &ticks {
            let y = scale.place(*tick);
            svg.line((LEFT, y), (RIGHT, y), "grid");
            let label = tick_label(*tick, &ticks);
            svg.text((LEFT - 7.0, y + 4.0), Anchor::End, "tick", &label);
        }
        svg.text((4.0, TOP - 9.0), Anchor::Start, "axis", unit);
        Self {
            axis,
            svg,
            scale,
            bottom,
            events: Vec::new(),
        }
    }

    /// A line through the known values.
    pub(super) fn line(&mut self, values: &[Option<f64>], class: &str) {
        for run in runs(self.axis, &self.scale, values) {
            self.svg.polyline(&run, class);
        }
    }

    /// A band from `low` to `high` wherever both are known.
    pub(super) fn band(&mut self, low: &[Option<f64>], high: &[Option<f64>], class: &str) {
        let both = |a: &[Option<f64>], b: &[Option<f64>]| -> Vec<Option<f64>> {
            a.iter().zip(b).map(|(a, b)| b.and(*a)).collect()
        };
        // Not thinned out: upper and lower edge must break at the same samples.
        let lows = whole_runs(self.axis, &self.scale, &both(low, high));
        let highs = whole_runs(self.axis, &self.scale, &both(high, low));
        for (low, high) in lows.into_iter().zip(highs) {
            let edge: Vec<(f64, f64)> = low.into_iter().chain(high.into_iter().rev()).collect();
            self.svg.polygon(&edge, class);
        }
    }

    /// A checkpoint: a broken line through the picture with its name above. Distances stand on the axis,
    /// so that the number is enough; heights stand a line higher, where they do not meet them.
    pub(super) fn checkpoint(&mut self, time_s: f64, name: &str) {
        let Some(x) = self.axis.of_moment(time_s) else {
            return;
        };
        let by_height = name.ends_with(" ft");
        let y = if by_height { TOP - 22.0 } else { TOP - 7.0 };
        self.svg.line((x, TOP), (x, self.bottom), "change");
        let words = name.trim_end_matches(" NM").trim_end_matches(" ft");
        self.svg.text((x, y), Anchor::Middle, "tick", words);
    }

    /// A dot on a value at a moment.
    pub(super) fn dot(&mut self, time_s: f64, value: f64, class: &str) {
        if let Some(x) = self.axis.of_moment(time_s) {
            self.svg.circle((x, self.scale.place(value)), 3.5, class);
        }
    }

    /// An event: a diamond on the value at its moment, or at the foot where that is unknown, with its number.
    pub(super) fn event(&mut self, time_s: f64, value: Option<f64>, number: usize) {
        let Some(x) = self.axis.of_moment(time_s) else {
            return;
        };
        let y = value.map_or(self.bottom - 8.0, |value| self.scale.place(value));
        self.svg.diamond((x, y), 5.5, "shrunk");
        // Events of one moment share the diamond; their numbers stand one above the other.
        let near = self
            .events
            .iter()
            .filter(|other| (x - *other).abs() < NUMBER_WIDTH);
        #[allow(clippy::cast_precision_loss)] // a handful of events
        let above = near.count() as f64 * NUMBER_HEIGHT;
        self.events.push(x);
        let at = (x, (y - 9.0 - above).max(TOP + 10.0));
        self.svg
            .text(at, Anchor::Middle, "letter halo", &number.to_string());
    }

    pub(super) fn finish(self, id: &str, title: &str, description: &str) -> String {
        self.svg.finish(id, title, description)
    }
}

/// The stretches of known values as points, thinned out to what can be seen.
pub(super) fn runs(axis: &Axis<'_>, scale: &Scale, values: &[Option<f64>]) -> Vec<Vec<(f64, f64)>> {
    whole_runs(axis, scale, values)
        .into_iter()
        .map(thinned)
        .collect()
}

fn whole_runs(axis: &Axis<'_>, scale: &Scale, values: &[Option<f64>]) -> Vec<Vec<(f64, f64)>> {
    let mut runs = Vec::new();
    let mut run = Vec::new();
    for (k, value) in values.iter().enumerate() {
        match (axis.of_sample(k), value) {
            (Some(x), Some(value)) => run.push((x, scale.place(*value))),
            _ if run.is_empty() => {}
            _ => runs.push(std::mem::take(&mut run)),
        }
    }
    if !run.is_empty() {
        runs.push(run);
    }
    runs
}

fn thinned(run: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    let last = run.len() - 1;
    let mut kept: Vec<(f64, f64)> = Vec::with_capacity(run.len());
    for (k, point) in run.into_iter().enumerate() {
        let far = kept
            .last()
            .is_none_or(|(x, y)| (point.0 - x).abs() >= APART || (point.1 - y).abs() >= APART);
        if far || k == last {
            kept.push(point);
        }
    }
    kept
}
