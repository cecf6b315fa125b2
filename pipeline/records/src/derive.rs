//! The computed columns of one approach.

use std::collections::BTreeMap;

use crate::timebase::Grid;

/// Which part of an approach a sample belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Segment {
    /// Up to touchdown or go-around initiation.
    Approach,
    /// After touchdown.
    Roll,
    /// After go-around initiation.
    Missed,
}

impl Segment {
    /// As stored.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Approach => "approach",
            Self::Roll => "roll",
            Self::Missed => "missed",
        }
    }
}

/// The columns of one approach on the base grid; NaN where unknown.
#[derive(Debug, Clone, PartialEq)]
pub struct Columns {
    /// Times of the samples.
    pub grid: Grid,
    /// Column name to values, each of length `grid.n`. Names not present are unknown throughout.
    pub columns: BTreeMap<String, Vec<f64>>,
    /// The part each sample belongs to.
    pub segment: Vec<Segment>,
}

/// What the approach is measured against.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Elevation of the landing threshold, where the runway is known.
    pub threshold_elevation_ft: Option<f64>,
    /// True bearing of the landing direction.
    pub runway_bearing_deg: Option<f64>,
    /// Nominal path angle.
    pub glide_path_deg: f64,
    /// Height of the path over the threshold.
    pub crossing_height_ft: f64,
}

impl Default for Frame {
    fn default() -> Self {
        Self {
            threshold_elevation_ft: None,
            runway_bearing_deg: None,
            glide_path_deg: 3.0,
            crossing_height_ft: 50.0,
        }
    }
}
