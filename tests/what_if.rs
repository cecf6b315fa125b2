//! `rules sweep`, `diff`, `explain`, `show` and `reference` as their users run them.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use tempfile::TempDir;

use crate::fleet::{Review, glidetally, stderr, top};
use crate::table::Row;

/// A small fleet and its review by the built-in pack.
struct Small {
    folder: TempDir,
    review: Review,
}

impl Small {
    fn fleet(&self) -> PathBuf {
        self.folder.path().join("fleet")
    }

    fn out(&self) -> &str {
        self.review.out.path().to_str().unwrap()
    }
}

fn small() -> &'static Small {
    static SMALL: OnceLock<Small> = OnceLock::new();
    SMALL.get_or_init(|| {
        let folder = TempDir::new().unwrap();
        let fleet = folder.path().join("fleet");
        let path = fleet.to_str().unwrap();
        let written = glidetally(&["demo", "write", path, "--flights", "250", "--seed", "6"]);
        assert_eq!(written.status.code(), Some(0), "{}", stderr(&written));
        let review = Review::run(&fleet, &[]);
        assert_ne!(review.exit(), Some(2), "{}", stderr(&review.output));
        Small { folder, review }
    })
}

fn csv(arguments: &[&str]) -> (Vec<Row>, String) {
    let output = glidetally(&[arguments, &["--format", "csv"]].concat());
    assert_eq!(
        output.status.code(),
        Some(0),
        "{arguments:?}: {}",
        stderr(&output)
    );
    let mut reader = csv::Reader::from_reader(&output.stdout[..]);
    (
        reader.deserialize().map(Result::unwrap).collect(),
        stderr(&output),
    )
}

/// Every limit of the pack, with the value in force.
fn limits() -> Vec<(String, String, f64)> {
    let mut found = Vec::new();
    for entry in fs::read_dir(top().join("rules")).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap().to_owned();
        let Some(id) = name
            .strip_suffix(".toml")
            .filter(|id| !id.ends_with(".test"))
        else {
            continue;
        };
        let rule: toml::Table = fs::read_to_string(&path).unwrap().parse().unwrap();
        let limits = rule.get("limits").and_then(toml::Value::as_table);
        for (limit, value) in limits.into_iter().flatten() {
            found.push((id.to_owned(), limit.clone(), value.as_float().unwrap()));
        }
    }
    found.sort_by(|a, b| (&a.0, &a.1).cmp(&(&b.0, &b.1)));
    found
}

#[test]
fn a_sweep_that_reads_no_sample_says_what_judging_every_sample_says() {
    let fleet = small().fleet();
    let mut claimed = BTreeMap::new();
    for (rule, limit, value) in limits() {
        let (from, to) = ((value * 0.25).to_string(), (value * 1.5).to_string());
        let mut arguments = vec!["rules", "sweep", fleet.to_str().unwrap(), &rule, &limit];
        arguments.extend([
            "--out",
            small().out(),
            "--from",
            &from,
            "--to",
            &to,
            "--steps",
            "6",
        ]);
        let (swept, said) = csv(&arguments);
        assert!(
            said.contains(&format!("in force: {limit} = {value}")),
            "{said}"
        );
        if !said.contains("no sample was read") {
            assert!(said.contains("every sample was judged again"), "{said}");
            continue;
        }
        arguments.push("--from-samples");
        let (again, said) = csv(&arguments);
        assert!(said.contains("every sample was judged again"), "{said}");
        assert_eq!(swept, again, "{rule} {limit}");
        let moves = swept.windows(4).any(|rows| {
            rows[0]["at_least_level"] == rows[3]["at_least_level"]
                && rows[0]["approaches_with_event"] != rows[3]["approaches_with_event"]
        });
        claimed.insert(format!("{rule}.{limit}"), moves);
    }
    let moving = claimed.values().filter(|moves| **moves).count();
    println!(
        "{} limits swept without samples, {moving} of them move a rate here",
        claimed.len()
    );
    assert!(claimed.len() >= 30 && moving >= 10, "{claimed:?}");
}

/// The built-in pack with one file changed.
fn changed(file: &str, from: &str, to: &str) -> TempDir {
    let folder = TempDir::new().unwrap();
    for entry in fs::read_dir(top().join("rules")).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            fs::copy(&path, folder.path().join(path.file_name().unwrap())).unwrap();
        }
    }
    let path = folder.path().join(file);
    let old = fs::read_to_string(&path).unwrap();
    let new = old.replacen(from, to, 1);
    assert_ne!(old, new, "{from}");
    fs::write(path, new).unwrap();
    folder
}

