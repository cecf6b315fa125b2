//! Running the binary and building small fleet folders for it.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::LazyLock;

use tempfile::TempDir;

use crate::table::{Row, read};

/// The top of the repository.
pub(crate) fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../..")
        .canonicalize()
        .expect("the top folder")
}

pub(crate) fn real(name: &str) -> PathBuf {
    top().join("tests/data/real").join(name)
}

/// Runs the binary and returns what it said.
pub(crate) fn glidetally(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_glidetally"))
        .args(arguments)
        .current_dir(top())
        .env("NO_COLOR", "1")
        .output()
        .expect("the binary starts")
}

pub(crate) fn stderr(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// The rules of which an invented fleet knows the truth, as a folder of their own: what is about the machinery
/// need not run every rule there is.
pub(crate) fn planted_rules() -> &'static str {
    static FOLDER: LazyLock<TempDir> = LazyLock::new(|| {
        let folder = TempDir::new().expect("a folder");
        for rule in PLANTED {
            for ending in ["toml", "test.toml"] {
                let file = format!("{rule}.{ending}");
                fs::copy(top().join("rules").join(&file), folder.path().join(&file))
                    .expect("a rule");
            }
        }
        folder
    });
    FOLDER.path().to_str().expect("a plain path")
}

/// Those rules.
pub(crate) const PLANTED: [&str; 8] = [
    "energy_excess_10nm",
    "energy_excess_20nm",
    "flap_limit_exceeded",
    "flap_selection_margin",
    "high_at_15nm",
    "unstable_1000",
    "unstable_500",
    "unstable_and_landed",
];

/// A finished review.
pub(crate) struct Review {
    pub(crate) out: TempDir,
    pub(crate) output: Output,
}

impl Review {
    pub(crate) fn run(fleet: &Path, more: &[&str]) -> Self {
        let out = TempDir::new().expect("a folder");
        let mut arguments = vec!["review", fleet.to_str().unwrap(), "--out"];
        arguments.push(out.path().to_str().unwrap());
        arguments.extend(more);
        let output = glidetally(&arguments);
        Self { out, output }
    }

    pub(crate) fn exit(&self) -> Option<i32> {
        self.output.status.code()
    }

    pub(crate) fn restricted(&self, table: &str) -> Vec<Row> {
        read(
            &self
                .out
                .path()
                .join(format!("restricted/tables/{table}.csv")),
        )
    }

    pub(crate) fn shared(&self, table: &str) -> Vec<Row> {
        read(&self.out.path().join(format!("share/tables/{table}.csv")))
    }

    pub(crate) fn report(&self) -> String {
        fs::read_to_string(self.out.path().join("share/report.html")).expect("a report")
    }
}

/// A fleet folder with the given `fleet.toml` and records.
pub(crate) fn folder(toml: &str, records: &[PathBuf]) -> TempDir {
    let fleet = TempDir::new().expect("a folder");
    fs::write(fleet.path().join("fleet.toml"), toml).expect("fleet.toml");
    fs::create_dir(fleet.path().join("records")).expect("records");
    for record in records {
        let name = record.file_name().expect("a file name");
        fs::copy(record, fleet.path().join("records").join(name)).expect("a copy");
    }
    fleet
}

/// How the real recorder flight names its columns.
pub(crate) const RECORDER: &str = r#"
[records]
path = "records"

[[map]]
time_s = { column = "time_s", unit = "s" }
pressure_altitude_ft = { column = "altitude_ft", unit = "ft" }
ground_speed_kt = { column = "groundspeed_kt", unit = "kt" }
track_true_deg = { column = "track_deg", unit = "deg" }
cas_kt = { column = "cas_kt", unit = "kt" }
pitch_deg = { column = "pitch_deg_as_recorded", unit = "deg", scale = 0.5 }
roll_deg = { column = "roll_deg", unit = "deg" }
normal_accel_g = { column = "nz_g", unit = "g" }
gross_mass_kg = { column = "weight_kg", unit = "kg" }
"#;

/// How the real surveillance tracks name theirs.
pub(crate) const SURVEILLANCE: &str = r#"
[fleet]
runways = "runways_open.csv"

[records]
path = "records"

[[map]]
time_s = { column = "time_s", unit = "s" }
pressure_altitude_ft = { column = "altitude_ft", unit = "ft" }
ground_speed_kt = { column = "groundspeed_kt", unit = "kt" }
track_true_deg = { column = "track_deg", unit = "deg" }
vertical_speed_fpm = { column = "vertical_rate_fpm", unit = "ft/min" }
latitude_deg = { column = "lat", unit = "deg" }
longitude_deg = { column = "lon", unit = "deg" }
on_ground = { column = "on_ground" }
"#;
