//! One panel: data coordinates on a part of the sheet, lines cut at its edge.

use crate::fault::Fault;
use crate::sheet::{GRID, INK, MID, PALE, Sheet, Side};
use plotters::style::RGBColor;

/// Track distances that every picture spans, NM: from far out to a little beyond the threshold.
pub(crate) const FAR_NM: f64 = 40.0;
pub(crate) const BEYOND_NM: f64 = -1.5;
/// Left and right edge of every panel, shown pixels.
pub(crate) const LEFT_PX: f64 = 78.0;
pub(crate) const RIGHT_PX: f64 = 866.0;
/// Width of a whole picture.
pub(crate) const WIDTH_PX: f64 = 960.0;

/// A part of the sheet with axes.
pub(crate) struct Panel<'a, 'b> {
    pub(crate) sheet: &'a Sheet<'b>,
    pub(crate) top_px: f64,
    pub(crate) bottom_px: f64,
    low: f64,
    high: f64,
}

/// Horizontal place of a track distance.
pub(crate) fn across_px(to_go_nm: f64) -> f64 {
    LEFT_PX + (FAR_NM - to_go_nm) / (FAR_NM - BEYOND_NM) * (RIGHT_PX - LEFT_PX)
}

impl<'a, 'b> Panel<'a, 'b> {
    /// A panel between two heights of the sheet for values between two.
    pub(crate) fn new(
        sheet: &'a Sheet<'b>,
        (top_px, bottom_px): (f64, f64),
        (low, high): (f64, f64),
    ) -> Self {
        Self {
            sheet,
            top_px,
            bottom_px,
            low,
            high,
        }
    }

    /// Vertical place of a value, not cut at the edges.
    pub(crate) fn up_px(&self, value: f64) -> f64 {
        self.bottom_px
            - (value - self.low) / (self.high - self.low) * (self.bottom_px - self.top_px)
    }

    /// Place of a point.
    pub(crate) fn at(&self, to_go_nm: f64, value: f64) -> (f64, f64) {
        (across_px(to_go_nm), self.up_px(value))
    }

    /// Heading, frame and ruled lines with their figures.
    pub(crate) fn frame(&self, heading: &str, ruled: &[f64]) -> Result<(), Fault> {
        self.sheet
            .text((LEFT_PX, self.top_px - 9.0), Side::Left, 12.0, INK, heading)?;
        for value in ruled {
            let up = self.up_px(*value);
            self.sheet
                .stroke(&[(LEFT_PX, up), (RIGHT_PX, up)], GRID, 1.0)?;
            self.sheet.text(
                (LEFT_PX - 6.0, up),
                Side::Right,
                10.5,
                MID,
                &grouped(*value),
            )?;
        }
        for distance in (0..=8).map(|step| f64::from(step) * 5.0) {
            let across = across_px(distance);
            self.sheet.stroke(
                &[(across, self.top_px), (across, self.bottom_px)],
                GRID,
                if distance == 0.0 { 1.75 } else { 0.75 },
            )?;
        }
        self.sheet.stroke(
            &[(LEFT_PX, self.bottom_px), (RIGHT_PX, self.bottom_px)],
            PALE,
            1.0,
        )
    }

    /// A line through (track distance, value), cut at the panel's edges.
    pub(crate) fn line(
        &self,
        points: &[(f64, f64)],
        color: RGBColor,
        width_px: f64,
    ) -> Result<(), Fault> {
        for piece in self.cut(points) {
            self.sheet.stroke(&piece, color, width_px)?;
        }
        Ok(())
    }

    /// The same in dashes.
    pub(crate) fn dashes(
        &self,
        points: &[(f64, f64)],
        color: RGBColor,
        width_px: f64,
    ) -> Result<(), Fault> {
        for piece in self.cut(points) {
            self.sheet.dashes(&piece, color, width_px)?;
        }
        Ok(())
    }