#[test]
fn a_sweep_says_what_a_review_under_the_changed_limit_says() {
    let fleet = small().fleet();
    for (rule, limit, old, new) in [
        ("high_at_15nm", "above_ft", "1000.0", "600.0"),
        ("drag_late", "late_nm", "6.0", "3.5"),
        ("fast_inside_10nm", "over_kt", "25.0", "10.0"),
        ("unstable_500", "speed_high_kt", "20.0", "12.0"),
    ] {
        let to = (new.parse::<f64>().unwrap() + 1000.0).to_string();
        let mut arguments = vec!["rules", "sweep", fleet.to_str().unwrap(), rule, limit];
        arguments.extend([
            "--out",
            small().out(),
            "--from",
            new,
            "--to",
            &to,
            "--steps",
            "2",
        ]);
        let (swept, _) = csv(&arguments);
        let file = fs::read_to_string(top().join(format!("rules/{rule}.toml"))).unwrap();
        let line = file.lines().find(|line| line.starts_with(limit)).unwrap();
        let pack = changed(&format!("{rule}.toml"), line, &line.replace(old, new));
        let review = Review::run(&fleet, &["--rules", pack.path().to_str().unwrap()]);
        let rates = review.shared("rates");
        let of_fleet = |level: &str| {
            let mut rows = rates.iter();
            let found = rows.find(|row| {
                row["rule"] == rule
                    && row["group_kind"] == "fleet"
                    && row["at_least_level"] == level
            });
            found.unwrap().clone()
        };
        for row in &swept[..3] {
            let wanted = of_fleet(&row["at_least_level"]);
            for column in ["evaluable", "approaches_with_event"] {
                assert_eq!(row[column], wanted[column], "{rule}: {row:?} {wanted:?}");
            }
        }
        assert_ne!(
            swept[0]["approaches_with_event"], swept[3]["approaches_with_event"],
            "{rule}"
        );
    }
}

#[test]
fn a_picture_of_the_sweep_is_drawn() {
    let fleet = small().fleet();
    let folder = TempDir::new().unwrap();
    let picture = folder.path().join("sweep.svg");
    let mut arguments = vec![
        "rules",
        "sweep",
        fleet.to_str().unwrap(),
        "high_at_15nm",
        "above_ft",
    ];
    arguments.extend(["--out", small().out(), "--from", "200", "--to", "2000"]);
    arguments.extend(["--picture", picture.to_str().unwrap()]);
    let (rows, said) = csv(&arguments);
    assert_eq!(rows.len(), 33);
    assert!(said.contains("sweep.svg"), "{said}");
    let svg = fs::read_to_string(picture).unwrap();
    assert!(
        svg.contains("in force: 1,000") && svg.contains("at least low"),
        "{svg}"
    );
}

#[test]
fn what_cannot_be_swept_is_said() {
    let fleet = small().fleet();
    let out = small().out();
    let try_it = |rule: &str, limit: &str, from: &str, out: &str| {
        let output = glidetally(&[
            "rules",
            "sweep",
            fleet.to_str().unwrap(),
            rule,
            limit,
            "--out",
            out,
            "--from",
            from,
            "--to",
            "9",
        ]);
        assert_eq!(output.status.code(), Some(2));
        stderr(&output)
    };
    assert!(try_it("high_at_15mn", "above_ft", "1", out).contains("did you mean `high_at_15nm`"));
    assert!(try_it("high_at_15nm", "over_ft", "1", out).contains("it has above_ft"));
    assert!(try_it("unstable_and_landed", "x", "1", out).contains("it has none"));
    assert!(try_it("high_at_15nm", "above_ft", "10", out).contains("not below --to"));
    assert!(try_it("high_at_15nm", "above_ft", "1", "/nowhere").contains("is no store"));
}

fn verdicts(out: &Path) -> BTreeMap<(String, String, String), String> {
    let rows = crate::table::read(&out.join("restricted/tables/measurements.csv"));
    let verdict = |row: Row| {
        let said = if row["status"] == "event" {
            &row["level"]
        } else {
            &row["status"]
        };
        let key = (
            row["rule"].clone(),
            row["flight_id"].clone(),
            row["approach_no"].clone(),
        );
        (key, said.clone())
    };
    rows.into_iter().map(verdict).collect()
}

