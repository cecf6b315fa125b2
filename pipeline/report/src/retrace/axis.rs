//! The axis all pictures of an approach share: distance left, the threshold at the right.
//!
//! Where no distance is known the axis is time to the end of the approach, so that a record without
//! positions can be looked at too.

use super::input::Series;
use crate::scale::{Scale, tick_label};
use crate::svg::{Anchor, Svg};

pub(super) const WIDTH: f64 = 720.0;
pub(super) const LEFT: f64 = 58.0;
pub(super) const RIGHT: f64 = 700.0;
/// Farther out the pictures would press together what decides the approach; judgement.
const FARTHEST_NM: f64 = 25.0;
/// As much by time: about as far at approach speeds; judgement.
const FARTHEST_S: f64 = 600.0;

/// From samples and moments to places from left to right.
#[derive(Debug)]
pub(super) struct Axis<'a> {
    series: &'a Series,
    by_distance: bool,
    /// Distance or time left, NM or s.
    left: Vec<Option<f64>>,
    scale: Scale,
}

impl<'a> Axis<'a> {
    pub(super) fn of(series: &'a Series) -> Self {
        let by_distance = series.distance_nm.iter().flatten().count() > 1;
        let end_s = series.time_s.last().copied().unwrap_or(0.0);
        let left: Vec<Option<f64>> = if by_distance {
            series.distance_nm.clone()
        } else {
            series.time_s.iter().map(|t| Some(end_s - t)).collect()
        };
        let farthest = if by_distance { FARTHEST_NM } else { FARTHEST_S };
        let widest = left.iter().flatten().copied().fold(0.0, f64::max);
        let scale = Scale::linear((0.0, widest.min(farthest)), (RIGHT, LEFT));
        Self {
            series,
            by_distance,
            left,
            scale,
        }
    }

    /// Place of sample `k`; `None` where its distance is unknown, farther out than the picture, or past the
    /// threshold: the flare would pile up at the edge.
    pub(super) fn of_sample(&self, k: usize) -> Option<f64> {
        let left = self.left.get(k).copied().flatten()?;
        (left >= 0.0 && !self.scale.is_beyond(left)).then(|| self.scale.place(left))
    }

    /// Place of a moment, held at the edge where it lies outside; `None` where that is not known.
    pub(super) fn of_moment(&self, time_s: f64) -> Option<f64> {
        let left = at(&self.series.time_s, &self.left, time_s).or_else(|| {
            // Between samples of unknown distance: the nearest known one.
            let known = self.series.time_s.iter().zip(&self.left);
            known
                .filter_map(|(t, left)| left.map(|left| ((t - time_s).abs(), left)))
                .min_by(|a, b| a.0.total_cmp(&b.0))
                .map(|(_, left)| left)
        })?;
        Some(self.scale.place(left))
    }

    /// Whether sample `k` is drawn.
    pub(super) fn shows(&self, k: usize) -> bool {
        self.of_sample(k).is_some()
    }

    /// "10.2 NM" or "85 s before the end", for a moment.
    pub(super) fn words(&self, time_s: f64) -> Option<String> {
        let left = at(&self.series.time_s, &self.left, time_s)?;
        Some(if self.by_distance {
            format!("{} NM", crate::words::decimals(left, 1))
        } else {
            format!("{} s before the end", crate::words::decimals(left, 0))
        })
    }

    /// Grid lines with their numbers below.
    pub(super) fn draw(&self, svg: &mut Svg, top: f64, bottom: f64) {
        let ticks = self.scale.ticks(60.0);
        for tick in &ticks {
            let x = self.scale.place(*tick);
            svg.line((x, top), (x, bottom), "grid");
            let label = tick_label(*tick, &ticks);
            svg.text((x, bottom + 15.0), Anchor::Middle, "tick", &label);
        }
        let words = if self.by_distance {
            "track distance to the threshold, NM"
        } else {
            "time to the end of the approach, s"
        };
        svg.text((RIGHT, bottom + 32.0), Anchor::End, "axis", words);
    }
}

/// A series at a moment: between two known samples along the line, `None` elsewhere.
pub(super) fn at(time_s: &[f64], values: &[Option<f64>], moment_s: f64) -> Option<f64> {
    let after = time_s.partition_point(|t| *t < moment_s);
    let value = |k: usize| values.get(k).copied().flatten();
    if time_s.get(after).is_some_and(|t| *t == moment_s) {
        return value(after);
    }
    let before = after.checked_sub(1)?;
    let (t0, t1) = (time_s.get(before)?, time_s.get(after)?);
    let (v0, v1) = (value(before)?, value(after)?);
    Some(v0 + (v1 - v0) * (moment_s - t0) / (t1 - t0))
}