    /// The pieces of a line inside the panel, in shown pixels.
    fn cut(&self, points: &[(f64, f64)]) -> Vec<Vec<(f64, f64)>> {
        let mut pieces: Vec<Vec<(f64, f64)>> = Vec::new();
        let mut open = false;
        for pair in points.windows(2) {
            let (from, to) = (self.at(pair[0].0, pair[0].1), self.at(pair[1].0, pair[1].1));
            let Some((from, to)) = self.inside(from, to) else {
                open = false;
                continue;
            };
            let joined = open && pieces.last().and_then(|piece| piece.last()) == Some(&from);
            if let Some(piece) = pieces.last_mut().filter(|_| joined) {
                piece.push(to);
            } else {
                pieces.push(vec![from, to]);
            }
            open = true;
        }
        pieces
    }

    /// The part of a segment inside the panel (Liang and Barsky 1984).
    fn inside(&self, from: (f64, f64), to: (f64, f64)) -> Option<((f64, f64), (f64, f64))> {
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
        let edges = [
            (-dx, from.0 - LEFT_PX),
            (dx, RIGHT_PX - from.0),
            (-dy, from.1 - self.top_px),
            (dy, self.bottom_px - from.1),
        ];
        for (slope, room) in edges {
            if slope == 0.0 {
                if room < 0.0 {
                    return None;
                }
            } else if slope < 0.0 {
                enter = enter.max(room / slope);
            } else {
                leave = leave.min(room / slope);
            }
        }
        let at = |part: f64| (from.0 + part * dx, from.1 + part * dy);
        let start = if enter == 0.0 { from } else { at(enter) };
        let end = if leave == 1.0 { to } else { at(leave) };
        (enter <= leave).then_some((start, end))
    }

    /// The area between a line and a level, above it and below it, cut at the edges.
    pub(crate) fn filled(
        &self,
        points: &[(f64, f64)],
        level: f64,
        above: RGBColor,
        below: RGBColor,
    ) -> Result<(), Fault> {
        let limited: Vec<(f64, f64)> = points
            .iter()
            .filter(|(distance, _)| (BEYOND_NM..=FAR_NM).contains(distance))
            .map(|(distance, value)| (*distance, value.clamp(self.low, self.high)))
            .collect();
        for (color, side) in [(above, 1.0), (below, -1.0)] {
            for run in runs(&limited, level, side) {
                let (Some(first), Some(last)) = (run.first(), run.last()) else {
                    continue;
                };
                let mut corners: Vec<(f64, f64)> =
                    run.iter().map(|point| self.at(point.0, point.1)).collect();
                corners.push(self.at(last.0, level));
                corners.push(self.at(first.0, level));
                self.sheet.shape(&corners, color)?;
            }
        }
        Ok(())
    }
}

/// Stretches of a line on one side of a level, with their crossings of it.
fn runs(points: &[(f64, f64)], level: f64, side: f64) -> Vec<Vec<(f64, f64)>> {
    let beyond = |point: &(f64, f64)| (point.1 - level) * side > 0.0;
    let mut runs = Vec::new();
    let mut run: Vec<(f64, f64)> = Vec::new();
    for (index, point) in points.iter().enumerate() {
        let before = index.checked_sub(1).map(|before| points[before]);
        if let Some(before) = before.filter(|before| beyond(before) != beyond(point)) {
            let part = (level - before.1) / (point.1 - before.1);
            run.push((before.0 + part * (point.0 - before.0), level));
            if !beyond(point) {
                runs.push(std::mem::take(&mut run));
            }
        }
        if beyond(point) {
            run.push(*point);
        }
    }
    if run.len() > 1 {
        runs.push(run);
    }
    runs
}

/// A whole number with its thousands apart.
pub(crate) fn grouped(value: f64) -> String {
    let whole = value.round().abs() as i64;
    let sign = if value.round() < 0.0 { "−" } else { "" };
    if whole >= 1000 {
        format!("{sign}{},{:03}", whole / 1000, whole % 1000)
    } else {
        format!("{sign}{whole}")
    }
}

/// The same with a plus.
pub(crate) fn signed(value: f64) -> String {
    let plus = if value.round() > 0.0 { "+" } else { "" };
    format!("{plus}{}", grouped(value))
}
