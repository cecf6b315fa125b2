//! The kernels of preparing, each on one flight: `cargo bench -p records`.

#![allow(clippy::unwrap_used, reason = "a bench may fail where it stands")]

mod timing;

use std::convert::Infallible;
use std::path::{Path, PathBuf};

use records::catalogue::Kind;
use records::derive::{Frame, derive};
use records::fleet::{Fleet, open};
use records::flight::{Channel, RawFlight};
use records::load::{Source, one_flight};
use records::pipeline::{Outcome, input_files, prepare_files};
use records::prepare::{PreparedApproach, prepare};
use records::samples::{batch, stored_columns};
use records::timebase::{Grid, interval_s, peaks, sample};

use timing::measure;

fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// A real recorder flight of three hours and a quarter, eight parameters once a second.
fn real() -> (Fleet, RawFlight) {
    let folder = top().join("tests/data/real");
    let fleet = open(&folder).unwrap();
    let source = Source {
        path: &folder.join("recorder.parquet"),
        relative: "recorder.parquet",
    };
    let flight = one_flight(&source, &fleet).unwrap();
    (fleet, flight)
}

/// One approach of the sample fleet, with all columns that it has.
fn approach(fleet: &Fleet) -> PreparedApproach {
    let files = input_files(fleet).unwrap();
    let mut found = None;
    let mut sink = |outcome: Outcome| {
        if let Outcome::Flight(mut flight) = outcome {
            found = found.take().or_else(|| flight.approaches.pop());
        }
        Ok::<(), Infallible>(())
    };
    prepare_files(fleet, &files[..1], &files, &mut sink, &|_| {}).unwrap();
    found.unwrap()
}

/// Three hours of a smooth channel, `hz` values a second.
fn smooth(hz: f64) -> Channel {
    let n = (3.0 * 3600.0 * hz) as usize;
    let time_s: Vec<f64> = (0..n).map(|i| i as f64 / hz).collect();
    let value: Vec<f64> = time_s.iter().map(|t| 1.0 + 0.1 * (t / 7.0).sin()).collect();
    let interval_s = interval_s(&time_s, &value);
    Channel {
        time_s,
        value,
        interval_s,
        holds: false,
    }
}

fn time_base() {
    let channel = smooth(8.0);
    let grid = Grid::covering(9_600.0, 10_700.0, 4);
    let _ = measure(
        "interval of 86,400 samples",
        || (),
        |()| interval_s(&channel.time_s, &channel.value),
    );
    let _ = measure(
        "resample the last 18 of 180 minutes to 4 Hz",
        || (),
        |()| sample(&channel, Kind::Continuous, &grid),
    );
    let _ = measure(
        "peaks of the last 18 of 180 minutes",
        || (),
        |()| peaks(&channel, &grid),
    );
}

fn flights() {
    let (fleet, flight) = real();
    let _ = measure(
        "clean, cut and derive a real flight",
        || flight.clone(),
        |flight| prepare(flight, &fleet).unwrap(),
    );
}

fn approaches() {
    let fleet = open(&top().join("sample-data")).unwrap();
    let approach = approach(&fleet);
    let laid_out = batch(&approach, &fleet.catalogue).unwrap();
    let recorded = stored_columns(&laid_out, &fleet.catalogue, 1.0).unwrap();
    let aircraft = fleet.aircraft.values().next();
    let _ = measure(
        "derive one approach",
        || recorded.clone(),
        |mut columns| {
            derive(&mut columns, aircraft, &Frame::default());
            columns
        },
    );
    let _ = measure(
        "lay out one approach",
        || (),
        |()| batch(&approach, &fleet.catalogue).unwrap(),
    );
}

fn main() {
    time_base();
    flights();
    approaches();
}
