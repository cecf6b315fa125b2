//! Places against chance: observed over expected, by how much is expected, one panel a family.
//!
//! A high ratio on few expected events lies inside the funnel; that is why no place is classed by its ratio.

use crate::cells::drawn;
use crate::input::{AirportLine, FunnelLimits, RuleAirports};
use crate::scale::{Scale, tick_label};
use crate::svg::{Anchor, Svg, shortened};
use crate::words;

use super::{is_far_beyond, is_flag};

const WIDTH: f64 = 720.0;
const PANEL: (f64, f64) = (350.0, 214.0);

/// Draws every family that has a funnel; `None` where none has.
#[allow(clippy::cast_precision_loss)] // a few panels
pub(super) fn draw(rules: &[RuleAirports]) -> Option<String> {
    let panels: Vec<&RuleAirports> = rules
        .iter()
        .filter(|rule| !rule.funnel.is_empty() && rule.airports.iter().any(|l| point(l).is_some()))
        .collect();
    if panels.is_empty() {
        return None;
    }
    let rows = panels.len().div_ceil(2);
    let mut svg = Svg::new(WIDTH, PANEL.1 * rows as f64);
    let mut description = String::new();
    for (index, rule) in panels.into_iter().enumerate() {
        let corner = (
            (index % 2) as f64 * (WIDTH - PANEL.0),
            (index / 2) as f64 * PANEL.1,
        );
        Panel::new(rule, corner).draw(&mut svg, rule);
        description.push_str(&format!("{}: ", rule.title));
        for line in &rule.airports {
            if let Some((expected, ratio)) = point(line) {
                description.push_str(&format!(
                    "{} {} on {} expected; ",
                    line.airport,
                    words::decimals(ratio, 2),
                    words::decimals(expected, 1)
                ));
            }
        }
    }
    Some(svg.finish(
        "funnel",
        "Observed over expected at each airport, by family",
        description.trim_end_matches("; "),
    ))
}

/// Expected and ratio of a place that may be shown.
fn point(line: &AirportLine) -> Option<(f64, f64)> {
    drawn(&line.cell)?;
    line.expected.zip(line.standardised_ratio)
}

struct Panel {
    corner: (f64, f64),
    left: f64,
    right: f64,
    x: Scale,
    y: Scale,
    top: f64,
}

impl Panel {
    fn new(rule: &RuleAirports, corner: (f64, f64)) -> Self {
        let points: Vec<(f64, f64)> = rule.airports.iter().filter_map(point).collect();
        let expected = points.iter().map(|p| p.0).fold(0.0, f64::max);
        let ratio = points.iter().map(|p| p.1).fold(2.5, f64::max);
        let top = (ratio * 1.1).min(12.0);
        let (left, right) = (corner.0 + 30.0, corner.0 + PANEL.0 - 10.0);
        Self {
            corner,
            left,
            right,
            x: Scale::root(expected * 1.08, (left, right)),
            y: Scale::linear((0.0, top), (corner.1 + PANEL.1 - 44.0, corner.1 + 28.0)),
            top,
        }
    }

    fn draw(&self, svg: &mut Svg, rule: &RuleAirports) {
        let (x0, y0) = self.corner;
        let bottom = y0 + PANEL.1 - 44.0;
        svg.text(
            (x0 + 4.0, y0 + 14.0),
            Anchor::Start,
            "label",
            &shortened(&rule.title, 46),
        );
        let ticks = self.y.ticks(28.0);
        for tick in &ticks {
            let y = self.y.place(*tick);
            svg.line((self.left, y), (self.right, y), "grid");
            let label = tick_label(*tick, &ticks);
            svg.text((self.left - 5.0, y + 4.0), Anchor::End, "tick", &label);
        }
        for tick in self.x.ticks(36.0) {
            let x = self.x.place(tick);
            svg.text(
                (x, bottom + 15.0),
                Anchor::Middle,
                "tick",
                &words::limit(tick),
            );
        }
        svg.text(
            (self.right, bottom + 32.0),
            Anchor::End,
            "axis",
            "approaches with an event expected",
        );
        let one = self.y.place(1.0);
        svg.line((self.left, one), (self.right, one), "fleet");
        let limit = |of: fn(&FunnelLimits) -> f64| -> Vec<(f64, f64)> {
            let inside = rule
                .funnel
                .iter()
                .filter(|at| !self.x.is_beyond(at.expected) && of(at) <= self.top);
            inside
                .map(|at| (self.x.place(at.expected), self.y.place(of(at))))
                .collect()
        };
        for (points, class) in [
            (limit(|at| at.low_95), "limit"),
            (limit(|at| at.high_95), "limit"),
            (limit(|at| at.low_998), "limit far"),
            (limit(|at| at.high_998), "limit far"),
        ] {
            if points.len() > 1 {
                svg.polyline(&points, class);
            }
        }
        for flagged in [false, true] {
            for line in rule
                .airports
                .iter()
                .filter(|line| is_flag(line.class) == flagged)
            {
                let Some((expected, ratio)) = point(line) else {
                    continue;
                };
                let at = (self.x.place(expected), self.y.place(ratio));
                if flagged {
                    svg.circle(at, 5.0, "dot");
                    let (x, anchor) = if at.0 > self.right - 60.0 {
                        (at.0 - 8.0, Anchor::End)
                    } else {
                        (at.0 + 8.0, Anchor::Start)
                    };
                    svg.text(
                        (x, at.1 + 4.0),
                        anchor,
                        "value halo",
                        &shortened(&line.airport, 8),
                    );
                } else {
                    svg.circle(at, 3.5, "dot hollow");
                    if is_far_beyond(line) {
                        let at = (at.0 + 8.0, at.1 + 4.0);
                        svg.text(at, Anchor::Start, "tick halo", &shortened(&line.airport, 8));
                    }
                }
            }
        }
    }
}
