//! A report against an earlier one: what is new, gone or changed, and whether the cause that is named is the one
//! that was brought about.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;
use std::sync::LazyLock;

use tempfile::TempDir;

use crate::fleet::{PLANTED, glidetally, planted_rules, stderr};
use crate::same_bytes::demo;
use crate::store::{keep, number as run_number, text};
use crate::table::{Row, read};

/// Reviews of one fleet over one store, each in a folder of its own.
struct World {
    folder: TempDir,
    months: Vec<String>,
}

impl World {
    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// A review into `name`, `against` another where one is given.
    fn run(&self, command: &str, name: &str, against: Option<&Path>, more: &[&str]) -> Output {
        let (fleet, out, store) = (self.path("fleet"), self.path(name), self.path("store"));
        let mut all = vec![
            command,
            text(&fleet),
            "--out",
            text(&out),
            "--store",
            text(&store),
        ];
        if let Some(before) = against {
            all.extend(["--against", text(before)]);
        }
        if !more.contains(&"--rules") && !more.contains(&"--as-of") {
            all.extend(["--rules", planted_rules()]);
        }
        all.extend(more);
        glidetally(&all)
    }

    fn done(&self, command: &str, name: &str, against: Option<&str>, more: &[&str]) {
        let before = against.map(|name| self.path(name));
        let output = self.run(command, name, before.as_deref(), more);
        let said = stderr(&output);
        assert!(output.status.code().is_some_and(|code| code < 2), "{said}");
    }

    fn against(&self, name: &str) -> Vec<Row> {
        self.shared(name, "against")
    }

    fn shared(&self, name: &str, table: &str) -> Vec<Row> {
        read(&self.path(name).join(format!("share/tables/{table}.csv")))
    }

    fn report(&self, name: &str) -> String {
        fs::read_to_string(self.path(name).join("share/report.html")).unwrap()
    }

    /// Name of the month before the latest, and of the latest.
    fn last_two(&self) -> (&str, &str) {
        let [.., earlier, latest] = self.months.as_slice() else {
            panic!("{:?}", self.months);
        };
        (earlier, latest)
    }
}

/// `late` lacks the file of one type and month, `earlier` ends a month before `latest`, `other` is by a rule with
/// another limit.
static WORLD: LazyLock<World> = LazyLock::new(|| {
    let folder = demo("240");
    let fleet = folder.path().join("fleet");
    let months: BTreeSet<String> = read(&fleet.join("flown.csv"))
        .iter()
        .map(|row| row["month"].clone())
        .collect();
    // A small fleet: places and topics are compared from as few approaches as may be set.
    let toml = fleet.join("fleet.toml");
    let mut config = fs::read_to_string(&toml).unwrap();
    config.push_str("\n[review.flags]\nmin_approaches = 30\nwatch_probability = 0.6\n");
    fs::write(&toml, config).unwrap();
    let world = World {
        folder,
        months: months.into_iter().collect(),
    };
    let (earlier, latest) = world.last_two();
    let late = fleet.join(format!("records/corvan-c20/{}.parquet", world.months[0]));
    let aside = world.path("aside.parquet");
    fs::rename(&late, &aside).unwrap();
    world.done("review", "late", None, &["--month", latest]);
    fs::rename(&aside, &late).unwrap();
    world.done("review", "latest", Some("late"), &["--month", latest]);
    world.done("report", "earlier", None, &["--month", earlier]);
    let rules = world.path("rules");
    fs::create_dir(&rules).unwrap();
    for rule in PLANTED {
        let file = Path::new(planted_rules()).join(format!("{rule}.toml"));
        fs::copy(file, rules.join(format!("{rule}.toml"))).unwrap();
    }
    let file = rules.join("high_at_15nm.toml");
    let rule = fs::read_to_string(&file).unwrap();
    let other = rule.replace("above_ft = 1000.0", "above_ft = -3000.0");
    assert_ne!(rule, other);
    fs::write(&file, other).unwrap();
    let more = ["--month", latest, "--rules", text(&rules)];
    world.done("review", "other", Some("latest"), &more);
    // Judged again by the rules of before, for whoever reports from this store.
    world.done("review", "again", Some("latest"), &["--month", latest]);
    world
});

fn differing(rows: &[Row]) -> Vec<&Row> {
    rows.iter()
        .filter(|row| row["mark"] != "unchanged")
        .collect()
}

#[test]
fn more_months_of_the_same_flights_are_flying() {
    let (_, latest) = WORLD.last_two();
    WORLD.done("report", "flown", Some("earlier"), &["--month", latest]);
    let rows = WORLD.against("flown");
    let differing = differing(&rows);
    assert!(!differing.is_empty(), "{rows:?}");
    for row in &differing {
        // What was too little to be told then is told now.
        assert!(
            ["flying", "data; flying"].contains(&row["cause"].as_str()),
            "{row:?}"
        );
    }
    assert!(
        differing.iter().any(|row| row["cause"] == "flying"),
        "{differing:?}"
    );
    let report = WORLD.report("flown");
    assert!(report.contains("Since the review before") && report.contains("<td>flying</td>"));
    assert!(!WORLD.report("earlier").contains("Since the review before"));
    assert_eq!(WORLD.against("earlier"), Vec::<Row>::new());
}

