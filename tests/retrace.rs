//! One approach of a store as a page and as a table: what it shows is what the store holds.

use std::fs;
use std::path::Path;
use std::process::Output;
use std::sync::LazyLock;
use std::time::{SystemTime, UNIX_EPOCH};

use tempfile::TempDir;

use crate::fleet::{RECORDER, Review, folder, glidetally, real, stderr};
use crate::table::{Row, number};

/// A reviewed invented fleet with deviations on both sides of every limit.
struct Reviewed {
    review: Review,
    _fleet: TempDir,
}

static REVIEWED: LazyLock<Reviewed> = LazyLock::new(|| {
    let fleet = TempDir::new().unwrap();
    let path = fleet.path().join("fleet");
    let size = ["--profile", "proving", "--flights", "60", "--seed", "5"];
    let mut arguments = vec!["demo", "write", path.to_str().unwrap()];
    arguments.extend(size);
    let written = glidetally(&arguments);
    assert!(written.status.success(), "{}", stderr(&written));
    let review = Review::run(&path, &[]);
    assert!(review.exit() == Some(0) || review.exit() == Some(1));
    Reviewed {
        review,
        _fleet: fleet,
    }
});

fn out() -> &'static Path {
    REVIEWED.review.out.path()
}

fn retrace(more: &[&str]) -> Output {
    let mut arguments = vec!["retrace"];
    arguments.extend(more);
    arguments.extend(["--out", out().to_str().unwrap()]);
    glidetally(&arguments)
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

fn key(row: &Row) -> (String, String) {
    (row["flight_id"].clone(), row["approach_no"].clone())
}

/// The approach with the most events.
fn eventful() -> (String, String, Vec<Row>) {
    let events = REVIEWED.review.restricted("events");
    let of = |wanted: &(String, String)| events.iter().filter(|e| key(e) == *wanted).count();
    let most = events.iter().map(key).max_by_key(of).unwrap();
    let own = events.iter().filter(|e| key(e) == most).cloned().collect();
    (most.0, most.1, own)
}

#[test]
fn the_page_holds_every_event_and_gate_and_lies_where_only_its_owner_reads() {
    let (flight, approach, events) = eventful();
    let shown = retrace(&[&flight, &approach]);
    assert_eq!(shown.status.code(), Some(0), "{}", stderr(&shown));
    let path = out().join(format!("restricted/retraces/{flight}-{approach}.html"));
    let page = fs::read_to_string(&path).unwrap();
    assert!(events.len() > 1, "expected an approach with several events");
    assert!(page.contains(&format!("{} events were found", events.len())));
    for event in &events {
        let rule = event["rule"].replace('_', " ");
        assert!(page.contains(&format!(">{rule}</th>")), "{rule}");
    }
    let gates = REVIEWED.review.restricted("gates");
    let own = gates
        .iter()
        .filter(|g| key(g) == (flight.clone(), approach.clone()));
    let section = page.split("<h2 id=\"gates\">").nth(1).unwrap();
    let section = section.split("</section>").next().unwrap();
    // One line is the head.
    assert_eq!(section.matches("<tr>").count() - 1, own.count());
    assert_eq!(page.matches(" viewBox=\"0 0 720").count(), 4);
    for bad in ["http:", "https:", "src=", "<script", "url(", "<link"] {
        assert!(!page.contains(bad), "{bad}");
    }
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = fs::metadata(&path).unwrap().permissions().mode();
        assert_eq!(mode & 0o077, 0);
    }
    // The same store gives the same page.
    assert!(retrace(&[&flight, &approach]).status.success());
    assert_eq!(fs::read_to_string(&path).unwrap(), page);
}

#[test]
fn every_lever_move_is_told_as_what_it_was() {
    let rows = REVIEWED.review.restricted("lever_moves");
    let count = |of: &(String, String), channel: &str, to: Option<&str>| {
        let own = rows.iter().filter(|row| key(row) == *of);
        let moved = own.filter(|row| row["channel"] == channel);
        moved
            .filter(|row| to.is_none_or(|to| number(row, "to") == to.parse().ok()))
            .count()
    };
    let approaches = REVIEWED.review.restricted("approaches");
    let of = approaches
        .iter()
        .map(key)
        .max_by_key(|of| count(of, "speedbrake", None))
        .unwrap();
    assert!(retrace(&[&of.0, &of.1]).status.success());
    let path = out().join(format!("restricted/retraces/{}-{}.html", of.0, of.1));
    let page = fs::read_to_string(path).unwrap();
    for (words, channel, to) in [
        ("the speedbrake came out.", "speedbrake", Some("1")),
        ("the speedbrake was stowed.", "speedbrake", Some("0")),
        ("the flap lever moved to ", "flap_lever", None),
        ("the gear lever moved down.", "gear_lever", Some("1")),
    ] {
        let moves = count(&of, channel, to);
        assert!(moves > 0, "no {channel} to {to:?}");
        assert_eq!(page.matches(words).count(), moves, "{words}");
    }
}

