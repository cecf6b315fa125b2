//! Fleets of other profiles, held against their truth by `demo score`.

use serde_json::Value;
use tempfile::TempDir;

use crate::fleet::{Review, glidetally, stderr};

/// Writes a fleet, reviews it, and returns the whole score with its exit code.
fn score(profile: &str, flights: &str, seed: &str) -> (Value, Option<i32>) {
    let folder = TempDir::new().unwrap();
    let fleet = folder.path().join("fleet");
    let path = fleet.to_str().unwrap();
    let write = ["demo", "write", path, "--profile", profile];
    let size = ["--flights", flights, "--seed", seed];
    let written = glidetally(&[&write[..], &size[..]].concat());
    assert_eq!(written.status.code(), Some(0), "{}", stderr(&written));
    let review = Review::run(&fleet, &[]);
    let out = review.out.path().to_str().unwrap();
    let scored = glidetally(&["demo", "score", path, out, "--format", "json", "-q"]);
    let value = serde_json::from_slice(&scored.stdout).unwrap();
    (value, scored.status.code())
}

fn number(value: &Value, name: &str) -> u64 {
    value[name]
        .as_u64()
        .unwrap_or_else(|| panic!("no number `{name}` in {value}"))
}

#[test]
fn recorders_that_blur_nothing_leave_nothing_to_miss() {
    let (score, code) = score("exact", "700", "31");
    assert_eq!(code, Some(0));
    let mut happened = 0;
    for rule in score["rules"].as_array().unwrap() {
        let figures = &rule["undamaged"];
        happened += number(figures, "events");
        for name in ["missed_as_clear", "missed_unjudged", "false_events"] {
            assert_eq!(number(figures, name), 0, "{name}: {rule}");
        }
    }
    assert!(happened > 200, "{happened} events");
}

#[test]
fn no_damage_makes_an_event_and_the_counts_add_up() {
    let (score, _) = score("damaged", "1400", "32");
    let flights = &score["flights"];
    assert_eq!(number(flights, "unaccounted"), 0, "{flights}");
    assert_eq!(number(flights, "loaded_unlisted"), 0, "{flights}");
    let (mut damaged, mut silent) = (0, 0);
    for damage in score["damages"].as_array().unwrap() {
        assert_eq!(number(damage, "events_caused"), 0, "{damage}");
        assert_eq!(number(damage, "events_lost_as_clear"), 0, "{damage}");
        damaged += number(damage, "flights");
        silent += number(damage, "silent");
    }
    println!("{damaged} damaged flights, {silent} without a note");
    assert!(damaged > 120, "{damaged} damaged flights");
    // A channel that stood while it hardly moved, a record that began late: nobody can tell.
    assert!(silent * 5 < damaged, "{silent} of {damaged} in silence");
}
