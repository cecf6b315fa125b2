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

#[test]
fn a_case_that_fails_shows_what_was_expected_beside_what_came() {
    let folder = tempfile::TempDir::new().unwrap();
    let rule = crate::fleet::top().join("rules/high_at_15nm.toml");
    std::fs::copy(rule, folder.path().join("high_at_15nm.toml")).unwrap();
    let test = "[[case]]\nname = \"two where one comes\"\n\
        given.distance_to_threshold_nm = \"16..14/21\"\ngiven.height_over_rule_of_three_ft = \"2000*21\"\n\
        expect = [{ start = \"3s\", level = \"low\" }, { level = \"high\" }]\n\
        measurement = { worst = 1000.0, reason = \"gate not reached\" }\n\
        gates = [{ criterion = \"above\", passed = true }]\n\
        [[case]]\nname = \"silent\"\ngiven.distance_to_threshold_nm = \"16..14/21\"\n\
        given.height_over_rule_of_three_ft = \"0*21\"\nmeasurement = { worst = 0.0, reason = \"\", level = \"\" }\n";
    std::fs::write(folder.path().join("high_at_15nm.test.toml"), test).unwrap();
    let run = || {
        let path = folder.path().to_str().unwrap();
        let output = glidetally(&["rules", "test", path, "--format", "csv"]);
        assert_eq!(output.status.code(), Some(1), "{}", stderr(&output));
        String::from_utf8(output.stdout).unwrap()
    };
    let said = run();
    for line in [
        "expected 2 events, got 1",
        "expected: level = \"\"low\"\", start = \"\"3s\"\"; level = \"\"high\"\"",
        "got:      medium from 10 s to 10 s, worst 2000",
        "event 1: expected level = \"\"low\"\", got \"\"medium\"\"",
        "measurement: expected worst = 1000.0, got 2000.0",
        "gate above: expected passed = true, got false",
        "silent,passed",
    ] {
        assert!(said.contains(line), "no `{line}` in\n{said}");
    }
    // A key that no table has is no quiet success.
    let wrong = test.replace(
        "measurement = { worst = 0.0,",
        "measurement = { wurst = 0.0,",
    );
    std::fs::write(folder.path().join("high_at_15nm.test.toml"), wrong).unwrap();
    assert!(run().contains("measurement: the row has no `wurst`"));
}

#[test]
fn a_rule_without_a_firing_and_a_silent_case_is_refused() {
    let folder = tempfile::TempDir::new().unwrap();
    let rule = crate::fleet::top().join("rules/high_at_15nm.toml");
    std::fs::copy(rule, folder.path().join("high_at_15nm.toml")).unwrap();
    let run = || {
        let output = glidetally(&["rules", "test", folder.path().to_str().unwrap()]);
        assert_eq!(output.status.code(), Some(1));
        String::from_utf8(output.stdout)
            .unwrap()
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    };
    assert!(run().contains("has no test"));
    let case = "[[case]]\nname = \"n\"\ngiven.distance_to_threshold_nm = \"16..14/21\"\n\
        given.height_over_rule_of_three_ft = \"2000*21\"\nexpect = [{}]\n";
    std::fs::write(folder.path().join("high_at_15nm.test.toml"), case).unwrap();
    let said = run();
    assert!(said.contains("no case expects none"), "{said}");
}

#[test]
fn built_in_rules_are_copied_to_be_changed_and_read_beside_own_ones() {
    let folder = tempfile::TempDir::new().unwrap();
    let own = folder.path().join("own");
    let path = own.to_str().unwrap();
    let copy = |ids: &[&str]| glidetally(&[&["rules", "copy", path][..], ids].concat());
    let copied = copy(&["unstable_500"]);
    assert_eq!(copied.status.code(), Some(0), "{}", stderr(&copied));
    let text = std::fs::read_to_string(own.join("unstable_500.toml")).unwrap();
    let shipped = std::fs::read_to_string(crate::fleet::top().join("rules/unstable_500.toml"));
    assert_eq!(text, shipped.unwrap());
    // Never over what is there.
    let again = copy(&["unstable_500"]);
    assert_eq!(again.status.code(), Some(2));
    assert!(
        stderr(&again).contains("not written over"),
        "{}",
        stderr(&again)
    );
    assert!(stderr(&copy(&["unstable_50"])).contains("did you mean `unstable_500`"));

    std::fs::remove_file(own.join("unstable_500.toml")).unwrap();
    let head = "version = 1\ntitle = \"t\"\nfamily = \"data\"\nwhy = \"w\"\nsource = \"s\"\n";
    let rule = format!("id = \"ours\"\n{head}[outcome]\nwhen = 'unstable_500'\n");
    std::fs::write(own.join("ours.toml"), rule).unwrap();
    let cases = "[[case]]\nname = \"fires\"\nrules.unstable_500 = true\nexpect = [{ level = \"medium\" }]\n\
        [[case]]\nname = \"silent\"\nrules.unstable_500 = false\n";
    std::fs::write(own.join("ours.test.toml"), cases).unwrap();
    let alone = glidetally(&["rules", "test", path]);
    assert!(
        stderr(&alone).contains("unstable_500"),
        "{}",
        stderr(&alone)
    );
    assert_eq!(alone.status.code(), Some(2));
    let beside = glidetally(&["rules", "test", "builtin", path]);
    assert_eq!(beside.status.code(), Some(0), "{}", stderr(&beside));
    assert!(
        stderr(&beside).contains("1 rules tested, 2 cases, 0 faults"),
        "{}",
        stderr(&beside)
    );
    assert_eq!(
        glidetally(&["rules", "test", "builtin"]).status.code(),
        Some(2)
    );
}

#[test]
fn a_case_that_forgets_a_series_is_told_which() {
    let folder = tempfile::TempDir::new().unwrap();
    let rule = crate::fleet::top().join("rules/high_at_15nm.toml");
    std::fs::copy(rule, folder.path().join("high_at_15nm.toml")).unwrap();
    let test = "[[case]]\nname = \"fires\"\ngiven.distance_to_threshold_nm = \"16..14/21\"\nexpect = [{}]\n\
        [[case]]\nname = \"silent\"\ngiven.distance_to_threshold_nm = \"16..14/21\"\n";
    std::fs::write(folder.path().join("high_at_15nm.test.toml"), test).unwrap();
    let path = folder.path().to_str().unwrap();
    let output = glidetally(&["rules", "test", path, "--format", "csv"]);
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    let line = "not given, and so unknown throughout: height_over_rule_of_three_ft";
    assert!(said.contains(line), "{said}");
}
