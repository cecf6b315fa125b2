//! Example approaches of each topic of training: the page that leads to them, and what becomes of them when a review
//! is made again.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use std::process::Output;

use tempfile::TempDir;

use crate::fleet::{Review, glidetally, planted_rules, stderr};
use crate::same_bytes::demo;
use crate::sample_fleet;
use crate::store::{as_of, copy_folder, number, text};
use crate::table::{Row, read};

fn index(out: &Path) -> String {
    fs::read_to_string(out.join("restricted/examples.html")).unwrap()
}

/// Links of the index into its folder.
fn links(out: &Path) -> Vec<String> {
    let page = index(out);
    let links = page.split("href=\"examples&#x2f;").skip(1);
    links
        .map(|rest| rest.split('"').next().unwrap().to_owned())
        .collect()
}

/// Names of the pages, in order.
fn pages(out: &Path) -> BTreeSet<String> {
    let entries = fs::read_dir(out.join("restricted/examples")).unwrap();
    let name = |entry: fs::DirEntry| entry.file_name().to_string_lossy().into_owned();
    entries.map(|entry| name(entry.unwrap())).collect()
}

fn rows(out: &Path) -> Vec<Row> {
    read(&out.join("restricted/tables/examples.csv"))
}

fn page_of(row: &Row) -> String {
    format!("{}-{}.html", row["flight_id"], row["approach_no"])
}

/// Index, folder and table tell of the same pages, and nothing is left of what was built.
fn assert_whole(out: &Path) {
    let links = links(out);
    let linked: BTreeSet<String> = links.iter().cloned().collect();
    assert_eq!(linked, pages(out));
    let table: Vec<String> = rows(out).iter().map(page_of).collect();
    assert_eq!(links, table);
    assert_no_leftovers(out);
}

fn assert_no_leftovers(out: &Path) {
    for entry in fs::read_dir(out.join("restricted")).unwrap() {
        let name = entry.unwrap().file_name();
        assert!(!name.to_string_lossy().starts_with('.'), "{name:?}");
    }
}

fn assert_none(out: &Path) {
    assert!(!out.join("restricted/examples.html").exists());
    assert!(!out.join("restricted/examples").exists());
    assert_no_leftovers(out);
}

fn sample() -> &'static Path {
    sample_fleet::review().out.path()
}

#[test]
fn each_ranked_topic_has_its_sentence_and_up_to_three_approaches() {
    assert_whole(sample());
    let page = index(sample());
    let rows = rows(sample());
    let topics = sample_fleet::review().shared("training_topics");
    let mut ranked: Vec<&Row> = topics
        .iter()
        .filter(|row| row["group_kind"] == "fleet" && !row["rank"].is_empty())
        .collect();
    ranked.sort_by_key(|row| row["rank"].parse::<u32>().unwrap());
    assert!(ranked.len() > 3);
    let mut in_order = rows.iter().map(|row| &row["topic"]).collect::<Vec<_>>();
    in_order.dedup();
    assert_eq!(
        in_order,
        ranked.iter().map(|row| &row["topic"]).collect::<Vec<_>>()
    );
    for topic in ranked {
        let own: Vec<&Row> = rows
            .iter()
            .filter(|row| row["topic"] == topic["topic"])
            .collect();
        let places: Vec<&str> = own.iter().map(|row| row["place"].as_str()).collect();
        assert_eq!(places, ["1", "2", "3"], "{}", topic["topic"]);
        assert!(page.contains(&topic["sentence"]), "{}", topic["topic"]);
        for row in own {
            let evidence: Vec<&str> = topic["evidence_rules"].split(' ').collect();
            assert!(evidence.contains(&row["rule"].as_str()), "{row:?}");
            assert!(row["month"] >= topic["from_month"] && row["month"] <= topic["to_month"]);
        }
    }
    // Topics without a rank say why they have none.
    assert!(page.contains("<li>Terrain: none of its rules could be judged.</li>"));
}

#[test]
fn no_aircraft_comes_twice_and_every_event_is_in_a_rate() {
    let key = |row: &Row| (row["flight_id"].clone(), row["approach_no"].clone());
    let review = sample_fleet::review();
    let approaches: BTreeMap<(String, String), Row> = review
        .restricted("approaches")
        .into_iter()
        .map(|row| (key(&row), row))
        .collect();
    let events = review.restricted("events");
    let rows = rows(sample());
    let tails: BTreeSet<&String> = rows
        .iter()
        .map(|row| &approaches[&key(row)]["tail_id"])
        .collect();
    assert_eq!(tails.len(), rows.len());
    for row in &rows {
        for column in ["month", "airport", "runway", "aircraft_type", "outcome"] {
            assert_eq!(row[column], approaches[&key(row)][column]);
        }
        let own = events
            .iter()
            .filter(|event| key(event) == key(row) && event["rule"] == row["rule"]);
        let mut counted =
            own.filter(|event| event["partial"] == "false" && event["edge"] != "true");
        assert!(
            counted.any(|event| event["level"] == row["level"]),
            "{row:?}"
        );
    }
    assert!(rows.iter().any(|row| row["why"] == "recovered"));
    assert!(rows.iter().filter(|row| row["why"] == "typical").count() >= rows.len() / 2);
}

