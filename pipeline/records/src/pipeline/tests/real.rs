//! Real open data through the whole of loading and preparing. See `tests/data/real/README.md` for
//! its origin and for the facts asserted here, which were computed independently.

use std::convert::Infallible;
use std::path::Path;

use super::super::*;
use crate::fleet::{Fleet, open};
use crate::prepare::PreparedApproach;
use crate::samples;

const MAPS: &str = r#"
[records]
path = "."

[[map]]
pressure_altitude_ft = { column = "altitude_ft" }
cas_kt               = { column = "cas_kt" }
ground_speed_kt      = { column = "groundspeed_kt" }
track_true_deg       = { column = "track_deg" }
pitch_deg            = { column = "pitch_deg_as_recorded", scale = 0.5 }
roll_deg             = { column = "roll_deg" }
normal_accel_g       = { column = "nz_g" }
gross_mass_kg        = { column = "weight_kg" }

[[map]]
pressure_altitude_ft = { column = "altitude_ft" }
ground_speed_kt      = { column = "groundspeed_kt" }
track_true_deg       = { column = "track_deg" }
vertical_speed_fpm   = { column = "vertical_rate_fpm" }
latitude_deg         = { column = "lat" }
longitude_deg        = { column = "lon" }
on_ground            = { column = "on_ground" }
"#;

fn fleet(folder: &Path) -> Fleet {
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/data/real");
    let copy = |name: &str| {
        std::fs::copy(data.join(name), folder.join(name)).expect("copied");
    };
    std::fs::create_dir(folder.join("surveillance")).expect("made");
    std::fs::write(folder.join("fleet.toml"), MAPS).expect("written");
    for entry in std::fs::read_dir(data.join("surveillance")).expect("there") {
        let name = entry.expect("read").file_name();
        copy(&format!("surveillance/{}", name.to_string_lossy()));
    }
    copy("recorder.parquet");
    copy("runways_open.csv");
    std::fs::rename(folder.join("runways_open.csv"), folder.join("runways.csv")).expect("renamed");
    open(folder).expect("opens")
}

fn approaches(fleet: &Fleet, threads: usize) -> Vec<PreparedApproach> {
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .expect("threads");
    pool.install(|| {
        let files = input_files(fleet).expect("has files");
        let mut found = Vec::new();
        let mut sink = |outcome: Outcome| {
            match outcome {
                Outcome::Flight(flight) => found.extend(flight.approaches),
                Outcome::Quarantined(row) => panic!("{row:?}"),
            }
            Ok::<(), Infallible>(())
        };
        let summary =
            prepare_files(fleet, &files, &files, &mut sink, &|_| {}).expect("the sink takes all");
        assert_eq!(summary.done.quarantined, 0);
        found
    })
}

#[test]
fn real_records_load_and_land_where_they_landed() {
    let folder = tempfile::tempdir().expect("temporary folder");
    let fleet = fleet(folder.path());
    let approaches = approaches(&fleet, 2);
    let places: Vec<(&str, &str, &str)> = approaches
        .iter()
        .map(|a| {
            let runway = a.row.runway.as_deref().unwrap_or("unknown");
            (
                a.row.flight_id.as_str(),
                a.row.airport.as_deref().unwrap_or("unknown"),
                runway,
            )
        })
        .collect();
    assert_eq!(
        places,
        [
            ("recorder", "unknown", "unknown"),
            ("021b709f90", "LFPB", "27"),
            ("06bb6662fe", "LFPO", "06"),
            ("079f694f61", "LFPG", "26L"),
            ("1112b40195", "LFPG", "08R"),
            ("156c5e7317", "LFPG", "08R"),
            ("162a8991a2", "LFPO", "06"),
            ("1d7f81b379", "LFPB", "27"),
            ("223c55f113", "LFPO", "06"),
        ]
    );
    for approach in &approaches {
        assert!(
            approach.row.outcome.starts_with("landing"),
            "{:?}",
            approach.row
        );
        let batch = samples::batch(approach, &fleet.catalogue).expect("fits the schema");
        assert_eq!(batch.num_rows() as i64, approach.row.n_samples);
    }
}

#[test]
fn the_number_of_threads_changes_nothing() {
    let folder = tempfile::tempdir().expect("temporary folder");
    let fleet = fleet(folder.path());
    let rows = |threads| {
        let all = approaches(&fleet, threads);
        let batches = all
            .iter()
            .map(|a| samples::batch(a, &fleet.catalogue).expect("fits"));
        batches
            .map(|batch| format!("{batch:?}"))
            .collect::<Vec<_>>()
    };
    assert!(
        rows(1) == rows(3),
        "one thread and three give different samples"
    );
}
