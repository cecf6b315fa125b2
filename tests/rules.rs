//! The rules that are shipped, through the command line.

use crate::fleet::{glidetally, stderr};

#[test]
fn every_shipped_rule_passes_its_tests() {
    let output = glidetally(&["rules", "test", "rules", "--format", "csv"]);
    let stdout = String::from_utf8_lossy(&output.stdout);
    assert_eq!(
        output.status.code(),
        Some(0),
        "{stdout}\n{}",
        stderr(&output)
    );
    for rule in [
        "energy_excess_20nm",
        "flap_limit_exceeded",
        "unstable_500",
        "unstable_and_landed",
    ] {
        assert!(
            stdout.lines().filter(|line| line.starts_with(rule)).count() >= 2,
            "{stdout}"
        );
    }
}

#[test]
fn the_list_carries_the_cautions() {
    let output = glidetally(&["rules", "list"]);
    assert_eq!(output.status.code(), Some(0));
    assert!(stderr(&output).contains("invented"), "{}", stderr(&output));
}

#[test]
fn every_fault_of_every_file_is_told_at_once_with_its_place() {
    let output = glidetally(&["rules", "check", "tests/bad-rules"]);
    assert_eq!(output.status.code(), Some(2));
    let text = stderr(&output);
    let files = std::fs::read_dir(crate::fleet::top().join("tests/bad-rules"))
        .unwrap()
        .filter(|entry| {
            entry
                .as_ref()
                .unwrap()
                .path()
                .extension()
                .is_some_and(|end| end == "toml")
        });
    for file in files {
        let name = file.unwrap().file_name().into_string().unwrap();
        assert!(
            text.contains(&format!("{name}:")),
            "no line:column for {name} in\n{text}"
        );
    }
}

#[test]
fn release_hold_and_bridge_in_their_order() {
    let output = glidetally(&["rules", "test", "tests/data/release-rules"]);
    let stdout = String::from_utf8_lossy(&output.stdout);
    assert_eq!(
        output.status.code(),
        Some(0),
        "{stdout}\n{}",
        stderr(&output)
    );
}

#[test]
fn an_empty_folder_is_no_pack() {
    let folder = tempfile::TempDir::new().unwrap();
    let output = glidetally(&["rules", "check", folder.path().to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        stderr(&output).contains("no rule file"),
        "{}",
        stderr(&output)
    );
}
