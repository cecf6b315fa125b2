//! Panels and strips one below the other over one axis, with the stretch that is measured shaded in all.

use crate::fault::Fault;
use crate::page;
use crate::scale::{Scale, tick_label};
use crate::svg::{Anchor, Svg};

pub(crate) const WIDTH: f64 = 720.0;
pub(crate) const LEFT: f64 = 92.0;
pub(crate) const RIGHT: f64 = 702.0;
/// Room for title, value in words and the first unit.
pub(crate) const HEAD: f64 = 72.0;
/// Room that the axis below takes.
pub(crate) const FOOT: f64 = 40.0;
/// From one panel to the next.
const GAP: f64 = 26.0;
const STRIP: f64 = 19.0;
/// Points nearer than this to the last one drawn add nothing.
const APART: f64 = 0.7;

/// A picture being drawn.
pub(crate) struct Frame {
    pub(crate) svg: Svg,
    pub(crate) x: Scale,
    values: (f64, f64),
    size: (f64, f64),
    title: String,
    says: String,
    found: Vec<(f64, f64)>,
    top: f64,
    next: f64,
}

/// One drawing area in it.
pub(crate) struct Panel {
    pub(crate) scale: Scale,
    pub(crate) top: f64,
    pub(crate) bottom: f64,
}

/// Height that panels and strips need, head and foot included.
pub(crate) fn height(panels: &[f64], strips: usize) -> f64 {
    let panels = panels.iter().map(|height| height + GAP).sum::<f64>();
    HEAD + panels - GAP + 8.0 + strips as f64 * STRIP + FOOT
}

impl Frame {
    /// `values` are those of the axis, left to right.
    pub(crate) fn new(height: f64, values: (f64, f64), title: &str, says: &str) -> Self {
        let (low, high) = (values.0.min(values.1), values.0.max(values.1));
        let places = if values.0 < values.1 {
            (LEFT, RIGHT)
        } else {
            (RIGHT, LEFT)
        };
        let mut svg = Svg::new(WIDTH, height);
        svg.text((12.0, 22.0), Anchor::Start, "title", title);
        svg.text((12.0, 42.0), Anchor::Start, "says", says);
        Self {
            svg,
            x: Scale::linear((low, high), places),
            values: (low, high),
            size: (WIDTH, height),
            title: title.to_owned(),
            says: says.to_owned(),
            found: Vec::new(),
            top: HEAD,
            next: HEAD,
        }
    }

    /// Stretches to shade behind whatever is drawn from now on.
    pub(crate) fn found(mut self, stretches: Vec<(f64, f64)>) -> Self {
        self.found = stretches;
        self
    }

    /// Place of a value of the axis; none outside the picture.
    pub(crate) fn place(&self, value: f64) -> Option<f64> {
        (self.values.0..=self.values.1)
            .contains(&value)
            .then(|| self.x.place(value))
    }

    /// The next area down; `unit` is written over its upper left corner.
    pub(crate) fn panel(&mut self, height: f64, values: (f64, f64), unit: &str) -> Panel {
        let (top, bottom) = (self.next, self.next + height);
        self.shade(top, bottom);
        let scale = Scale::linear(values, (bottom, top));
        let ticks = scale.ticks(30.0);
        for tick in &ticks {
            let y = scale.place(*tick);
            self.svg.line((LEFT, y), (RIGHT, y), "grid");
            self.svg.text(
                (LEFT - 7.0, y + 4.0),
                Anchor::End,
                "tick",
                &tick_label(*tick, &ticks),
            );
        }
        self.svg
            .text((12.0, top - 9.0), Anchor::Start, "axis", unit);
        self.next = bottom + GAP;
        Panel { scale, top, bottom }
    }

    /// Room for something else below what there is; its upper edge.
    pub(crate) fn room(&mut self, height: f64) -> f64 {
        let top = self.next;
        self.next += height;
        top
    }

    fn shade(&mut self, top: f64, bottom: f64) {
        for (from, to) in self.found.clone() {
            let (a, b) = (self.x.place(from), self.x.place(to));
            let width = (b - a).abs().max(1.5);
            self.svg
                .rect((a.min(b), top), (width, bottom - top), "found");
        }
    }

    /// A line through known points; it breaks where nothing is known and at the edge of the picture.
    pub(crate) fn line(
        &mut self,
        panel: &Panel,
        points: &[(Option<f64>, Option<f64>)],
        class: &str,
    ) {
        let mut run: Vec<(f64, f64)> = Vec::new();
        for (x, y) in points {
            match (x.and_then(|x| self.place(x)), y) {
                (Some(x), Some(y)) => run.push((x, panel.scale.place(*y))),
                _ => self.end_run(&mut run, class),
            }
        }
        self.end_run(&mut run, class);
    }

    fn end_run(&mut self, run: &mut Vec<(f64, f64)>, class: &str) {
        let run = std::mem::take(run);
        let last = run.len().saturating_sub(1);
        let mut kept: Vec<(f64, f64)> = Vec::new();
        for (k, point) in run.into_iter().enumerate() {
            let far = kept
                .last()
                .is_none_or(|(x, y)| (point.0 - x).abs() + (point.1 - y).abs() >= APART);
            if far || k == last {
                kept.push(point);
            }
        }
        if kept.len() > 1 {
            self.svg.polyline(&kept, class);
        }
    }

    /// A value across the whole area, with its name at the right or left end.
    pub(crate) fn level(&mut self, panel: &Panel, value: f64, class: &str, name: &str, left: bool) {
        let y = panel.scale.place(value);
        self.svg.line((LEFT, y), (RIGHT, y), class);
        let (x, anchor) = if left {
            (LEFT + 4.0, Anchor::Start)
        } else {
            (RIGHT - 4.0, Anchor::End)
        };
        self.svg.text((x, y - 5.0), anchor, "axis halo", name);
    }

    /// A strip: bars from one value of the axis to another, each with a word in it.
    pub(crate) fn strip(&mut self, name: &str, bars: &[(f64, f64, String)]) {
        let top = self.next - GAP + 8.0;
        self.shade(top - 8.0, top + STRIP - 4.0);
        let middle = top + 7.0;
        self.svg
            .text((LEFT - 7.0, middle + 4.0), Anchor::End, "axis", name);
        self.svg.line((LEFT, middle), (RIGHT, middle), "grid");
        for (from, to, word) in bars {
            let (from, to) = (from.max(self.values.0), from.max(*to));
            let (a, b) = (self.x.place(from), self.x.place(to));
            let width = (b - a).abs().max(1.5);
            self.svg.rect((a.min(b), top), (width - 0.5, 14.0), "bar");
            if width > 7.0 * word.chars().count() as f64 + 3.0 {
                self.svg
                    .text((a.midpoint(b), middle + 4.5), Anchor::Middle, "word", word);
            }
        }
        self.next += STRIP;
    }

    /// Closes the picture with the axis below.
    pub(crate) fn finish(mut self, axis: &str, more: &str) -> Result<String, Fault> {
        let bottom = self.next - GAP + 6.0;
        let ticks = self.x.ticks(44.0);
        for tick in &ticks {
            let x = self.x.place(*tick);
            self.svg.line((x, self.top), (x, bottom), "grid");
            self.svg.text(
                (x, bottom + 14.0),
                Anchor::Middle,
                "tick",
                &tick_label(*tick, &ticks),
            );
        }
        self.svg
            .text((RIGHT, bottom + 30.0), Anchor::End, "axis", axis);
        let description = format!("{} {more}", self.says);
        page::finish(self.svg, self.size, &self.title, description.trim_end())
    }
}
