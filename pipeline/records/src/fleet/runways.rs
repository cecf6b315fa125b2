//! Runway ends: where the landing thresholds are and which way they point.
//!
//! `runways.csv` has the open-data layout, whose points are pavement ends: a threshold is moved in
//! by its displacement and its elevation taken in between.

use std::collections::BTreeMap;
use std::path::Path;

use geographiclib_rs::{DirectGeodesic, Geodesic, InverseGeodesic};

use crate::atmosphere::M_PER_FT;
use crate::catalogue::{did_you_mean, nearest};
use crate::error::RecordsError;

/// One landing direction of one runway.
#[derive(Debug, Clone, PartialEq)]
pub struct RunwayEnd {
    /// Airport code as the table has it.
    pub airport: String,
    /// Name of the end, e.g. `26L`.
    pub ident: String,
    /// Landing threshold (displacement already applied).
    pub latitude_deg: f64,
    /// Landing threshold.
    pub longitude_deg: f64,
    /// Elevation of the landing threshold above mean sea level.
    pub elevation_ft: f64,
    /// True bearing of the landing direction, from the pavement ends.
    pub bearing_deg: f64,
    /// Landing distance: from the landing threshold to the far pavement end.
    pub length_ft: f64,
    /// Elevation of the far pavement end, for heights along the roll.
    pub far_elevation_ft: f64,
    /// Glide-path angle; 3 unless the table says otherwise.
    pub glide_path_deg: f64,
    /// Height of the beam over the threshold; 50 unless the table says otherwise.
    pub crossing_height_ft: f64,
}

/// All runway ends, sorted by airport and ident.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Runways {
    /// The ends.
    pub ends: Vec<RunwayEnd>,
}

impl Runways {
    /// The ends of one airport.
    pub fn at<'a>(&'a self, airport: &'a str) -> impl Iterator<Item = &'a RunwayEnd> {
        self.ends.iter().filter(move |end| end.airport == airport)
    }
}

const REQUIRED: [&str; 9] = [
    "airport_ident",
    "le_ident",
    "le_latitude_deg",
    "le_longitude_deg",
    "le_elevation_ft",
    "he_ident",
    "he_latitude_deg",
    "he_longitude_deg",
    "he_elevation_ft",
];

/// One row, by column name.
struct Row<'a> {
    path: &'a Path,
    line: u64,
    columns: &'a BTreeMap<String, usize>,
    record: &'a csv::StringRecord,
}

/// One pavement end.
struct Pavement {
    ident: String,
    latitude_deg: f64,
    longitude_deg: f64,
    elevation_ft: f64,
    displaced_ft: f64,
    glide_path_deg: f64,
    crossing_height_ft: f64,
}

/// Reads the table; what is skipped or doubtful goes to `notes`.
pub(super) fn read(path: &Path, notes: &mut Vec<String>) -> Result<Runways, RecordsError> {
    let table = |e: csv::Error| RecordsError::file(path, format!("not a readable table: {e}"));
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .from_path(path)
        .map_err(table)?;
    let header = reader.headers().map_err(table)?.clone();
    let columns: BTreeMap<String, usize> = header
        .iter()
        .enumerate()
        .map(|(i, name)| (name.to_owned(), i))
        .collect();
    for name in REQUIRED {
        if !columns.contains_key(name) {
            let near = did_you_mean(&nearest(name, header.iter()));
            return Err(RecordsError::row(
                path,
                1,
                format!("no column `{name}`{near}"),
            ));
        }
    }
    let mut runways = Runways::default();
    for record in reader.records() {
        let record = record.map_err(table)?;
        let line = record.position().map_or(0, csv::Position::line);
        let row = Row {
            path,
            line,
            columns: &columns,
            record: &record,
        };
        if row.text("closed") == "1" {
            continue;
        }
        match (row.pavement("le")?, row.pavement("he")?) {
            (Some(low), Some(high)) => pair(&row, &low, &high, notes, &mut runways.ends)?,
            _ => notes.push(format!(
                "{}:{line}: runway {} of {} left out: position or elevation missing",
                path.display(),
                row.text("le_ident"),
                row.text("airport_ident"),
            )),
        }
    }
    runways
        .ends
        .sort_by(|a, b| (&a.airport, &a.ident).cmp(&(&b.airport, &b.ident)));
    Ok(runways)
}

