//! The sheet that panels are drawn on: a thin layer over the plotting library.
//!
//! The library writes whole units, so the sheet is drawn four times as large as it is shown. Lines
//! are cut at the panel's edge and thinned to what an eye can tell apart.

use crate::fault::Fault;
use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

/// Drawing units per shown pixel.
pub(crate) const UNIT: i32 = 4;

/// Greys and two quiet tones that differ in lightness as well.
pub(crate) const INK: RGBColor = RGBColor(0x1b, 0x26, 0x2c);
pub(crate) const MID: RGBColor = RGBColor(0x67, 0x72, 0x78);
pub(crate) const PALE: RGBColor = RGBColor(0xb4, 0xbb, 0xbf);
pub(crate) const GRID: RGBColor = RGBColor(0xe4, 0xe8, 0xea);
pub(crate) const ZONE: RGBColor = RGBColor(0xee, 0xf0, 0xf1);
pub(crate) const OVER: RGBColor = RGBColor(0xd6, 0xa6, 0x7c);
pub(crate) const UNDER: RGBColor = RGBColor(0xc3, 0xd2, 0xda);
pub(crate) const ALARM: RGBColor = RGBColor(0x9a, 0x36, 0x1b);

/// A picture while it is drawn.
pub(crate) struct Sheet<'a> {
    root: DrawingArea<SVGBackend<'a>, Shift>,
}

/// Where a text stands relative to its point.
#[derive(Clone, Copy)]
pub(crate) enum Side {
    Left,
    Middle,
    Right,
}

fn fault(error: impl std::fmt::Display) -> Fault {
    Fault::Draw(error.to_string())
}

