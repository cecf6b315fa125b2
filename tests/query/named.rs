//! Queries with a name: each against rows counted once more.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use arrow::array::{AsArray, RecordBatch, StringArray};
use arrow::compute::{cast, concat_batches};
use arrow::datatypes::DataType;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;

use super::{named, query, rows, share_alone, stdout};
use crate::fleet::glidetally;
use crate::sample_fleet::review;
use crate::table::{Row, number};

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