#[test]
fn the_table_is_that_of_the_checkpoints() {
    let (flight, approach, _) = eventful();
    let shown = retrace(&[&flight, &approach, "--format", "csv", "--quiet"]);
    let lines: Vec<Vec<String>> = csv::Reader::from_reader(shown.stdout.as_slice())
        .records()
        .map(|line| line.unwrap().iter().map(str::to_owned).collect())
        .collect();
    let names: Vec<&str> = lines.iter().map(|line| line[0].as_str()).collect();
    let expected = [
        "20 NM", "15 NM", "10 NM", "7 NM", "5 NM", "4 NM", "3 NM", "1,000 ft", "500 ft",
    ];
    assert_eq!(names, expected);
    let rows = REVIEWED.review.restricted("checkpoints");
    let own: Vec<&Row> = rows
        .iter()
        .filter(|row| key(row) == (flight.clone(), approach.clone()))
        .collect();
    assert!(!own.is_empty());
    for line in &lines {
        let stored = line[0].replace([' ', ','], "").to_lowercase();
        let row = own.iter().find(|row| row["checkpoint"] == stored);
        let Some(row) = row else {
            assert!(line[1..].iter().all(String::is_empty), "{line:?}");
            continue;
        };
        for (at, column, within) in [
            (1, "time_s", 0.051),
            (2, "distance_nm", 0.0051),
            (5, "energy_excess_ft", 0.51),
            (8, "cas_kt", 0.051),
        ] {
            let shown: f64 = line[at].parse().unwrap();
            let stored = number(row, column).unwrap();
            assert!((shown - stored).abs() <= within, "{column}: {line:?}");
        }
        assert_eq!(line[6], row["energy_class"]);
    }
    let json = retrace(&[&flight, &approach, "--format", "json", "--quiet"]);
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).unwrap();
    assert_eq!(json.as_array().unwrap().len(), 9);
    assert_eq!(json[7]["checkpoint"], "1,000 ft");
}

#[test]
fn every_approach_of_the_fleet_has_a_page() {
    let approaches = REVIEWED.review.restricted("approaches");
    let pages = TempDir::new().unwrap();
    for row in &approaches {
        let page = pages.path().join("page.html");
        let (flight, approach) = key(row);
        let shown = retrace(&[&flight, &approach, "--html", page.to_str().unwrap()]);
        assert!(shown.status.success(), "{flight}: {}", stderr(&shown));
        let page = fs::read_to_string(&page).unwrap();
        assert!(page.contains(&format!("Flight {flight}, approach {approach}")));
        assert!(!page.contains("NaN"), "{flight}");
    }
}

#[test]
fn each_use_is_noted_and_a_refusal_is_not() {
    let (flight, approach, _) = eventful();
    let elsewhere = TempDir::new().unwrap();
    let store = out().join("restricted/store");
    let run = |flight: &str| {
        let folder = elsewhere.path().to_str().unwrap();
        let store = store.to_str().unwrap();
        glidetally(&[
            "retrace", flight, &approach, "--out", folder, "--store", store,
        ])
    };
    let log = elsewhere.path().join("restricted/access.log");
    assert_eq!(run("nobody").status.code(), Some(2));
    assert!(!log.exists());
    assert!(run(&flight).status.success());
    assert!(run(&flight).status.success());
    let log = fs::read_to_string(log).unwrap();
    let lines: Vec<Vec<&str>> = log.lines().map(|line| line.split('\t').collect()).collect();
    assert_eq!(lines.len(), 2, "{log}");
    for line in &lines {
        assert_eq!(line[1..], ["retrace", flight.as_str(), approach.as_str()]);
        let now = SystemTime::now()
            .duration_since(UNIX_EPOCH)
            .unwrap()
            .as_secs();
        let noted = seconds(line[0]);
        assert!(noted <= now && now < noted + 300, "{}", line[0]);
    }
}

