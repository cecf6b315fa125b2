//! A fleet's own parameter, a column that looks back over it, and limits by aircraft type: known to every command
//! that has to do with rules.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use tempfile::TempDir;

use crate::fleet::{Review, glidetally, stderr};
use crate::table::number;

const RULE: &str = r#"id       = "fan_fast"
version  = 1
title    = "Fan fast low down"
family   = "data"
why      = "Shows a fleet's own columns."
source   = "None: a rule for tests."
status   = "trial"

[limits]
fan_pct = 200.0

[[override]]
aircraft_type  = "corvan-c20"
limits.fan_pct = 30.0
why            = "Only this type has the parameter."

[episode]
within = 'height_aal_ft < 1500 and height_aal_ft > 500'
when   = 'fan_mean_5s > limits.fan_pct'

[measures]
worst = 'max(fan_mean_5s)'
now   = 'at_worst(own_fan_pct)'
"#;

const TEST: &str = r#"[[case]]
name = "above the limit of that type"
given.height_aal_ft = "1000*5"
given.aircraft_type = "corvan-c20*5"
given.fan_mean_5s = "20 31*3 20"
given.own_fan_pct = "32*5"
expect = [{ start = "1s", end = "4s", worst = 31.0, now = 32.0 }]

[[case]]
name = "other types have another limit"
given.height_aal_ft = "1000*5"
given.aircraft_type = "tarn-t7*5"
given.fan_mean_5s = "31*5"
expect = []
status = "clear"
"#;

fn said(arguments: &[&str]) -> (String, String) {
    let output = glidetally(arguments);
    assert_eq!(
        output.status.code(),
        Some(0),
        "{arguments:?}: {}",
        stderr(&output)
    );
    (
        String::from_utf8(output.stdout.clone()).unwrap(),
        stderr(&output),
    )
}

fn fleet() -> TempDir {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("fleet");
    let fleet = path.to_str().unwrap();
    said(&[
        "demo",
        "write",
        fleet,
        "--profile",
        "exact",
        "--flights",
        "60",
        "--seed",
        "6",
    ]);
    let file = path.join("fleet.toml");
    let toml = fs::read_to_string(&file).unwrap();
    let line = "n1_1_pct             = { column = \"n1_1_pct\"";
    assert!(toml.contains(line), "{toml}");
    let toml = toml.replacen(
        line,
        &format!("own_fan_pct = {{ column = \"n1_2_pct\" }}\n{line}"),
        1,
    );
    let other = "n1_2_pct             = { column = \"n1_2_pct\"";
    // One column of the file is one parameter: this one is ours now.
    let toml = toml
        .lines()
        .filter(|one| !one.starts_with(other))
        .collect::<Vec<_>>()
        .join("\n");
    let own = "\n\n[[parameter]]\nname = \"own_fan_pct\"\nunit = \"%\"\nkind = \"continuous\"\nlow = 0\nhigh = 120\n\n\
        [derived]\nfan_mean_5s = { column = \"own_fan_pct\", take = \"mean\", seconds = 5 }\n";
    fs::write(&file, toml + own).unwrap();
    fs::create_dir(path.join("rules")).unwrap();
    fs::write(path.join("rules/fan_fast.toml"), RULE).unwrap();
    fs::write(path.join("rules/fan_fast.test.toml"), TEST).unwrap();
    folder
}

#[test]
fn own_columns_and_types_are_known_to_every_command_about_rules() {
    let folder = fleet();
    let path = folder.path().join("fleet");
    let (fleet, rules) = (path.to_str().unwrap(), path.join("rules"));
    let rules = rules.to_str().unwrap();

    // Without the fleet they are unknown, and it is said where they would be known.
    let alone = glidetally(&["rules", "check", rules]);
    assert_eq!(alone.status.code(), Some(2));
    assert!(
        stderr(&alone).contains("known with `--fleet FLEET`"),
        "{}",
        stderr(&alone)
    );
    let (_, checked) = said(&["rules", "check", rules, "--fleet", fleet]);
    assert!(checked.contains("1 rules, no fault"), "{checked}");
    assert!(!checked.contains("never be evaluated"), "{checked}");
    let (_, tested) = said(&["rules", "test", rules, "--fleet", fleet]);
    assert!(tested.contains("2 cases, 0 faults"), "{tested}");
    let (shown, _) = said(&[
        "rules", "show", "fan_fast", "--rules", rules, "--fleet", fleet,
    ]);
    assert!(
        shown.contains("reads own_fan_pct") && shown.contains("%, read where known"),
        "{shown}"
    );
    let (_, planned) = said(&[
        "rules", "explain", "--stage", "plan", "--rules", rules, "--fleet", fleet,
    ]);
    assert!(planned.contains("1 aggregate over 1 scan"), "{planned}");

    let review = Review::run(&path, &[]);
    assert_ne!(review.exit(), Some(2), "{}", stderr(&review.output));
    judged(&review);
    let out = review.out.path().to_str().unwrap();
    let (swept, how) = said(&[
        "rules", "sweep", fleet, "fan_fast", "fan_pct", "--out", out, "--from", "20", "--to",
        "120", "--steps", "3", "--format", "csv",
    ]);
    assert!(how.contains("every sample was judged again"), "{how}");
    assert!(how.contains("1 overrides set fan_pct"), "{how}");
    assert_eq!(swept.lines().count(), 10, "{swept}");
    let after = folder.path().join("after");
    fs::create_dir(&after).unwrap();
    fs::write(
        after.join("fan_fast.toml"),
        RULE.replace("= 30.0", "= 55.0"),
    )
    .unwrap();
    let (_, changed) = said(&[
        "rules",
        "diff",
        fleet,
        "--out",
        out,
        "--after",
        text(&after),
    ]);
    assert!(
        changed.contains("1 rules differ, 0 say the same"),
        "{changed}"
    );
    assert!(!changed.contains(" 0 verdicts change"), "{changed}");
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// Events of the type that has the parameter and the lower limit, none of the others.
fn judged(review: &Review) {
    let approaches = review.restricted("approaches");
    let of_type = |flight: &str| {
        let row = approaches
            .iter()
            .find(|row| row["flight_id"] == flight)
            .unwrap();
        row["aircraft_type"].clone()
    };
    let events = review.restricted("events");
    let types: BTreeSet<String> = events
        .iter()
        .map(|row| of_type(&row["flight_id"]))
        .collect();
    assert_eq!(types, BTreeSet::from(["corvan-c20".to_owned()]));
    assert!(
        events
            .iter()
            .all(|row| number(row, "worst").unwrap() > 30.0)
    );
    for row in review.restricted("measurements") {
        if of_type(&row["flight_id"]) != "corvan-c20" {
            assert_eq!(row["status"], "not_evaluable", "{row:?}");
            assert!(row["reason"].contains("fan_mean_5s"), "{row:?}");
        }
    }
}