#[test]
fn the_pages_are_those_of_retrace() {
    let elsewhere = TempDir::new().unwrap();
    let store = sample().join("restricted/store");
    for row in rows(sample()).iter().step_by(5) {
        let shown = glidetally(&[
            "retrace",
            &row["flight_id"],
            &row["approach_no"],
            "--out",
            text(elsewhere.path()),
            "--store",
            text(&store),
        ]);
        assert!(shown.status.success(), "{}", stderr(&shown));
        let read = |path: &Path| fs::read_to_string(path.join(page_of(row))).unwrap();
        let retraced = read(&elsewhere.path().join("restricted/retraces"));
        assert_eq!(read(&sample().join("restricted/examples")), retraced);
    }
}

#[test]
fn nothing_that_is_shared_leads_there() {
    let rows = rows(sample());
    let share = sample().join("share");
    let tables = fs::read_dir(share.join("tables")).unwrap();
    let tables = tables.map(|entry| entry.unwrap().path());
    let text = |path: &Path| path.extension().is_some_and(|ending| ending != "parquet");
    let mut files: Vec<_> = tables.filter(|path| text(path)).collect();
    files.extend([share.join("report.html"), share.join("run.json")]);
    assert!(files.len() > 10);
    for file in files {
        let content = fs::read_to_string(&file).unwrap();
        assert!(!content.contains("examples.html"), "{}", file.display());
        for row in &rows {
            assert!(!content.contains(&row["flight_id"]), "{}", file.display());
        }
    }
    // The other way there is one.
    assert!(index(sample()).contains("href=\"../share/report.html\""));
}

#[cfg(unix)]
#[test]
fn they_are_for_their_owner_only() {
    use std::os::unix::fs::PermissionsExt;
    let restricted = sample().join("restricted");
    let mut paths = vec![
        restricted.join("examples.html"),
        restricted.join("examples"),
    ];
    let named = pages(sample()).into_iter();
    paths.extend(named.map(|name| restricted.join("examples").join(name)));
    for path in paths {
        let mode = fs::metadata(&path).unwrap().permissions().mode();
        assert_eq!(mode & 0o077, 0, "{}", path.display());
    }
}

/// A fleet that is large enough for topics to have a rank, under few rules and in two of its months too.
fn reviewable() -> TempDir {
    demo("240")
}

fn run(command: &str, fleet: &Path, out: &Path, more: &[&str]) -> Output {
    let mut arguments = vec![command, text(fleet), "--out", text(out)];
    arguments.extend(more);
    let output = glidetally(&arguments);
    let done = output.status.code().is_some_and(|code| code < 2);
    assert!(done, "{}", stderr(&output));
    output
}

#[test]
fn no_page_of_an_earlier_review_stays() {
    let folder = reviewable();
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    run("review", &fleet, &out, &[]);
    assert_whole(&out);
    let before = pages(&out);
    let log = fs::read_to_string(out.join("restricted/access.log")).unwrap();
    let noted = format!(
        "\texamples\t-\twritten, {} approaches, run {}\n",
        before.len(),
        number(&out)
    );
    assert!(log.ends_with(&noted) && log.lines().count() == 1, "{log}");
    // Fewer rules, fewer topics.
    run("review", &fleet, &out, &["--rules", planted_rules()]);
    assert_whole(&out);
    let after = pages(&out);
    assert!(
        !after.is_empty() && after.len() < before.len(),
        "{before:?} {after:?}"
    );
    // As the report, they are of the last stage: the tables alone come without.
    run("summarise", &fleet, &out, &["--rules", planted_rules()]);
    assert_none(&out);
    assert!(!rows(&out).is_empty());
    run("report", &fleet, &out, &["--rules", planted_rules()]);
    assert_eq!(pages(&out), after);
    let log = fs::read_to_string(out.join("restricted/access.log")).unwrap();
    run(
        "report",
        &fleet,
        &out,
        &["--rules", planted_rules(), "--no-examples"],
    );
    assert_none(&out);
    assert_eq!(
        fs::read_to_string(out.join("restricted/access.log")).unwrap(),
        log
    );
    run(
        "review",
        &fleet,
        &out,
        &["--rules", planted_rules(), "--no-examples"],
    );
    assert_none(&out);
}

