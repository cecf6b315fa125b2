//! Energy excess as bands: where half and nine in ten of the approaches lie, by distance to go.
//!
//! The two heights at the end of the approach are no distances; they stand apart, to the right.

use super::checkpoint;
use crate::input::{EnergyCheckpoint, EnergyGroup};
use crate::quantiles::{Known, known};
use crate::scale::{Scale, tick_label};
use crate::svg::{Anchor, Svg};

const WIDTH: f64 = 720.0;
const LEFT: f64 = 62.0;
const FAR: f64 = 80.0;
const NEAR: f64 = 560.0;
const HEIGHTS: [(&str, f64); 2] = [("1000ft", 618.0), ("500ft", 676.0)];
const RIGHT: f64 = 706.0;
const TOP: f64 = 28.0;
const BOTTOM: f64 = 236.0;

/// Lowest and highest value of any group; `None` where nothing is known.
pub(super) fn range(groups: &[EnergyGroup]) -> Option<(f64, f64)> {
    let all = groups.iter().flat_map(|group| &group.checkpoints);
    let ends: Vec<(f64, f64)> = all
        .flat_map(|at| [Some(&at.all), at.latest.as_ref()])
        .flatten()
        .filter_map(|period| known(period).map(Known::ends))
        .collect();
    let low = ends.iter().map(|ends| ends.0).fold(f64::INFINITY, f64::min);
    let high = ends
        .iter()
        .map(|ends| ends.1)
        .fold(f64::NEG_INFINITY, f64::max);
    let margin = 0.04 * (high - low);
    (!ends.is_empty()).then_some((low.min(0.0) - margin, high.max(0.0) + margin))
}

/// Draws one group; `None` where nothing of it is known.
pub(super) fn draw(id: &str, group: &EnergyGroup, range: (f64, f64)) -> Option<String> {
    let frame = Frame {
        y: Scale::linear(range, (BOTTOM, TOP)),
        x: Scale::linear((-20.0, -3.0), (FAR, NEAR)),
    };
    let points: Vec<(f64, &EnergyCheckpoint, Known)> = group
        .checkpoints
        .iter()
        .filter_map(|at| Some((frame.place(&at.checkpoint)?, at, known(&at.all)?)))
        .collect();
    if points.is_empty() {
        return None;
    }
    let mut svg = Svg::new(WIDTH, BOTTOM + 44.0);
    let by_distance: Vec<(f64, Known)> = points
        .iter()
        .filter(|(_, at, _)| at.checkpoint.ends_with("nm"))
        .map(|(x, _, known)| (*x, *known))
        .collect();
    frame.band(&mut svg, &by_distance, |known| known.outer, "band");
    frame.axes(&mut svg, &group.checkpoints);
    frame.band(&mut svg, &by_distance, |known| Some(known.middle), "half");
    let medians: Vec<(f64, f64)> = by_distance
        .iter()
        .map(|(x, known)| (*x, frame.y.place(known.median)))
        .collect();
    if medians.len() > 1 {
        svg.polyline(&medians, "rate");
    }
    for (x, at, known) in &points {
        if !at.checkpoint.ends_with("nm") {
            frame.column(&mut svg, *x, *known);
        }
        svg.circle((*x, frame.y.place(known.median)), 3.5, "dot");
    }
    frame.latest(&mut svg, &points);
    if let Some((x, known)) = by_distance.first() {
        frame.names(&mut svg, *x, *known);
    }
    let description: Vec<String> = points
        .iter()
        .map(|(_, at, known)| {
            let name = checkpoint(&at.checkpoint);
            let latest = at.latest.as_ref().and_then(|latest| {
                let own = crate::quantiles::known(latest)?;
                Some(format!("; {}: {}", latest.label, own.words()))
            });
            format!("{name}: {}{}", known.words(), latest.unwrap_or_default())
        })
        .collect();
    Some(svg.finish(
        id,
        &format!("Energy excess by distance: {}", group.group),
        &format!(
            "Feet of energy height over the plan. {}.",
            description.join(". ")
        ),
    ))
}

struct Frame {
    x: Scale,
    y: Scale,
}

