//! Approaches flown by an independent flight dynamics library; `tests/data/flown-model/README.md`.
//!
//! The truth beside them was computed from the library's own history at its own rate, by other code.

use std::fmt::Write as _;
use std::fs;
use std::sync::OnceLock;

use serde::Deserialize;
use tempfile::TempDir;

use crate::fleet::{Review, stderr, top};
use crate::table::{Row, number};
use crate::truth::{head, key};

#[derive(Debug, Deserialize)]
struct Flown {
    flight_id: String,
    approach_no: i32,
    outcome: String,
    airport: String,
    runway: String,
    touchdown: Option<Touchdown>,
    go_around: Option<GoAround>,
    checkpoints: Vec<Checkpoint>,
    gates: Vec<Gate>,
}

#[derive(Debug, Deserialize)]
struct Touchdown {
    time_s: f64,
    beyond_threshold_ft: f64,
    highest_g: f64,
}

#[derive(Debug, Deserialize)]
struct GoAround {
    time_s: f64,
    height_ft: f64,
}

#[derive(Debug, Deserialize)]
struct Checkpoint {
    distance_nm: f64,
    time_s: f64,
    height_by_altimeter_ft: f64,
    height_by_tape_ft: f64,
    cas_kt: f64,
}

#[derive(Debug, Deserialize)]
struct Gate {
    height_ft: f64,
    time_s: f64,
    distance_nm: f64,
    cas_kt: f64,
    tas_kt: f64,
    ground_speed_kt: f64,
    sink_rate_fpm: f64,
    glide_path_dots: f64,
    localizer_dots: f64,
}

impl Flown {
    fn key(&self) -> (String, i32) {
        (self.flight_id.clone(), self.approach_no)
    }

    fn is_rough(&self) -> bool {
        self.flight_id == "m08-rough"
    }
}

fn flown() -> Vec<Flown> {
    let path = top().join("tests/data/flown-model/truth.json");
    serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap()
}

/// Columns that are read at every crossing.
const READ: [&str; 9] = [
    "height_aal_ft",
    "height_geometric_ft",
    "distance_to_threshold_nm",
    "cas_kt",
    "tas_kt",
    "ground_speed_kt",
    "sink_rate_fpm",
    "glide_path_dev_dots",
    "localizer_dev_dots",
];

/// A rule that never fires and shows what was read where a column crossed a number.
fn crossing(folder: &TempDir, id: &str, at: &str) {
    let mut rule = format!(
        "id = \"{id}\"\nversion = 1\ntitle = \"Values at {at}\"\nfamily = \"data\"\n\
         why = \"Shows what was read.\"\nsource = \"None: limits far outside.\"\n\
         topics = [\"data quality\"]\n\n[gate]\nat = '{at}'\n"
    );
    for name in READ {
        write!(
            rule,
            "\n[[criterion]]\nname = \"c_{name}\"\nvalue = '{name}'\nupper = 99999\n"
        )
        .unwrap();
    }
    fs::write(folder.path().join(format!("{id}.toml")), rule).unwrap();
}

/// One review with the built-in rules, one with crossings; every test reads them.
struct Reviews {
    built_in: Review,
    crossings: Review,
}

fn reviews() -> &'static Reviews {
    static REVIEWS: OnceLock<Reviews> = OnceLock::new();
    REVIEWS.get_or_init(|| {
        let fleet = top().join("tests/data/flown-model/fleet");
        let rules = TempDir::new().unwrap();
        for nm in [10, 7, 5, 4, 3] {
            let at = format!("distance_to_threshold_nm = {nm}");
            crossing(&rules, &format!("at_{nm}nm"), &at);
        }
        for ft in [1000, 500] {
            crossing(&rules, &format!("at_{ft}ft"), &format!("height_aal_ft = {ft}"));
        }
        let built_in = Review::run(&fleet, &[]);
        let crossings = Review::run(&fleet, &["--rules", rules.path().to_str().unwrap()]);
        for review in [&built_in, &crossings] {
            assert_eq!(review.exit(), Some(0), "{}", stderr(&review.output));
        }
        Reviews {
            built_in,
            crossings,
        }
    })
}

/// What a crossing read, or a fault.
fn read(gates: &[Row], flown: &Flown, rule: &str, column: &str) -> (f64, f64) {
    let row = gates
        .iter()
        .find(|row| {
            key(row) == flown.key()
                && row["rule"] == rule
                && row["criterion"] == format!("c_{column}")
        })
        .unwrap_or_else(|| panic!("{:?} {rule} {column}: no row", flown.key()));
    let value = number(row, "value");
    (
        number(row, "gate_s").unwrap(),
        value.unwrap_or_else(|| panic!("{:?} {rule} {column}: unknown", flown.key())),
    )
}
