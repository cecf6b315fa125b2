//! Samples that were made unknown and would have made an event are listed, and change nothing else.

use std::fs;
use std::path::Path;

use tempfile::TempDir;

use crate::damage_matrix::record::Record;
use crate::fleet::{Review, glidetally, planted_rules, stderr};
use crate::table::{Row, number};

const TYPE: &str = "corvan-c20";
const RULE: &str = "flap_limit_exceeded";
/// So far above any flap limit that one sample is an event.
const SPIKE_KT: f64 = 120.0;

/// A fleet of two quiet flights of one type, taken from an invented fleet.
struct Quiet {
    folder: TempDir,
    records: [Record; 2],
    touchdown_s: f64,
}

impl Quiet {
    fn new() -> Self {
        let folder = TempDir::new().unwrap();
        let source = folder.path().join("source");
        let path = source.to_str().unwrap();
        let size = ["--profile", "exact", "--flights", "40", "--seed", "31"];
        let written = glidetally(&[&["demo", "write", path][..], &size[..]].concat());
        assert_eq!(written.status.code(), Some(0), "{}", stderr(&written));
        let review = Review::run(&source, &["--rules", planted_rules()]);
        let (approaches, events) = (review.restricted("approaches"), review.restricted("events"));
        // An undamaged fleet has nothing to suspect.
        assert_eq!(review.restricted("suspect"), Vec::<Row>::new());
        let quiet: Vec<&Row> = approaches
            .iter()
            .filter(|row| row["aircraft_type"] == TYPE && row["outcome"] == "landing")
            .filter(|row| events.iter().all(|e| e["flight_id"] != row["flight_id"]))
            .take(2)
            .collect();
        let records = [quiet[0], quiet[1]].map(|row| Record::of(&source, &row["flight_id"]));
        let touchdown_s = number(quiet[0], "end_s").unwrap();
        let fleet = folder.path().join("fleet");
        fs::create_dir_all(fleet.join("records")).unwrap();
        fs::create_dir_all(fleet.join("aircraft")).unwrap();
        fs::copy(source.join("runways.csv"), fleet.join("runways.csv")).unwrap();
        let file = format!("aircraft/{TYPE}.toml");
        fs::copy(source.join(&file), fleet.join(&file)).unwrap();
        fs::write(fleet.join("fleet.toml"), "[privacy]\nrekey = false\n").unwrap();
        let list = "flight_id,aircraft_type,month\nspiked,TYPE,2025-03\nother,TYPE,2025-03\n";
        fs::write(fleet.join("flights.csv"), list.replace("TYPE", TYPE)).unwrap();
        let quiet = Self {
            folder,
            records,
            touchdown_s,
        };
        quiet.records[1].write(&quiet.fleet().join("records/other.parquet"));
        quiet
    }

    fn fleet(&self) -> std::path::PathBuf {
        self.folder.path().join("fleet")
    }

    /// Writes the first flight with airspeed leaping for one sample a minute before touchdown.
    fn spike(&self, by_kt: f64) {
        let mut record = self.records[0].clone();
        let at_s = self.touchdown_s - 60.0;
        let (_, cas) = record.cells("cas_kt", at_s, f64::INFINITY).next().unwrap();
        *cas += by_kt;
        record.write(&self.fleet().join("records/spiked.parquet"));
    }

    /// Reviews into a folder that stays.
    fn review(&self) -> impl Fn(&str) -> Vec<Row> {
        let out = self.folder.path().join("out");
        let (fleet, out) = (self.fleet(), out.to_str().unwrap().to_owned());
        let done = glidetally(&[
            "review",
            fleet.to_str().unwrap(),
            "--out",
            &out,
            "--rules",
            planted_rules(),
        ]);
        assert_eq!(done.status.code(), Some(0), "{}", stderr(&done));
        move |table| {
            crate::table::read(&Path::new(&out).join(format!("restricted/tables/{table}.csv")))
        }
    }

    /// Nothing is wrong with the store.
    fn verify(&self) {
        let store = self.folder.path().join("out");
        let done = glidetally(&["store", "verify", store.to_str().unwrap()]);
        assert_eq!(done.status.code(), Some(0), "{}", stderr(&done));
    }
}

fn without(rows: &[Row], columns: &[&str]) -> Vec<Row> {
    let mut rows = rows.to_vec();
    for row in &mut rows {
        for column in columns {
            row.remove(*column);
        }
    }
    rows
}

#[test]
fn a_spike_that_would_have_been_an_event_is_a_suspect_and_nothing_else() {
    let quiet = Quiet::new();
    quiet.spike(SPIKE_KT);
    let tables = quiet.review();
    assert_eq!(tables("events"), Vec::<Row>::new());
    let suspects = tables("suspect");
    let flap: Vec<&Row> = suspects.iter().filter(|row| row["rule"] == RULE).collect();
    let [one] = flap[..] else {
        panic!("one suspect of the flap limit: {suspects:?}")
    };
    assert_eq!(one["flight_id"], "spiked");
    assert_eq!(one["parameters"], "cas_kt");
    assert_eq!(one["month"], "2025-03");
    let start_s = number(one, "start_s").unwrap();
    assert!(
        (start_s - (quiet.touchdown_s - 60.0)).abs() <= 2.0,
        "{one:?}"
    );
    assert!(number(one, "worst").unwrap().abs() > 20.0, "{one:?}");
    assert!(
        suspects
            .iter()
            .all(|row| row["flight_id"] == "spiked" && row["parameters"] == "cas_kt")
    );
    let approaches = tables("approaches");
    let counts: Vec<(&str, &str)> = approaches
        .iter()
        .map(|row| (row["cleaned"].as_str(), row["n_uncleaned"].as_str()))
        .collect();
    assert_eq!(counts[0], ("", "0"), "the other flight is stored once");
    assert_eq!(counts[1].0, "cas_kt");
    assert_eq!(counts[1].1, approaches[1]["n_samples"]);
    let spiked = tables("measurements").len();
    quiet.verify();

    // The file is replaced by the true one: the row goes, and all else is as it was but for one sample.
    quiet.spike(0.0);
    let tables = quiet.review();
    assert_eq!(tables("suspect"), Vec::<Row>::new());
    assert_eq!(tables("events"), Vec::<Row>::new());
    assert_eq!(tables("measurements").len(), spiked);
    let changed = ["cleaned", "n_uncleaned"];
    assert_eq!(
        without(&tables("approaches"), &changed),
        without(&approaches, &changed)
    );
    quiet.verify();
}

/// Other flights of a file that is written again keep what was uncleaned of them.
#[test]
fn a_suspect_stays_when_another_flight_of_its_file_is_replaced() {
    let quiet = Quiet::new();
    quiet.spike(SPIKE_KT);
    let before = quiet.review()("suspect");
    assert!(!before.is_empty());
    let mut other = quiet.records[1].clone();
    for (_, roll) in other.cells("roll_deg", 0.0, 100.0) {
        *roll += 0.25;
    }
    other.write(&quiet.fleet().join("records/other.parquet"));
    let tables = quiet.review();
    assert_eq!(tables("suspect"), before);
    let whole = |row: &&Row| row["n_uncleaned"] == row["n_samples"];
    assert_eq!(tables("approaches").iter().filter(whole).count(), 1);
    quiet.verify();
}