#[test]
fn a_diff_lists_just_the_approaches_that_two_reviews_tell_apart() {
    let fleet = small().fleet();
    let pack = changed(
        "unstable_500.toml",
        "speed_high_kt  = 20.0",
        "speed_high_kt  = 12.0",
    );
    fs::remove_file(pack.path().join("high_at_20nm.toml")).unwrap();
    let after = pack.path().to_str().unwrap();
    let review = Review::run(&fleet, &["--rules", after]);
    let (old, new) = (
        verdicts(small().review.out.path()),
        verdicts(review.out.path()),
    );

    let log = small().review.out.path().join("restricted/access.log");
    let (rows, said) = csv(&[
        "rules",
        "diff",
        fleet.to_str().unwrap(),
        "--out",
        small().out(),
        "--after",
        after,
    ]);
    let mut listed: BTreeMap<(String, String), BTreeMap<String, String>> = BTreeMap::new();
    for row in rows {
        let place = (row["section"].clone(), row["number"].clone());
        let entry = listed.entry(place).or_default();
        entry.insert("rule".to_owned(), row["row"].clone());
        entry.insert(row["column"].clone(), row["value"].clone());
    }
    let counted = ["event", "clear", "low", "medium", "high"];
    let mut wanted = 0;
    for (key, before) in &old {
        let after = new.get(key);
        let counts = |said: &str| counted.contains(&said);
        if after == Some(before) || !(counts(before) || after.is_some_and(|after| counts(after))) {
            continue;
        }
        wanted += 1;
        let row = listed.iter().find(|((section, _), row)| {
            section == "Approaches"
                && row["rule"] == key.0
                && row["flight_id"] == key.1
                && row["approach_no"] == key.2
        });
        let (_, row) = row.unwrap_or_else(|| panic!("{key:?} is not listed"));
        assert_eq!(&row["before"], before, "{row:?}");
        assert_eq!(row["after"], after.cloned().unwrap_or_default(), "{row:?}");
    }
    let approaches = listed
        .keys()
        .filter(|(section, _)| section == "Approaches")
        .count();
    assert_eq!(approaches, wanted);
    assert!(wanted > 100, "{wanted}");
    assert!(
        said.contains(&format!("{wanted} verdicts change")),
        "{said}"
    );
    let why = |rule: &str| {
        let mut rows = listed.values();
        let row = rows.find(|row| row["rule"] == rule && row.contains_key("what_differs"));
        row.unwrap()["what_differs"].clone()
    };
    assert_eq!(
        why("unstable_500"),
        "speed_high_kt = 20 -> speed_high_kt = 12"
    );
    assert_eq!(why("stabilised_late"), "reads unstable_500, which differs");
    assert_eq!(why("high_at_20nm"), "only in the pack before");
    // Single approaches were shown.
    let noted = fs::read_to_string(log).unwrap();
    assert!(
        noted.contains(&format!("rules diff\t-\t{wanted} approaches")),
        "{noted}"
    );
}

#[test]
fn the_whole_pack_is_one_aggregate_over_one_scan() {
    let output = glidetally(&["rules", "explain", "--stage", "plan"]);
    let said = stderr(&output);
    assert!(said.contains("83 rules: 1 aggregate over 1 scan"), "{said}");
    let plan = String::from_utf8_lossy(&output.stdout);
    assert_eq!(plan.matches("AggregateExec").count(), 1, "{plan}");
    let checked = glidetally(&["rules", "explain", "high_at_15nm"]);
    let checked = String::from_utf8_lossy(&checked.stdout).into_owned();
    assert!(checked.contains("upper = limits.above_ft"), "{checked}");
}

#[test]
fn a_rule_is_shown_with_what_it_divides_by_and_reads() {
    let (rows, said) = csv(&["rules", "show", "gear_late_when_fast"]);
    let text = |what: &str| {
        let row = rows.iter().find(|row| row["what"] == what);
        row.unwrap_or_else(|| panic!("no {what}"))["text"].clone()
    };
    assert!(text("denominator").contains("only those with an event of `fast_inside_10nm`"));
    assert_eq!(text("reads gear_down_nm"), "NM, required");
    assert_eq!(text("status"), "trial");
    assert!(said.contains("invented"), "{said}");
}

#[test]
fn the_reference_page_is_the_one_in_the_docs() {
    let output = glidetally(&["rules", "reference"]);
    let page = String::from_utf8(output.stdout).unwrap();
    let kept = fs::read_to_string(top().join("docs/rule-pack.md")).unwrap();
    assert!(
        page == kept,
        "write it anew: glidetally rules reference -o docs/rule-pack.md"
    );
}

#[test]
fn a_check_with_a_fleet_names_the_rules_that_it_can_never_answer() {
    let output = glidetally(&["rules", "check", "--fleet", "sample-data"]);
    assert_eq!(output.status.code(), Some(0));
    let said = stderr(&output);
    for rule in [
        "altimeter_setting_wrong",
        "terrain_warning",
        "stall_warning_on_approach",
    ] {
        let line = format!("{rule}.toml:1:1: the rule can never be evaluated on this fleet");
        assert!(said.contains(&line), "{said}");
    }
    assert!(!said.contains("unstable_500.toml"), "{said}");
}

#[test]
fn several_packs_are_one_and_an_id_is_one_rule() {
    let own = TempDir::new().unwrap();
    let rule = fs::read_to_string(top().join("rules/high_at_15nm.toml")).unwrap();
    let write = |id: &str| {
        let text = rule.replace("\"high_at_15nm\"", &format!("\"{id}\""));
        fs::write(own.path().join(format!("{id}.toml")), text).unwrap();
    };
    write("high_at_15nm_of_ours");
    let check = || glidetally(&["rules", "check", "builtin", own.path().to_str().unwrap()]);
    let both = check();
    assert!(
        stderr(&both).contains("84 rules, no fault"),
        "{}",
        stderr(&both)
    );
    write("high_at_15nm");
    let twice = check();
    assert_eq!(twice.status.code(), Some(2));
    assert!(stderr(&twice).contains("is also in"), "{}", stderr(&twice));
}
