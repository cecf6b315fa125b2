//! What is noted, what is for its owner only, what is refused.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use tempfile::TempDir;

use super::{named, query, share_alone, stdout};
use crate::fleet::{Review, glidetally, stderr, top};
use crate::sample_fleet::review;

/// A small review of its own, so that nobody else writes to its log.
fn small() -> (TempDir, Review) {
    let folder = crate::same_bytes::demo("12");
    let review = Review::run(&folder.path().join("fleet"), &["--no-examples"]);
    (folder, review)
}

fn log(review: &Review) -> Vec<String> {
    let text = fs::read_to_string(review.out.path().join("restricted/access.log"));
    text.unwrap_or_default()
        .lines()
        .map(str::to_owned)
        .collect()
}

#[test]
fn looks_at_single_approaches_are_noted_and_others_are_not() {
    let (_fleet, review) = small();
    let out = review.out.path().to_str().unwrap();
    let ask = |more: &[&str]| {
        let mut arguments = vec!["query", out];
        arguments.extend(more);
        glidetally(&arguments)
    };
    for free in [
        &["select * from rates"][..],
        &["--tables"],
        &["--named", "hot_spots"],
        &["describe events"],
    ] {
        let output = ask(free);
        assert_eq!(
            output.status.code(),
            Some(0),
            "{free:?}: {}",
            stderr(&output)
        );
        assert!(
            !stderr(&output).contains("restricted"),
            "{}",
            stderr(&output)
        );
    }
    // What was refused showed nothing.
    ask(&["select nothing from events"]);
    ask(&["drop table events"]);
    assert!(log(&review).is_empty(), "{:?}", log(&review));

    let output = ask(&[
        "with e as (select * from events) select count(*) from e join store.samples on false",
    ]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    assert!(
        stderr(&output).contains("fewer than 10 flights"),
        "{}",
        stderr(&output)
    );
    let lines = log(&review);
    let cells: Vec<&str> = lines[0].split('\t').collect();
    assert_eq!(lines.len(), 1);
    assert_eq!(
        cells[1..],
        ["query", "-", "restricted.events,store.samples"]
    );
    assert!(
        cells[0].len() == 20 && cells[0].ends_with('Z'),
        "{}",
        cells[0]
    );

    // Not into what is passed round.
    let there = review.out.path().join("share/mine.csv");
    let output = ask(&["select * from events", "-o", there.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        stderr(&output).contains("may be passed round"),
        "{}",
        stderr(&output)
    );
    assert!(!there.exists() && log(&review).len() == 1);

    // What cannot be noted is not shown.
    let path = review.out.path().join("restricted/access.log");
    fs::remove_file(&path).unwrap();
    fs::create_dir(&path).unwrap();
    let output = ask(&["select * from events"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(output.stdout.is_empty(), "shown without a note");
    assert_eq!(ask(&["select count(*) from rates"]).status.code(), Some(0));
}

#[cfg(unix)]
#[test]
fn a_result_of_single_approaches_is_for_its_owner() {
    use std::os::unix::fs::PermissionsExt;
    let folder = TempDir::new().unwrap();
    let file = folder.path().join("events.csv");
    stdout(&query(&[
        "select * from events",
        "-o",
        file.to_str().unwrap(),
    ]));
    let mode = fs::metadata(&file).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o600);
}

#[test]
fn only_reading_is_done() {
    let (_fleet, review) = small();
    let out = review.out.path();
    let before = files(out);
    for sql in [
        "drop table rates",
        "create table t as select 1",
        "copy rates to 'rates.csv'",
        "insert into rates select * from rates",
        "set datafusion.execution.batch_size = 1",
        "select * into t from rates",
        "select 1; drop table rates",
    ] {
        let output = glidetally(&["query", out.to_str().unwrap(), sql]);
        assert_eq!(output.status.code(), Some(2), "{sql}");
        assert!(output.stdout.is_empty(), "{sql}");
    }
    assert_eq!(files(out), before);
    assert!(!top().join("rates.csv").exists());
}

/// Every file below a folder with its length.
fn files(folder: &Path) -> BTreeMap<String, u64> {
    let mut all = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            all.extend(files(&path));
        } else {
            all.insert(path.display().to_string(), path.metadata().unwrap().len());
        }
    }
    all
}

#[test]
fn a_share_folder_alone_is_enough_for_what_may_be_passed_round() {
    let folder = share_alone();
    let out = folder.path().to_str().unwrap();
    for (name, restricted) in named() {
        let output = glidetally(&["query", out, "--named", &name, "--format", "csv"]);
        if restricted {
            assert_eq!(output.status.code(), Some(2), "{name}");
            assert!(
                stderr(&output).contains("is restricted"),
                "{}",
                stderr(&output)
            );
        } else {
            let whole = stdout(&query(&["--named", &name, "--format", "csv"]));
            assert_eq!(stdout(&output), whole, "{name}");
        }
    }
    assert!(!folder.path().join("restricted").exists());
    let output = glidetally(&["query", out, "select * from store.samples"]);
    assert!(stderr(&output).contains("--store"), "{}", stderr(&output));
    // With the store from elsewhere, its tables are there, and the look is noted here.
    let store = review().out.path().join("restricted/store");
    let asked = [
        "query",
        out,
        "select count(*) as n from store.approaches",
        "--format",
        "csv",
    ];
    let output = glidetally(&[&asked[..], &["--store", store.to_str().unwrap()]].concat());
    let expected = review().restricted("approaches").len();
    assert_eq!(stdout(&output), format!("n\n{expected}\n"));
    assert!(folder.path().join("restricted/access.log").is_file());
}

#[test]
fn faults_are_shown_where_they_are() {
    for (sql, expected) in [
        (
            "select ruel\nfrom rates",
            "  × unknown column `ruel`\n   ╭─[query:1:8]\n 1 │ select ruel\n   ·        ──┬─\n   ·          ╰── not a column here\n 2 │ from rates\n   ╰────\n  help: did you mean `rule`?\n",
        ),
        (
            "select * from ratse",
            "  × unknown table `ratse`\n   ╭─[query:1:15]\n 1 │ select * from ratse\n   ·               ──┬──\n   ·                 ╰── no such table\n   ╰────\n  help: did you mean `rates`?\n",
        ),
    ] {
        let output = query(&[sql]);
        assert_eq!(output.status.code(), Some(2));
        assert_eq!(
            stderr(&output)
                .trim_start_matches("Error: ")
                .trim_start_matches('\n')
                .trim_end(),
            expected.trim_end()
        );
    }
    let nothing = query(&[]);
    assert_eq!(nothing.status.code(), Some(2));
    for word in ["--file", "--named", "--list", "--tables"] {
        assert!(stderr(&nothing).contains(word), "{}", stderr(&nothing));
    }
    let unknown = query(&["--named", "monthly_rate"]);
    assert_eq!(unknown.status.code(), Some(2));
    assert!(
        stderr(&unknown).contains("did you mean `monthly_rates`?"),
        "{}",
        stderr(&unknown)
    );
    let both = query(&["select 1", "--named", "hot_spots"]);
    assert_eq!(both.status.code(), Some(2));
    let folder = TempDir::new().unwrap();
    let empty = glidetally(&["query", folder.path().to_str().unwrap(), "select 1"]);
    assert!(
        stderr(&empty).contains("holds no table"),
        "{}",
        stderr(&empty)
    );
}
