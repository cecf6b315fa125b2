//! Questions in SQL: what they answer is what the tables hold, and looks at single approaches are noted.

mod guarded;
mod named;

use std::fs;
use std::process::Output;

use tempfile::TempDir;

use crate::fleet::{glidetally, stderr};
use crate::sample_fleet::review;
use crate::table::{Row, number};

fn out() -> &'static str {
    review().out.path().to_str().unwrap()
}

fn query(more: &[&str]) -> Output {
    let mut arguments = vec!["query", out()];
    arguments.extend(more);
    glidetally(&arguments)
}

fn stdout(output: &Output) -> String {
    assert_eq!(output.status.code(), Some(0), "{}", stderr(output));
    String::from_utf8(output.stdout.clone()).unwrap()
}

/// The rows of a query.
fn rows(more: &[&str]) -> Vec<Row> {
    let mut arguments = vec!["--format", "csv"];
    arguments.extend(more);
    let text = stdout(&query(&arguments));
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    reader.deserialize().map(Result::unwrap).collect()
}

/// Every query with a name, and whether it reads restricted tables.
fn named() -> Vec<(String, bool)> {
    let list = stdout(&glidetally(&["query", "--list", "--format", "csv"]));
    let mut reader = csv::Reader::from_reader(list.as_bytes());
    let all = reader.deserialize::<Row>().map(Result::unwrap);
    all.map(|row| (row["name"].clone(), row["reads"] == "restricted"))
        .collect()
}

/// The output folder as it is passed on: without what is restricted.
fn share_alone() -> TempDir {
    let folder = TempDir::new().unwrap();
    let tables = folder.path().join("share/tables");
    fs::create_dir_all(&tables).unwrap();
    for file in fs::read_dir(review().out.path().join("share/tables")).unwrap() {
        let file = file.unwrap();
        fs::copy(file.path(), tables.join(file.file_name())).unwrap();
    }
    folder
}

#[test]
fn a_table_comes_back_as_its_csv() {
    for table in [
        "rates",
        "training_topics",
        "restricted.events",
        "restricted.robustness",
    ] {
        let (folder, name) = table.split_once('.').unwrap_or(("share", table));
        let file = review()
            .out
            .path()
            .join(folder)
            .join(format!("tables/{name}.csv"));
        let shown = stdout(&query(&[
            &format!("select * from {table}"),
            "--format",
            "csv",
        ]));
        assert_eq!(shown, fs::read_to_string(file).unwrap(), "{table}");
    }
}

#[test]
fn the_store_can_be_asked_for_samples() {
    let shown = rows(&[
        "select count(*) as n, count(distinct approach_key) as a from store.samples \
                        where approach_key >= 0",
    ]);
    let approaches = review().restricted("approaches");
    let samples: f64 = approaches
        .iter()
        .filter_map(|row| number(row, "n_samples"))
        .sum();
    assert_eq!(number(&shown[0], "n"), Some(samples));
    assert_eq!(number(&shown[0], "a"), Some(approaches.len() as f64));
}

#[test]
fn formats_agree_and_null_is_null() {
    let sql = "select * from (values (1, 0.1, 'a, b', true), (2, null, null, null)) as t (n, x, words, sure)";
    assert_eq!(
        stdout(&query(&[sql, "--format", "csv"])),
        "n,x,words,sure\n1,0.1,\"a, b\",true\n2,,,\n"
    );
    assert_eq!(
        stdout(&query(&[sql, "--format", "json"])),
        "[\n{\"n\":1,\"x\":0.1,\"words\":\"a, b\",\"sure\":true},\n\
         {\"n\":2,\"x\":null,\"words\":null,\"sure\":null}\n]\n"
    );
    assert_eq!(
        stdout(&query(&[sql])),
        " n  x    words  sure\n 1  0.1  a, b   true\n 2\n"
    );
    let none = "select rule from rates where false";
    assert_eq!(stdout(&query(&[none, "--format", "json"])), "[]\n");
    assert_eq!(stdout(&query(&[none, "--format", "csv"])), "rule\n");
    let twice = query(&["select 1 as a, 2 as a", "--format", "json"]);
    assert_eq!(twice.status.code(), Some(2));
    let some = query(&[
        "select rule from rates order by rule",
        "--limit",
        "2",
        "--format",
        "csv",
    ]);
    assert_eq!(stdout(&some).lines().count(), 3);
    assert!(
        stderr(&some).contains("more rows than --limit 2"),
        "{}",
        stderr(&some)
    );
}

#[test]
fn a_file_may_hold_the_statement_and_another_the_result() {
    let folder = TempDir::new().unwrap();
    let asked = folder.path().join("asked.sql");
    let told = folder.path().join("told.csv");
    fs::write(&asked, "-- how many\nselect count(*) as n from rates;\n").unwrap();
    let (asked, told) = (asked.to_str().unwrap(), told.to_str().unwrap());
    let output = query(&["--file", asked, "--format", "csv", "-o", told]);
    assert_eq!(stdout(&output), "");
    let expected = review().shared("rates").len();
    assert_eq!(
        fs::read_to_string(told).unwrap(),
        format!("n\n{expected}\n")
    );
    // A query that fails leaves the older result alone.
    let broken = query(&["select 1 / 0", "-o", told]);
    assert_eq!(broken.status.code(), Some(2));
    assert_eq!(
        fs::read_to_string(told).unwrap(),
        format!("n\n{expected}\n")
    );
    let missing = query(&["--file", "nowhere.sql"]);
    assert_eq!(missing.status.code(), Some(2));
    assert!(
        stderr(&missing).contains("nowhere.sql"),
        "{}",
        stderr(&missing)
    );
}

#[test]
fn tables_are_listed_with_where_they_are_from() {
    let list = stdout(&query(&["--tables"]));
    assert!(
        list.contains("\nrates  (share, may be passed round; ") || list.starts_with("rates"),
        "{list}"
    );
    assert!(
        list.contains("\nrestricted.robustness  (restricted, owner only; "),
        "{list}"
    );
    assert!(
        list.contains("\nstore.samples  (store, owner only; "),
        "{list}"
    );
    let rows = rows(&["--tables"]);
    let has = |table: &str, column: &str, kind: &str| {
        let fits =
            |row: &&Row| row["table"] == table && row["column"] == column && row["type"] == kind;
        assert!(rows.iter().any(|row| fits(&row)), "{table} {column}");
    };
    has("rates", "rate_per_1000", "Float64");
    has("events", "partial", "Boolean");
    has("store.approaches", "approach_no", "Int32");
    let samples = rows
        .iter()
        .find(|row| row["table"] == "store.samples")
        .unwrap();
    assert_eq!(samples["from"], "store");
    assert!(number(samples, "rows") > Some(1000.0));
}