/// Draws a picture of a size in shown pixels and gives its text.
pub(crate) fn draw(
    size: (i32, i32),
    paint: impl FnOnce(&Sheet<'_>) -> Result<(), Fault>,
) -> Result<String, Fault> {
    let mut text = String::new();
    let (width, height) = ((size.0 * UNIT) as u32, (size.1 * UNIT) as u32);
    {
        let root = SVGBackend::with_string(&mut text, (width, height)).into_drawing_area();
        root.fill(&WHITE).map_err(fault)?;
        paint(&Sheet { root: root.clone() })?;
        root.present().map_err(fault)?;
    }
    // Shown at a quarter of the drawn size: the view box scales it.
    let drawn = format!("width=\"{width}\" height=\"{height}\" viewBox");
    let shown = format!("width=\"{}\" height=\"{}\" viewBox", size.0, size.1);
    Ok(text.replacen(&drawn, &shown, 1))
}

impl Sheet<'_> {
    /// A line through points in drawing units.
    fn path(&self, points: Vec<(i32, i32)>, color: RGBColor, width_px: f64) -> Result<(), Fault> {
        let style = color.stroke_width((width_px * f64::from(UNIT)).round() as u32);
        self.root
            .draw(&PathElement::new(points, style))
            .map_err(fault)
    }

    /// A text at a point in shown pixels, its middle at that height.
    pub(crate) fn text(
        &self,
        at: (f64, f64),
        side: Side,
        size_px: f64,
        color: RGBColor,
        text: &str,
    ) -> Result<(), Fault> {
        let side = match side {
            Side::Left => HPos::Left,
            Side::Middle => HPos::Center,
            Side::Right => HPos::Right,
        };
        let style = TextStyle::from(("sans-serif", size_px * f64::from(UNIT)))
            .pos(Pos::new(side, VPos::Center))
            .color(&color);
        self.root
            .draw(&Text::new(text.to_owned(), units(at), style))
            .map_err(fault)
    }

    /// A line between points in shown pixels.
    pub(crate) fn stroke(
        &self,
        points: &[(f64, f64)],
        color: RGBColor,
        width_px: f64,
    ) -> Result<(), Fault> {
        let thin = thinned(points.iter().copied().map(units).collect());
        self.path(thin, color, width_px)
    }

    /// A line of dashes between points in shown pixels.
    pub(crate) fn dashes(
        &self,
        points: &[(f64, f64)],
        color: RGBColor,
        width_px: f64,
    ) -> Result<(), Fault> {
        const ON_PX: f64 = 7.0;
        const OFF_PX: f64 = 5.0;
        let (mut drawn_px, mut dash) = (0.0, Vec::new());
        for pair in points.windows(2) {
            let (from, to) = (pair[0], pair[1]);
            let length_px = (to.0 - from.0).hypot(to.1 - from.1);
            let mut along_px = 0.0;
            while along_px < length_px {
                let phase = drawn_px % (ON_PX + OFF_PX);
                let left_px = if phase < ON_PX { ON_PX } else { ON_PX + OFF_PX } - phase;
                let step_px = left_px.max(0.01).min(length_px - along_px);
                let at = |px: f64| {
                    let part = px / length_px;
                    (
                        from.0 + part * (to.0 - from.0),
                        from.1 + part * (to.1 - from.1),
                    )
                };
                if phase < ON_PX {
                    if dash.is_empty() {
                        dash.push(at(along_px));
                    }
                    dash.push(at(along_px + step_px));
                    if step_px >= left_px - 1e-9 {
                        self.stroke(&dash, color, width_px)?;
                        dash.clear();
                    }
                }
                along_px += step_px;
                drawn_px += step_px;
            }
        }
        if dash.len() > 1 {
            self.stroke(&dash, color, width_px)?;
        }
        Ok(())
    }

    /// A filled rectangle between two corners in shown pixels.
    pub(crate) fn block(
        &self,
        from: (f64, f64),
        to: (f64, f64),
        color: RGBColor,
    ) -> Result<(), Fault> {
        self.root
            .draw(&Rectangle::new([units(from), units(to)], color.filled()))
            .map_err(fault)
    }

    /// A filled shape with corners in shown pixels.
    pub(crate) fn shape(&self, points: &[(f64, f64)], color: RGBColor) -> Result<(), Fault> {
        let thin = thinned(points.iter().copied().map(units).collect());
        self.root
            .draw(&Polygon::new(thin, color.filled()))
            .map_err(fault)
    }

    /// A dot at a point in shown pixels.
    pub(crate) fn dot(&self, at: (f64, f64), color: RGBColor, radius_px: f64) -> Result<(), Fault> {
        let radius = (radius_px * f64::from(UNIT)).round() as i32;
        self.root
            .draw(&Circle::new(units(at), radius, color.filled()))
            .map_err(fault)
    }
}

fn units(at: (f64, f64)) -> (i32, i32) {
    let unit = f64::from(UNIT);
    ((at.0 * unit).round() as i32, (at.1 * unit).round() as i32)
}

/// How far a point may lie from the line that leaves it out, drawing units.
const THIN: f64 = 1.2;

/// The points without which the line would look different (Ramer 1972, Douglas and Peucker 1973).
fn thinned(points: Vec<(i32, i32)>) -> Vec<(i32, i32)> {
    if points.len() < 3 {
        return points;
    }
    let mut keep = vec![false; points.len()];
    keep[0] = true;
    keep[points.len() - 1] = true;
    let mut open = vec![(0, points.len() - 1)];
    while let Some((first, last)) = open.pop() {
        let far = (first + 1..last)
            .map(|index| (off_line(points[first], points[last], points[index]), index))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((_, index)) = far.filter(|far| far.0 > THIN) {
            keep[index] = true;
            open.push((first, index));
            open.push((index, last));
        }
    }
    let kept = points.iter().zip(&keep).filter(|(_, keep)| **keep);
    kept.map(|(point, _)| *point).collect()
}

fn off_line(from: (i32, i32), to: (i32, i32), point: (i32, i32)) -> f64 {
    let (dx, dy) = (f64::from(to.0 - from.0), f64::from(to.1 - from.1));
    let (px, py) = (f64::from(point.0 - from.0), f64::from(point.1 - from.1));
    let length = dx.hypot(dy);
    if length < 1e-9 {
        px.hypot(py)
    } else {
        (dx * py - dy * px).abs() / length
    }
}
