//! The computed columns of one approach.

mod air;
mod configuration;
mod energy;
mod look_back;
mod plan;
mod windows;

use std::collections::BTreeMap;

use crate::fleet::AircraftType;
use crate::timebase::Grid;

pub use air::isa_deviation_k;
pub use look_back::look_back;
pub use plan::{
    planning_height_ft, profile_height_ft, rule_of_three_by_speed_ft, rule_of_three_ft,
};

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
    /// From the landing threshold to the far end of the pavement, where the runway is known.
    pub runway_length_ft: Option<f64>,
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
            runway_length_ft: None,
            glide_path_deg: 3.0,
            crossing_height_ft: 50.0,
        }
    }
}

impl Columns {
    /// The values of a column, where it is there.
    pub fn values(&self, name: &str) -> Option<&[f64]> {
        self.columns.get(name).map(Vec::as_slice)
    }
}

/// Fills every computed column that is not there yet, and `tas_kt`, `vref_kt` and `vapp_kt` where
/// they were not recorded.
///
/// Expects the recorded parameters on the base grid, `height_aal_ft`, and, where they are known,
/// `distance_to_threshold_nm`, `along_nm`, `offset_nm`. A column whose inputs are unknown comes
/// out unknown; without `aircraft` so do all that need its limits.
pub fn derive(columns: &mut Columns, aircraft: Option<&AircraftType>, frame: &Frame) {
    let mut work = Work::new(columns);
    air::derive(&mut work, frame);
    configuration::derive(&mut work, aircraft);
    runway_remaining(&mut work, frame);
    plan::derive(&mut work, aircraft, frame);
    energy::derive(&mut work);
}

/// What is left of the runway beyond the threshold, from the position along its axis.
fn runway_remaining(work: &mut Work, frame: &Frame) {
    const FT_PER_NM: f64 = 1852.0 / 0.3048;
    let length_ft = frame.runway_length_ft.unwrap_or(f64::NAN);
    let remaining = work.each(["along_nm"], |[along]| {
        if along <= 0.0 {
            length_ft + along * FT_PER_NM
        } else {
            f64::NAN
        }
    });
    work.put("runway_remaining_ft", remaining);
}

/// Columns under construction: unknown names read as unknown, known ones are never overwritten.
struct Work<'a> {
    columns: &'a mut Columns,
    unknown: Vec<f64>,
}

impl<'a> Work<'a> {
    fn new(columns: &'a mut Columns) -> Self {
        let unknown = vec![f64::NAN; columns.grid.n];
        Self { columns, unknown }
    }

    fn get(&self, name: &str) -> &[f64] {
        self.columns.values(name).unwrap_or(&self.unknown)
    }

    fn has(&self, name: &str) -> bool {
        self.get(name).iter().any(|v| !v.is_nan())
    }

    fn put(&mut self, name: &str, values: Vec<f64>) {
        self.columns
            .columns
            .entry(name.to_owned())
            .or_insert(values);
    }

    /// Fills a recorded column that holds nothing.
    fn put_unless_recorded(&mut self, name: &str, values: Vec<f64>) {
        if !self.has(name) {
            self.columns.columns.insert(name.to_owned(), values);
        }
    }

    /// A column computed sample by sample from others.
    fn each<const N: usize>(&self, names: [&str; N], f: impl Fn([f64; N]) -> f64) -> Vec<f64> {
        let inputs = names.map(|name| self.get(name));
        (0..self.unknown.len())
            .map(|k| f(inputs.map(|values| values[k])))
            .collect()
    }
}

#[cfg(test)]
mod tests;
