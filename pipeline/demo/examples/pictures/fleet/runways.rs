//! Runway ends from `runways.csv`, in the open-data column layout.

use crate::fault::{Fault, read_text};
use std::collections::BTreeMap;
use std::path::Path;

/// One landing direction.
#[derive(Clone, Debug)]
pub(crate) struct RunwayEnd {
    pub(crate) airport: String,
    pub(crate) name: String,
    /// Landing threshold: the pavement's end moved by the displacement.
    pub(crate) latitude_deg: f64,
    pub(crate) longitude_deg: f64,
    pub(crate) bearing_deg: f64,
    pub(crate) glide_path_deg: f64,
    pub(crate) crossing_height_ft: f64,
}

/// Feet in a nautical mile.
pub(crate) const FT_PER_NM: f64 = 1852.0 / 0.3048;

impl RunwayEnd {
    /// Height of the glide path at a track distance.
    pub(crate) fn glide_path_ft(&self, to_go_nm: f64) -> f64 {
        self.crossing_height_ft + to_go_nm * FT_PER_NM * self.glide_path_deg.to_radians().tan()
    }

    /// Position in the runway's frame, NM: along the landing direction, and to the right of it.
    ///
    /// A flat earth serves within the 40 NM that are drawn.
    pub(crate) fn frame_nm(&self, latitude_deg: f64, longitude_deg: f64) -> (f64, f64) {
        let north = (latitude_deg - self.latitude_deg) * 60.0;
        // The shorter way round, where the meridian of 180° lies between.
        let east_deg = (longitude_deg - self.longitude_deg + 540.0).rem_euclid(360.0) - 180.0;
        let east = east_deg * 60.0 * self.latitude_deg.to_radians().cos();
        let (sin, cos) = self.bearing_deg.to_radians().sin_cos();
        (east * sin + north * cos, east * cos - north * sin)
    }
}

/// Both ends of every runway.
pub(crate) fn read(path: &Path) -> Result<Vec<RunwayEnd>, Fault> {
    let text = read_text(path)?;
    let mut lines = text.lines();
    let header: Vec<&str> = lines.next().unwrap_or_default().split(',').collect();
    let mut ends = Vec::new();
    for (number, line) in lines.enumerate() {
        let cells: BTreeMap<&str, &str> = header
            .iter()
            .copied()
            .zip(line.split(',').map(|cell| cell.trim_matches('"')))
            .collect();
        for side in ["le", "he"] {
            let end = end_of(&cells, side).ok_or_else(|| {
                let what = format!("line {}: the {side} end is not complete", number + 2);
                Fault::text(path, what)
            })?;
            ends.push(end);
        }
    }
    Ok(ends)
}

fn end_of(cells: &BTreeMap<&str, &str>, side: &str) -> Option<RunwayEnd> {
    let text = |name: &str| cells.get(format!("{side}_{name}").as_str()).copied();
    let number = |name: &str| text(name)?.parse::<f64>().ok();
    let bearing_deg = number("heading_degT")?;
    let displaced_nm = number("displaced_threshold_ft").unwrap_or(0.0) / FT_PER_NM;
    let latitude_deg = number("latitude_deg")?;
    let (sin, cos) = bearing_deg.to_radians().sin_cos();
    Some(RunwayEnd {
        airport: (*cells.get("airport_ident")?).to_owned(),
        name: text("ident")?.to_owned(),
        latitude_deg: latitude_deg + displaced_nm * cos / 60.0,
        longitude_deg: number("longitude_deg")?
            + displaced_nm * sin / 60.0 / latitude_deg.to_radians().cos(),
        bearing_deg,
        glide_path_deg: number("glide_path_deg").unwrap_or(3.0),
        crossing_height_ft: number("crossing_height_ft").unwrap_or(50.0),
    })
}