impl Frame {
    /// Where a checkpoint stands.
    fn place(&self, name: &str) -> Option<f64> {
        match name.strip_suffix("nm") {
            Some(distance) => distance.parse().ok().map(|d: f64| self.x.place(-d)),
            None => HEIGHTS.iter().find(|(at, _)| *at == name).map(|(_, x)| *x),
        }
    }

    fn axes(&self, svg: &mut Svg, checkpoints: &[EnergyCheckpoint]) {
        let ticks = self.y.ticks(34.0);
        for tick in &ticks {
            let y = self.y.place(*tick);
            let class = if *tick == 0.0 { "base" } else { "grid" };
            svg.line((LEFT, y), (NEAR + 12.0, y), class);
            svg.line((HEIGHTS[0].1 - 24.0, y), (RIGHT, y), class);
            let label = tick_label(*tick, &ticks);
            svg.text((LEFT - 7.0, y + 4.0), Anchor::End, "tick", &label);
        }
        svg.text((4.0, 13.0), Anchor::Start, "axis", "energy excess, ft");
        let mut last = f64::NEG_INFINITY;
        for at in checkpoints {
            if let Some(x) = self.place(&at.checkpoint) {
                // Close to the runway the distances crowd.
                if x - last >= 26.0 {
                    let name = checkpoint(&at.checkpoint);
                    let name = name.strip_suffix(" NM").unwrap_or(&name);
                    svg.text((x, BOTTOM + 16.0), Anchor::Middle, "tick", name);
                    last = x;
                }
            }
        }
        svg.text((NEAR, BOTTOM + 34.0), Anchor::End, "axis", "NM to go");
        svg.text((RIGHT, BOTTOM + 34.0), Anchor::End, "axis", "at height");
    }

    /// One band over the neighbouring checkpoints that have it.
    fn band(
        &self,
        svg: &mut Svg,
        points: &[(f64, Known)],
        of: impl Fn(&Known) -> Option<(f64, f64)>,
        class: &str,
    ) {
        for run in points.chunk_by(|a, b| of(&a.1).is_some() == of(&b.1).is_some()) {
            let ends: Vec<(f64, (f64, f64))> = run
                .iter()
                .filter_map(|(x, known)| of(known).map(|ends| (*x, ends)))
                .collect();
            if ends.len() < 2 {
                continue;
            }
            let above = ends.iter().map(|(x, ends)| (*x, self.y.place(ends.1)));
            let below = ends
                .iter()
                .rev()
                .map(|(x, ends)| (*x, self.y.place(ends.0)));
            svg.polygon(&above.chain(below).collect::<Vec<_>>(), class);
        }
    }

    /// A checkpoint on its own: the bands as bars.
    fn column(&self, svg: &mut Svg, x: f64, known: Known) {
        if let Some((low, high)) = known.outer {
            svg.line((x, self.y.place(low)), (x, self.y.place(high)), "interval");
        }
        let (low, high) = (self.y.place(known.middle.0), self.y.place(known.middle.1));
        svg.rect((x - 6.0, high), (12.0, low - high), "half");
    }

    /// The latest month: its median, and where its middle half lies.
    fn latest(&self, svg: &mut Svg, points: &[(f64, &EnergyCheckpoint, Known)]) {
        let mut label = None;
        for (x, at, _) in points {
            let Some(latest) = &at.latest else { continue };
            let Some(known) = crate::quantiles::known(latest) else {
                continue;
            };
            let x = x + 9.0;
            let (low, high) = (self.y.place(known.middle.0), self.y.place(known.middle.1));
            svg.line((x, low), (x, high), "change");
            svg.diamond((x, self.y.place(known.median)), 4.5, "shrunk");
            label.get_or_insert_with(|| (x, high, latest.label.clone()));
        }
        if let Some((x, y, month)) = label {
            svg.text((x + 7.0, y + 4.0), Anchor::Start, "value halo", &month);
        }
    }

    /// What the bands are, written where they are widest.
    fn names(&self, svg: &mut Svg, x: f64, known: Known) {
        let mut name = |value: f64, below: f64, text: &str| {
            let y = self.y.place(value) + below;
            svg.text((x + 6.0, y), Anchor::Start, "tick", text);
        };
        if let Some((low, high)) = known.outer {
            name(low, -5.0, "5 %");
            name(high, 15.0, "95 %");
        }
    }
}
