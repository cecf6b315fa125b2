//! Questions in SQL: what they answer is what the tables hold, and looks at single approaches are noted.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use std::process::Output;

use arrow::array::{AsArray, RecordBatch, StringArray};
use arrow::compute::{cast, concat_batches};
use arrow::datatypes::DataType;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use tempfile::TempDir;

use crate::fleet::{Review, glidetally, stderr, top};
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

/// Rows of a table by their key.
fn by_key<const N: usize>(rows: Vec<Row>, key: [&str; N]) -> BTreeMap<[String; N], Row> {
    let count = rows.len();
    let keyed: BTreeMap<_, _> = rows
        .into_iter()
        .map(|row| (key.map(|column| row[column].clone()), row))
        .collect();
    assert_eq!(keyed.len(), count, "{key:?} is no key");
    keyed
}

/// The line approaches, by flight and number.
fn line_approaches() -> BTreeMap<[String; 2], Row> {
    let mut all = by_key(
        review().restricted("approaches"),
        ["flight_id", "approach_no"],
    );
    all.retain(|_, row| matches!(row["flight_purpose"].as_str(), "" | "line"));
    all
}

fn of(row: &Row) -> [String; 2] {
    [row["flight_id"].clone(), row["approach_no"].clone()]
}

#[test]
fn every_named_query_gives_the_same_bytes_with_any_threads_and_has_rows() {
    for (name, _) in named() {
        let ask = |threads: &str| {
            stdout(&query(&[
                "--named",
                &name,
                "--format",
                "csv",
                "--threads",
                threads,
            ]))
        };
        let one = ask("1");
        assert_eq!(one, ask("2"), "{name}");
        assert_eq!(one, ask("5"), "{name}");
        // In the sample fleet something stands out and fails; no month differs from those before.
        let none = name == "signals_of_the_month";
        assert_eq!(one.lines().count() == 1, none, "{name}:\n{one}");
    }
}

#[test]
fn rates_of_the_months_are_those_of_the_rows() {
    let shown = rows(&["--named", "monthly_rates"]);
    let months: BTreeSet<&String> = shown.iter().map(|row| &row["month"]).collect();
    assert_eq!(months.len(), 6);
    let line = line_approaches();
    let mut counts: BTreeMap<[String; 2], (u32, u32)> = BTreeMap::new();
    for row in review().restricted("measurements") {
        let Some(approach) = line.get(&of(&row)) else {
            continue;
        };
        if matches!(row["status"].as_str(), "event" | "clear") {
            let cell = counts
                .entry([row["rule"].clone(), approach["month"].clone()])
                .or_default();
            cell.0 += 1;
        }
    }
    let mut fired = BTreeSet::new();
    for event in review().restricted("events") {
        let counts_in_rate = event["edge"] != "true" && event["partial"] == "false";
        if counts_in_rate && line.contains_key(&of(&event)) {
            fired.insert((event["rule"].clone(), of(&event)));
        }
    }
    for (rule, approach) in fired {
        let month = line[&approach]["month"].clone();
        counts.entry([rule, month]).or_default().1 += 1;
    }
    let mut compared = 0;
    for row in &shown {
        let key = [row["rule"].clone(), row["month"].clone()];
        let (evaluable, with_event) = counts.get(&key).copied().unwrap_or_default();
        if row["suppressed"].is_empty() {
            assert_eq!(
                number(row, "evaluable"),
                Some(f64::from(evaluable)),
                "{row:?}"
            );
            assert_eq!(
                number(row, "approaches_with_event"),
                Some(f64::from(with_event)),
                "{row:?}"
            );
            if evaluable > 0 {
                let rate = 1000.0 * f64::from(with_event) / f64::from(evaluable);
                let shown = number(row, "rate_per_1000").unwrap();
                assert!((rate - shown).abs() <= rate * 1e-6, "{row:?}");
            }
            compared += 1;
        } else {
            assert!(evaluable < 10, "{row:?}");
        }
    }
    assert!(compared > 100, "{compared}");
}

#[test]
fn withheld_cells_stay_empty() {
    let mut withheld = 0;
    for (name, counts) in [
        (
            "monthly_rates",
            ["evaluable", "approaches_with_event", "rate_per_1000"],
        ),
        (
            "energy_classes_by_airport",
            ["approaches", "unstable", "unstable_share"],
        ),
        (
            "training_topics",
            ["evaluable", "approaches_with_event", "rate_per_1000"],
        ),
    ] {
        for row in rows(&["--named", name]) {
            if !row["suppressed"].is_empty() {
                withheld += 1;
                assert!(
                    counts.iter().all(|column| row[*column].is_empty()),
                    "{name}: {row:?}"
                );
            }
        }
    }
    assert!(withheld > 0);
}