#[test]
fn flights_that_came_late_are_data() {
    let rows = WORLD.against("latest");
    let differing = differing(&rows);
    assert!(!differing.is_empty(), "{rows:?}");
    for row in differing {
        assert_eq!(row["cause"], "data", "{row:?}");
    }
    assert!(WORLD.report("latest").contains("<td>data</td>"));
}

#[test]
fn another_limit_is_rules() {
    let rows = WORLD.against("other");
    let differing = differing(&rows);
    let own: Vec<_> = differing
        .iter()
        .filter(|row| row["rule"] == "high_at_15nm" || row["topic"] == "descent planning")
        .collect();
    assert!(!own.is_empty(), "{differing:?}");
    for row in differing {
        assert_eq!(row["cause"], "rules", "{row:?}");
    }
    let json = |name: &str| -> serde_json::Value {
        let bytes = fs::read(WORLD.path(name).join("share/run.json")).unwrap();
        serde_json::from_slice(&bytes).unwrap()
    };
    let (now, before) = (json("other"), json("latest"));
    assert_eq!(now["against"]["rules_hash"], before["rules_hash"]);
    assert_eq!(now["against"]["run"], before["run"]);
    assert_eq!(now["against"]["month"], WORLD.last_two().1);
    assert_ne!(now["rules_hash"], before["rules_hash"]);
    assert!(json("late")["against"].is_null());
}

/// Each side shows what its own tables show, and of a withheld row nothing.
#[test]
fn both_sides_are_those_of_the_tables() {
    let mut looked_at = 0;
    for (name, before) in [("latest", "late"), ("other", "latest")] {
        let tables = [("before", before), ("now", name)].map(|(side, name)| {
            (
                side,
                WORLD.shared(name, "hotspots"),
                WORLD.shared(name, "training_topics"),
            )
        });
        for row in WORLD.against(name) {
            for (side, places, topics) in &tables {
                let group = |place: &Row| match place["runway"].as_str() {
                    "" => place["airport"].clone(),
                    runway => format!("{}/{runway}", place["airport"]),
                };
                let found = match row["kind"].as_str() {
                    "place" => places.iter().find(|place| {
                        group(place) == row["group"]
                            && place["rule"] == row["rule"]
                            && place["family"] == row["family"]
                    }),
                    "topic" => topics.iter().find(|topic| {
                        topic["topic"] == row["topic"] && topic["group"] == row["group"]
                    }),
                    _ => continue,
                };
                for figure in ["evaluable", "approaches_with_event", "rate_per_1000"] {
                    let told = found.map_or("", |found| &found[figure]);
                    assert_eq!(row[&format!("{figure}_{side}")], told, "{row:?}");
                }
                looked_at += 1;
            }
        }
    }
    assert!(looked_at > 10, "{looked_at} sides");
}

#[test]
fn the_folder_that_is_written_and_a_share_folder_that_was_passed_round_will_do() {
    let (_, latest) = WORLD.last_two();
    let month = ["--month", latest];
    keep(&WORLD.path("latest"), &WORLD.path("own"));
    WORLD.done("report", "own", Some("own"), &month);
    let rows = WORLD.against("own");
    assert!(!rows.is_empty() && differing(&rows).is_empty(), "{rows:?}");
    assert!(rows.iter().all(|row| row["cause"].is_empty()));
    assert!(
        WORLD
            .report("own")
            .contains("No flag is new, gone or another one.")
    );
    let shared = WORLD.path("passed-round");
    fs::create_dir(&shared).unwrap();
    fs::rename(WORLD.path("own").join("share"), shared.join("theirs")).unwrap();
    WORLD.done("report", "own", Some("passed-round/theirs"), &month);
    assert_eq!(WORLD.against("own"), rows);
    // The same comparison made again from the store has the same bytes.
    let run = run_number(&WORLD.path("own"));
    WORLD.done(
        "report",
        "then",
        Some("passed-round/theirs"),
        &["--as-of", &run],
    );
    for file in [
        "tables/against.parquet",
        "tables/against.csv",
        "headline.json",
        "report.html",
    ] {
        let of = |name: &str| fs::read(WORLD.path(name).join("share").join(file)).unwrap();
        assert!(of("own") == of("then"), "{file} differs");
    }
}

#[test]
fn what_cannot_be_compared_is_refused_and_nothing_is_written() {
    let (earlier, _) = WORLD.last_two();
    let month = ["--month", earlier];
    for (before, words) in [
        ("latest", "later than"),
        ("fleet", "no review in"),
        ("nowhere", "expected share/run.json"),
    ] {
        let output = WORLD.run("report", "refused", Some(&WORLD.path(before)), &month);
        let said = stderr(&output);
        assert_eq!(output.status.code(), Some(2), "{said}");
        assert!(said.contains(words), "no `{words}` in: {said}");
        assert!(!WORLD.path("refused/share").exists(), "{before}");
    }
    keep(&WORLD.path("earlier"), &WORLD.path("damaged"));
    let table = WORLD
        .path("damaged")
        .join("share/tables/trend_slope.parquet");
    fs::remove_file(table).unwrap();
    let output = WORLD.run("report", "refused", Some(&WORLD.path("damaged")), &month);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        stderr(&output).contains("trend_slope.parquet"),
        "{}",
        stderr(&output)
    );
}
