//! An aircraft file of any bytes is read or refused, and what was read answers without a panic.
#![no_main]

use std::fs;
use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use tempfile::TempDir;

static FOLDER: LazyLock<TempDir> = LazyLock::new(|| {
    let folder = TempDir::new().expect("a folder");
    fs::create_dir(folder.path().join("records")).expect("a folder");
    fs::create_dir(folder.path().join("aircraft")).expect("a folder");
    fs::write(folder.path().join("fleet.toml"), "[fleet]\ntitle = \"f\"\n").expect("a file");
    folder
});

fuzz_target!(|text: &str| {
    fs::write(FOLDER.path().join("aircraft/a-type.toml"), text).expect("a file");
    match records::fleet::open(FOLDER.path()) {
        Ok(fleet) => {
            for aircraft in fleet.aircraft.values() {
                for number in [-1.0, 0.0, 1.5, 3.0, 1e9, f64::NAN] {
                    let _ = aircraft.lever_limit_kt(number);
                    let _ = aircraft.next_limit_kt(number);
                    let _ = aircraft.surface_limit_kt(number, number);
                    let _ = aircraft.min_manoeuvre_kt(number, number);
                    let _ = aircraft.target_cas_kt(number, 130.0);
                    let _ = aircraft.vref_kt(number, None);
                    let _ = aircraft.landing_flap_set(number, number);
                }
            }
        }
        Err(error) => assert!(!error.to_string().is_empty()),
    }
});