#[test]
fn a_topic_that_is_withheld_says_so_and_has_none() {
    let folder = demo("30");
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    let file = fleet.join("fleet.toml");
    let settings = fs::read_to_string(&file).unwrap();
    fs::write(&file, with_min_flights(&settings, 5000)).unwrap();
    run("review", &fleet, &out, &[]);
    assert_whole(&out);
    assert!(pages(&out).is_empty());
    let page = index(&out);
    assert!(page.contains("There is no approach to show."));
    assert!(
        page.contains("<li>Use of drag: its figures are withheld (too few flights)"),
        "{page}"
    );
    assert!(
        !out.join("restricted/access.log").exists(),
        "nothing was shown"
    );
}

/// The settings with another `min_flights`, wherever it stands.
fn with_min_flights(settings: &str, flights: u32) -> String {
    let kept = settings
        .lines()
        .filter(|line| !line.starts_with("min_flights"));
    let kept = kept.collect::<Vec<_>>().join("\n");
    if kept.contains("[privacy]") {
        kept.replace("[privacy]", &format!("[privacy]\nmin_flights = {flights}"))
    } else {
        format!("{kept}\n[privacy]\nmin_flights = {flights}\n")
    }
}

#[test]
fn threads_change_no_page() {
    let folder = reviewable();
    let fleet = folder.path().join("fleet");
    let one = Review::run(&fleet, &["--threads", "1"]);
    let many = Review::run(&fleet, &["--threads", "5"]);
    let (one, many) = (one.out.path(), many.out.path());
    assert_eq!(index(one), index(many));
    assert_eq!(pages(one), pages(many));
    assert!(!pages(one).is_empty());
    for name in pages(one) {
        let read = |out: &Path| fs::read(out.join("restricted/examples").join(&name)).unwrap();
        assert!(read(one) == read(many), "{name}");
    }
}

#[test]
fn an_earlier_review_has_the_examples_of_then() {
    let folder = reviewable();
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    run("review", &fleet, &out, &["--rules", planted_rules()]);
    let (then, run_of_then) = (folder.path().join("then"), number(&out));
    copy_folder(&out.join("restricted/examples"), &then.join("kept"));
    let kept_index = index(&out);
    run("review", &fleet, &out, &[]);
    assert_ne!(index(&out), kept_index);
    let made = as_of(&fleet, &out, &run_of_then, &then);
    assert!(
        made.status.code().is_some_and(|code| code < 2),
        "{}",
        stderr(&made)
    );
    assert_eq!(index(&then), kept_index);
    assert_whole(&then);
    for name in pages(&then) {
        let read = |folder: &str| fs::read(then.join(folder).join(&name)).unwrap();
        assert!(read("restricted/examples") == read("kept"), "{name}");
    }
    assert!(!pages(&then).is_empty());
    // Of an earlier month, of the approaches up to it.
    let months: BTreeSet<String> = read(&out.join("restricted/tables/approaches.csv"))
        .iter()
        .map(|row| row["month"].clone())
        .collect();
    let month = months.iter().nth(1).unwrap();
    run("report", &fleet, &out, &["--month", month]);
    assert_whole(&out);
    assert!(!rows(&out).is_empty());
    assert!(rows(&out).iter().all(|row| row["month"] <= *month));
}

#[test]
fn an_approach_whose_samples_are_gone_is_told_and_the_review_is_made() {
    let folder = reviewable();
    let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
    run("review", &fleet, &out, &[]);
    let chosen = rows(&out);
    let damaged = chosen.first().unwrap();
    for month in fs::read_dir(out.join("restricted/store/samples")).unwrap() {
        for file in fs::read_dir(month.unwrap().path()).unwrap() {
            fs::write(file.unwrap().path(), b"PAR1 no more").unwrap();
        }
    }
    let said = stderr(&run("report", &fleet, &out, &[]));
    assert!(
        said.contains("example approaches cannot be shown any more"),
        "{said}"
    );
    assert!(out.join("share/report.html").exists());
    assert_eq!(rows(&out), chosen);
    assert!(pages(&out).is_empty() && links(&out).is_empty());
    let page = index(&out);
    assert!(page.contains(&damaged["flight_id"]));
    let told = page.matches("its samples can no longer be read").count();
    assert_eq!(told, chosen.len());
}