/// Makes a signal of every month that was tested and does not differ: the sample fleet has none.
fn with_signals(tables: &Path) {
    let path = tables.join("trend_monthly.parquet");
    let file = fs::File::open(&path).unwrap();
    let reader = ParquetRecordBatchReaderBuilder::try_new(file).unwrap();
    let schema = reader.schema().clone();
    let batches: Vec<RecordBatch> = reader.build().unwrap().map(Result::unwrap).collect();
    let all = concat_batches(&schema, &batches).unwrap();
    let why = cast(
        all.column_by_name("why_no_signal").unwrap(),
        &DataType::Utf8,
    )
    .unwrap();
    let signals = why.as_string::<i32>().iter();
    let signals = signals.map(|why| (why == Some("not significant")).then_some("higher"));
    let signals: StringArray = signals.collect();
    let place = schema.index_of("signal").unwrap();
    let mut columns = all.columns().to_vec();
    columns[place] = cast(&signals, schema.field(place).data_type()).unwrap();
    crate::same_bytes::write(&path, &RecordBatch::try_new(schema, columns).unwrap());
}

#[test]
fn signals_of_the_month_are_those_of_the_latest_month() {
    let folder = share_alone();
    with_signals(&folder.path().join("share/tables"));
    let out = folder.path().to_str().unwrap();
    let asked = [
        "query",
        out,
        "--named",
        "signals_of_the_month",
        "--format",
        "csv",
    ];
    let text = stdout(&glidetally(&asked));
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let shown: Vec<Row> = reader.deserialize().map(Result::unwrap).collect();
    let trend = review().shared("trend_monthly");
    let latest = trend.iter().map(|row| row["month"].clone()).max().unwrap();
    let key = ["rule", "at_least_level", "group_kind", "group"];
    let tested = |row: &&Row| row["why_no_signal"] == "not significant";
    let expected: BTreeSet<_> = trend
        .iter()
        .filter(tested)
        .filter(|row| !row["rule"].is_empty() && row["month"] == latest)
        .map(|row| key.map(|column| row[column].clone()))
        .collect();
    assert!(expected.len() > 10, "{}", expected.len());
    assert!(shown.iter().map(|row| number(row, "q")).is_sorted());
    let shown = by_key(shown, key).into_keys().collect::<BTreeSet<_>>();
    assert_eq!(shown, expected);
}

#[test]
fn hot_spots_are_those_of_the_table() {
    let key = ["rule", "airport", "runway"];
    let expected: BTreeSet<_> = review()
        .shared("hotspots")
        .iter()
        .filter(|row| {
            !row["rule"].is_empty() && matches!(row["class"].as_str(), "hot spot" | "watch")
        })
        .map(|row| key.map(|column| row[column].clone()))
        .collect();
    let shown = by_key(rows(&["--named", "hot_spots"]), key);
    assert_eq!(shown.into_keys().collect::<BTreeSet<_>>(), expected);
}

#[test]
fn topics_and_energy_classes_are_those_of_the_tables() {
    let mut topics = review().shared("training_topics");
    topics.retain(|row| row["group_kind"] == "fleet");
    let shown = rows(&["--named", "training_topics"]);
    let ranks: Vec<f64> = shown.iter().filter_map(|row| number(row, "rank")).collect();
    assert!(ranks.is_sorted() && ranks.len() > 3, "{ranks:?}");
    let expected = by_key(topics, ["topic", "rank", "rate_per_1000", "sentence"]);
    let shown = by_key(shown, ["topic", "rank", "rate_per_1000", "sentence"]);
    assert!(shown.keys().eq(expected.keys()));

    let mut classes = review().shared("energy_outcomes");
    classes.retain(|row| {
        row["group_kind"] == "airport"
            && row["routing"] == "all"
            && ["drag", "gear", "beyond"].contains(&row["energy_class"].as_str())
    });
    let columns = [
        "checkpoint",
        "energy_class",
        "approaches",
        "unstable",
        "ci_high",
    ];
    let expected: BTreeMap<_, _> = by_key(classes, ["group", "checkpoint", "energy_class"]);
    let shown = by_key(
        rows(&["--named", "energy_classes_by_airport"]),
        ["airport", "checkpoint", "energy_class"],
    );
    assert!(shown.keys().eq(expected.keys()));
    for (key, row) in shown {
        assert!(
            columns.iter().all(|c| row[*c] == expected[&key][*c]),
            "{row:?}"
        );
    }
}

#[test]
fn losses_of_coverage_are_told_from_the_months_before() {
    let mut coverage = review().shared("coverage");
    coverage.retain(|row| ["fleet", "aircraft_type"].contains(&row["group_kind"].as_str()));
    let latest = coverage
        .iter()
        .map(|row| row["month"].clone())
        .max()
        .unwrap();
    let shown = by_key(
        rows(&["--named", "coverage_losses"]),
        ["rule", "group_kind", "group"],
    );
    let mut expected = BTreeSet::new();
    for now in coverage.iter().filter(|row| row["month"] == latest) {
        let in_scope = number(now, "in_scope").unwrap_or(0.0);
        if in_scope == 0.0 {
            continue;
        }
        let same = |row: &&Row| {
            ["rule", "group_kind", "group"]
                .iter()
                .all(|column| row[*column] == now[*column])
        };
        let sum = |column: &str| -> f64 {
            let earlier = coverage
                .iter()
                .filter(same)
                .filter(|row| row["month"] < latest);
            earlier.filter_map(|row| number(row, column)).sum()
        };
        let share = number(now, "evaluable").unwrap() / in_scope;
        let before = sum("evaluable") / sum("in_scope");
        if share < 0.9 || before - share > 0.05 {
            let key = [
                now["rule"].clone(),
                now["group_kind"].clone(),
                now["group"].clone(),
            ];
            if !before.is_nan() {
                let shown = number(&shown[&key], "share_of_scope_before").unwrap();
                assert!((shown - before).abs() < 1e-6, "{key:?}: {shown} {before}");
            }
            expected.insert(key);
        }
    }
    assert_eq!(shown.into_keys().collect::<BTreeSet<_>>(), expected);
}