/// Seconds since 1970 of `2026-01-31T12:00:00Z`, counted year by year and month by month.
fn seconds(utc: &str) -> u64 {
    assert!(utc.len() == 20 && utc.ends_with('Z'), "{utc}");
    let part = |from: usize, to: usize| utc[from..to].parse::<u64>().unwrap();
    let leap = |year: u64| {
        year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400))
    };
    let year = part(0, 4);
    let february = 28 + u64::from(leap(year));
    let months = [31, february, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
    let before: u64 = (1970..year).map(|year| 365 + u64::from(leap(year))).sum();
    let month = usize::try_from(part(5, 7)).unwrap();
    let days = before + months[..month - 1].iter().sum::<u64>() + part(8, 10) - 1;
    days * 86_400 + part(11, 13) * 3_600 + part(14, 16) * 60 + part(17, 19)
}

#[test]
fn what_cannot_be_shown_says_what_to_do() {
    let (flight, _, _) = eventful();
    let share = out().join("share/page.html");
    let nowhere = TempDir::new().unwrap();
    let cases = [
        (retrace(&["nobody"]), "restricted/tables/approaches.csv"),
        (
            retrace(&[&flight, "9"]),
            "has no approach 9: expected one of",
        ),
        (
            retrace(&[&flight, "1", "--html", share.to_str().unwrap()]),
            "may be passed round",
        ),
        (
            glidetally(&[
                "retrace",
                &flight,
                "--out",
                nowhere.path().to_str().unwrap(),
            ]),
            "run `glidetally review` first",
        ),
    ];
    for (output, words) in cases {
        assert_eq!(output.status.code(), Some(2), "{words}");
        assert!(text(&output.stderr).contains(words), "{}", stderr(&output));
        assert!(output.stdout.is_empty());
    }
    assert!(!share.exists());
}

#[test]
fn a_flight_of_several_approaches_wants_a_number() {
    let approaches = REVIEWED.review.restricted("approaches");
    let second = approaches
        .iter()
        .find(|row| row["approach_no"] == "2")
        .expect("a flight of two approaches");
    let output = retrace(&[&second["flight_id"]]);
    assert_eq!(output.status.code(), Some(2));
    assert!(stderr(&output).contains("approaches 1, 2: say which"));
    assert!(retrace(&[&second["flight_id"], "2"]).status.success());
}

/// The real recorder flight has no positions: distance, path and energy are unknown, and said to be.
#[test]
fn a_record_without_positions_is_drawn_against_time() {
    let fleet = folder(RECORDER, &[real("recorder.parquet")]);
    let review = Review::run(fleet.path(), &[]);
    let flight = review.restricted("approaches")[0]["flight_id"].clone();
    let out = review.out.path().to_str().unwrap();
    let shown = glidetally(&["retrace", &flight, "--out", out]);
    assert!(shown.status.success(), "{}", stderr(&shown));
    let path = format!("restricted/retraces/{flight}-1.html");
    let page = fs::read_to_string(review.out.path().join(path)).unwrap();
    assert!(page.contains("time to the end of the approach, s"));
    assert!(page.contains(
        "Not known on this approach: distance to the threshold, energy against the plan"
    ));
    // At 1,000 ft it flew 137.8 kt, known from the same file by other code.
    assert!(page.contains("airspeed was 138 kt"), "{page}");
}

#[test]
fn a_damaged_sample_file_is_named() {
    let (flight, approach, _) = eventful();
    let copy = TempDir::new().unwrap();
    let store = copy.path().join("store");
    copy_folder(&out().join("restricted/store"), &store);
    for month in fs::read_dir(store.join("samples")).unwrap() {
        for file in fs::read_dir(month.unwrap().path()).unwrap() {
            fs::write(file.unwrap().path(), b"PAR1 no more").unwrap();
        }
    }
    let folder = copy.path().to_str().unwrap();
    let store = store.to_str().unwrap();
    let output = glidetally(&[
        "retrace", &flight, &approach, "--out", folder, "--store", store,
    ]);
    assert_eq!(output.status.code(), Some(2));
    let said = stderr(&output);
    assert!(
        said.contains("samples") && said.contains("restore the file from a copy"),
        "{said}"
    );
}

fn copy_folder(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let place = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy_folder(&entry.path(), &place);
        } else {
            fs::copy(entry.path(), place).unwrap();
        }
    }
}
