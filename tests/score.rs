//! `demo score` as its users run it; what it counts is tested where it is counted.

use std::fs;

use tempfile::TempDir;

use crate::fleet::{Review, glidetally, stderr, top};

fn text(path: &std::path::Path) -> &str {
    path.to_str().unwrap()
}

#[test]
fn a_review_is_scored_in_every_format_and_its_exit_code_follows_the_findings() {
    let folder = TempDir::new().unwrap();
    let fleet = folder.path().join("fleet");
    let flights = ["--flights", "120", "--months", "3", "--profile", "proving"];
    let write = ["demo", "write", text(&fleet)];
    let written = glidetally(&[&write[..], &flights[..]].concat());
    assert_eq!(written.status.code(), Some(0), "{}", stderr(&written));
    let review = Review::run(&fleet, &[]);
    let score = ["demo", "score", text(&fleet), text(review.out.path())];

    let table = glidetally(&score);
    let found = stderr(&table).contains("needs a look");
    assert_eq!(
        table.status.code(),
        Some(i32::from(found)),
        "{}",
        stderr(&table)
    );
    let printed = String::from_utf8(table.stdout).unwrap();
    for heading in [
        "Flights\n",
        "Approaches\n",
        "Events, in approaches",
        "Measured values",
    ] {
        assert!(printed.contains(heading), "no `{heading}` in:\n{printed}");
    }
    assert!(printed.contains("unstable_500.speed"), "{printed}");

    let file = folder.path().join("score.csv");
    let csv = glidetally(&[&score[..], &["--format", "csv", "-o", text(&file)]].concat());
    assert_eq!(csv.status.code(), table.status.code());
    let rows = fs::read_to_string(&file).unwrap();
    assert!(
        rows.starts_with("section,number,row,column,value\n"),
        "{rows}"
    );
    assert!(
        rows.contains("\nFlights,1,in the flight list,count,120\n"),
        "{rows}"
    );

    let json = glidetally(&[&score[..], &["--format", "json", "-q"]].concat());
    assert_eq!(stderr(&json), "");
    let value: serde_json::Value = serde_json::from_slice(&json.stdout).unwrap();
    assert_eq!(value["flights"]["listed"], 120);
    let flown = value["approaches"]["flown"].as_u64().unwrap();
    let of_damaged = value["approaches_of_damaged"]["flown"]
        .as_u64()
        .unwrap_or(0);
    assert!(flown + of_damaged >= 120, "{value}");

    // A review by one rule says nothing of the others.
    let rules = folder.path().join("rules");
    fs::create_dir(&rules).unwrap();
    let name = "high_at_15nm.toml";
    fs::copy(top().join("rules").join(name), rules.join(name)).unwrap();
    let one = Review::run(&fleet, &["--rules", text(&rules)]);
    let scored = glidetally(&["demo", "score", text(&fleet), text(one.out.path())]);
    assert_eq!(scored.status.code(), Some(1));
    let words = "`flap_limit_exceeded` is not in the review at all";
    assert!(stderr(&scored).contains(words), "{}", stderr(&scored));
}

#[test]
fn what_cannot_be_scored_is_a_failure() {
    let folder = TempDir::new().unwrap();
    let nothing = text(folder.path());
    let output = glidetally(&["demo", "score", nothing, nothing]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        stderr(&output).contains("run.json` is missing"),
        "{}",
        stderr(&output)
    );
}