#[test]
fn counts_of_single_approaches_are_those_of_the_rows() {
    let line = line_approaches();
    let mut reasons: BTreeMap<[String; 3], u32> = BTreeMap::new();
    for row in review().restricted("measurements") {
        if line.contains_key(&of(&row)) && !matches!(row["status"].as_str(), "event" | "clear") {
            let key = ["rule", "status", "reason"].map(|column| row[column].clone());
            *reasons.entry(key).or_default() += 1;
        }
    }
    let shown = by_key(
        rows(&["--named", "not_judged_why"]),
        ["rule", "status", "reason"],
    );
    assert_eq!(shown.len(), reasons.len());
    for (key, count) in reasons {
        assert_eq!(
            number(&shown[&key], "approaches"),
            Some(f64::from(count)),
            "{key:?}"
        );
    }

    let mut failed: BTreeMap<[String; 2], (u32, u32)> = BTreeMap::new();
    for row in review().restricted("gates") {
        if line.contains_key(&of(&row)) && row["applies"] != "false" {
            let key = ["rule", "criterion"].map(|column| row[column].clone());
            let cell = failed.entry(key).or_default();
            cell.0 += u32::from(!row["passed"].is_empty());
            cell.1 += u32::from(row["passed"] == "false");
        }
    }
    let shown = by_key(
        rows(&["--named", "gates_failed_by_criterion"]),
        ["rule", "criterion"],
    );
    assert_eq!(shown.len(), failed.len());
    for (key, (known, outside)) in failed {
        assert_eq!(
            number(&shown[&key], "known"),
            Some(f64::from(known)),
            "{key:?}"
        );
        assert_eq!(
            number(&shown[&key], "failed"),
            Some(f64::from(outside)),
            "{key:?}"
        );
    }

    let mut looks: BTreeMap<[String; 2], u32> = BTreeMap::new();
    for row in review().restricted("second_look") {
        *looks
            .entry(["rule", "level"].map(|column| row[column].clone()))
            .or_default() += 1;
    }
    let shown = by_key(rows(&["--named", "second_look_by_rule"]), ["rule", "level"]);
    assert_eq!(shown.len(), looks.len());
    for (key, count) in looks {
        assert_eq!(
            number(&shown[&key], "listed"),
            Some(f64::from(count)),
            "{key:?}"
        );
    }
}

#[test]
fn margins_of_flap_moves_are_those_of_the_rows() {
    let line = line_approaches();
    let mut margins: BTreeMap<[String; 2], Vec<f64>> = BTreeMap::new();
    for row in review().restricted("lever_moves") {
        let down = number(&row, "to") > number(&row, "from");
        if let (Some(approach), "flap_lever", true) =
            (line.get(&of(&row)), row["channel"].as_str(), down)
        {
            let to = format!("{:.0}", number(&row, "to").unwrap());
            let key = [approach["aircraft_type"].clone(), to];
            margins
                .entry(key)
                .or_default()
                .extend(number(&row, "margin_kt"));
        }
    }
    let shown = by_key(
        rows(&["--named", "flap_margins_by_type"]),
        ["aircraft_type", "flap_lever"],
    );
    assert_eq!(shown.len(), margins.len());
    for (key, mut margins) in margins {
        margins.sort_by(f64::total_cmp);
        let row = &shown[&key];
        assert_eq!(
            number(row, "moves_with_margin"),
            Some(margins.len() as f64),
            "{key:?}"
        );
        assert_eq!(
            number(row, "least_margin_kt"),
            margins.first().copied(),
            "{key:?}"
        );
        let above = margins.iter().filter(|margin| **margin < 0.0).count();
        assert_eq!(number(row, "above_limit"), Some(above as f64), "{key:?}");
        let (low, high) = ((margins.len() - 1) / 2, margins.len() / 2);
        let median = f64::midpoint(margins[low], margins[high]);
        assert!(
            (number(row, "median_margin_kt").unwrap() - median).abs() < 1e-4,
            "{key:?}"
        );
    }
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

/// A small review of its own, so that nobody else writes to its log.
fn small() -> (TempDir, Review) {
    let folder = crate::same_bytes::demo("12");
    let review = Review::run(&folder.path().join("fleet"), &[]);
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
