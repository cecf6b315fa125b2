//! What the tests share: real files as raw flights, and flights made up to a plan.

use std::collections::BTreeMap;
use std::fs::File;
use std::path::{Path, PathBuf};

use arrow::array::{Array, Float64Array};
use arrow::compute::cast;
use arrow::datatypes::DataType;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;

use crate::airfield::distance_and_bearing;
use crate::catalogue::Catalogue;
use crate::fleet::{Fleet, RunwayEnd, Runways};
use crate::flight::{Channel, FlightHeader, RawFlight};
use crate::timebase::interval_s;

/// See `tests/data/real/README.md` for where the files come from.
pub(crate) fn real(file: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../tests/data/real")
        .join(file)
}

/// A fleet of these runways and nothing else.
pub(crate) fn fleet(ends: Vec<RunwayEnd>) -> Fleet {
    Fleet {
        runways: Runways { ends },
        ..Fleet::default()
    }
}

/// The runways of the real tracks.
pub(crate) fn real_fleet() -> Fleet {
    let mut ends = Vec::new();
    let mut table = csv::Reader::from_path(real("runways_open.csv")).unwrap();
    let headers = table.headers().unwrap().clone();
    for record in table.records() {
        let record = record.unwrap();
        let cell = |name: &str| record[headers.iter().position(|h| h == name).unwrap()].to_owned();
        let number = |name: &str| cell(name).parse::<f64>().unwrap_or(f64::NAN);
        for (own, far) in [("le", "he"), ("he", "le")] {
            let point = |p: &str| {
                (
                    number(&format!("{p}_latitude_deg")),
                    number(&format!("{p}_longitude_deg")),
                )
            };
            let (here, there) = (point(own), point(far));
            let (pavement_nm, bearing_deg) = distance_and_bearing(here, there);
            let displaced = number(&format!("{own}_displaced_threshold_ft"));
            let displaced_ft = if displaced.is_nan() { 0.0 } else { displaced };
            let pavement_ft = pavement_nm * crate::atmosphere::FT_PER_NM;
            let share = displaced_ft / pavement_ft;
            let elevation = |p: &str| number(&format!("{p}_elevation_ft"));
            let between = |a: f64, b: f64| a + share * (b - a);
            let end = RunwayEnd {
                airport: cell("airport_ident"),
                ident: cell(&format!("{own}_ident")),
                latitude_deg: between(here.0, there.0),
                longitude_deg: between(here.1, there.1),
                elevation_ft: between(elevation(own), elevation(far)),
                bearing_deg,
                length_ft: pavement_ft - displaced_ft,
                far_elevation_ft: elevation(far),
                glide_path_deg: 3.0,
                crossing_height_ft: 50.0,
            };
            if !end.elevation_ft.is_nan() && !end.latitude_deg.is_nan() {
                ends.push(end);
            }
        }
    }
    fleet(ends)
}

/// Columns of the real files and the parameters they are; `pitch_deg` is recorded doubled.
const REAL_COLUMNS: &[(&str, &str, f64)] = &[
    ("altitude_ft", "pressure_altitude_ft", 1.0),
    ("groundspeed_kt", "ground_speed_kt", 1.0),
    ("track_deg", "track_true_deg", 1.0),
    ("cas_kt", "cas_kt", 1.0),
    ("pitch_deg_as_recorded", "pitch_deg", 0.5),
    ("roll_deg", "roll_deg", 1.0),
    ("nz_g", "normal_accel_g", 1.0),
    ("weight_kg", "gross_mass_kg", 1.0),
    ("vertical_rate_fpm", "vertical_speed_fpm", 1.0),
    ("lat", "latitude_deg", 1.0),
    ("lon", "longitude_deg", 1.0),
    ("on_ground", "on_ground", 1.0),
];

/// One of the real files.
pub(crate) fn real_flight(file: &str) -> RawFlight {
    let path = real(file);
    let reader = ParquetRecordBatchReaderBuilder::try_new(File::open(&path).unwrap())
        .unwrap()
        .with_batch_size(1 << 20)
        .build()
        .unwrap();
    let mut columns: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    for batch in reader {
        let batch = batch.unwrap();
        for (field, array) in batch.schema().fields().iter().zip(batch.columns()) {
            let array = cast(array, &DataType::Float64).unwrap();
            let array = array.as_any().downcast_ref::<Float64Array>().unwrap();
            columns
                .entry(field.name().clone())
                .or_default()
                .extend(array.iter().map(|v| v.unwrap_or(f64::NAN)));
        }
    }
    let time_s = columns["time_s"].clone();
    let channels = REAL_COLUMNS
        .iter()
        .filter_map(|&(column, name, scale)| {
            let value = columns.get(column)?.iter().map(|v| v * scale).collect();
            Some((name.to_owned(), channel(time_s.clone(), value)))
        })
        .collect();
    RawFlight {
        file: PathBuf::from(file),
        header: FlightHeader {
            flight_id: path.file_stem().unwrap().to_string_lossy().into_owned(),
            ..FlightHeader::default()
        },
        channels,
        quality: Vec::new(),
    }
}

/// A channel at its own rate.
pub(crate) fn channel(time_s: Vec<f64>, value: Vec<f64>) -> Channel {
    Channel {
        interval_s: interval_s(&time_s, &value),
        time_s,
        value,
        holds: false,
    }
}

/// A channel sampled from a function of time.
pub(crate) fn sampled(until_s: f64, step_s: f64, f: impl Fn(f64) -> f64) -> Channel {
    let n = (until_s / step_s).round() as usize + 1;
    let time_s: Vec<f64> = (0..n).map(|i| i as f64 * step_s).collect();
    let value = time_s.iter().map(|&t| f(t)).collect();
    channel(time_s, value)
}