impl Row<'_> {
    fn text(&self, column: &str) -> &str {
        self.columns
            .get(column)
            .and_then(|&i| self.record.get(i))
            .unwrap_or_default()
    }

    fn number(&self, column: &str, low: f64, high: f64) -> Result<Option<f64>, RecordsError> {
        let text = self.text(column);
        if text.is_empty() {
            return Ok(None);
        }
        match text.parse::<f64>() {
            Ok(value) if (low..=high).contains(&value) => Ok(Some(value)),
            _ => {
                let message =
                    format!("{column} is `{text}`, expected a number from {low} to {high}");
                Err(RecordsError::row(self.path, self.line, message))
            }
        }
    }

    fn pavement(&self, end: &str) -> Result<Option<Pavement>, RecordsError> {
        let number = |name: &str, low, high| self.number(&format!("{end}_{name}"), low, high);
        let latitude = number("latitude_deg", -90.0, 90.0)?;
        let longitude = number("longitude_deg", -180.0, 180.0)?;
        let elevation = number("elevation_ft", -1500.0, 15_000.0)?;
        let (Some(latitude_deg), Some(longitude_deg), Some(elevation_ft)) =
            (latitude, longitude, elevation)
        else {
            return Ok(None);
        };
        Ok(Some(Pavement {
            ident: self.text(&format!("{end}_ident")).to_owned(),
            latitude_deg,
            longitude_deg,
            elevation_ft,
            displaced_ft: number("displaced_threshold_ft", 0.0, 10_000.0)?.unwrap_or(0.0),
            glide_path_deg: number("glide_path_deg", 2.0, 8.0)?.unwrap_or(3.0),
            crossing_height_ft: number("crossing_height_ft", 20.0, 150.0)?.unwrap_or(50.0),
        }))
    }
}

/// Both landing directions of one runway.
fn pair(
    row: &Row,
    low: &Pavement,
    high: &Pavement,
    notes: &mut Vec<String>,
    ends: &mut Vec<RunwayEnd>,
) -> Result<(), RecordsError> {
    let airport = row.text("airport_ident");
    for (from, to) in [(low, high), (high, low)] {
        let (distance_m, bearing, _, _): (f64, f64, f64, f64) = Geodesic::wgs84().inverse(
            from.latitude_deg,
            from.longitude_deg,
            to.latitude_deg,
            to.longitude_deg,
        );
        let pavement_ft = distance_m / M_PER_FT;
        if from.displaced_ft >= pavement_ft {
            let message = format!(
                "runway {} of {airport}: displaced threshold {} ft is beyond the far end at {:.0} ft",
                from.ident, from.displaced_ft, pavement_ft
            );
            return Err(RecordsError::row(row.path, row.line, message));
        }
        let stated = row
            .number("length_ft", 0.0, 30_000.0)?
            .filter(|length| *length > 0.0);
        if let Some(length) = stated.filter(|_| std::ptr::eq(from, low))
            && (pavement_ft - length).abs() > (0.02 * length).max(100.0)
        {
            notes.push(format!(
                "{}:{}: runway {} of {airport}: ends lie {pavement_ft:.0} ft apart, length_ft says {length}",
                row.path.display(),
                row.line,
                from.ident,
            ));
        }
        let (latitude_deg, longitude_deg): (f64, f64) = Geodesic::wgs84().direct(
            from.latitude_deg,
            from.longitude_deg,
            bearing,
            from.displaced_ft * M_PER_FT,
        );
        let rise = (to.elevation_ft - from.elevation_ft) * from.displaced_ft / pavement_ft;
        ends.push(RunwayEnd {
            airport: airport.to_owned(),
            ident: from.ident.clone(),
            latitude_deg,
            longitude_deg,
            elevation_ft: from.elevation_ft + rise,
            bearing_deg: bearing.rem_euclid(360.0),
            length_ft: pavement_ft - from.displaced_ft,
            far_elevation_ft: to.elevation_ft,
            glide_path_deg: from.glide_path_deg,
            crossing_height_ft: from.crossing_height_ft,
        });
    }
    Ok(())
}
