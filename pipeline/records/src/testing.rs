//! What the tests share: real files as raw flights, and channels made up to a plan.

use std::path::{Path, PathBuf};

use crate::fleet::{AircraftType, Fleet, RunwayEnd, Runways, open};
use crate::flight::{Channel, RawFlight};
use crate::load::{Source, one_flight};
use crate::timebase::interval_s;

/// See `tests/data/real/README.md` for where the files come from.
fn real(file: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../tests/data/real")
        .join(file)
}

/// A fleet of these runways and nothing else.
pub(crate) fn fleet(ends: Vec<RunwayEnd>) -> Fleet {
    let folder = tempfile::tempdir().unwrap();
    Fleet {
        runways: Runways { ends },
        ..open(folder.path()).unwrap()
    }
}

/// The folder of the real files, with its parameter maps and runways.
pub(crate) fn real_fleet() -> Fleet {
    open(&real("")).unwrap()
}

/// One of the real files, as it is loaded.
pub(crate) fn real_flight(file: &str) -> RawFlight {
    let path = real(file);
    let source = Source {
        path: &path,
        relative: file,
    };
    one_flight(&source, &real_fleet()).unwrap()
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

/// An invented type, as its file in the pack says.
pub(crate) fn corvan() -> AircraftType {
    toml::from_str(include_str!("../../../rules/aircraft/corvan-c20.toml")).unwrap()
}
