//! The headline figures: those of the tables, in the shape that the schema has, and no path of the machine.

use std::collections::BTreeMap;
use std::fs;

use serde_json::Value;
use tempfile::TempDir;

use crate::fleet::{glidetally, stderr, top};
use crate::sample_fleet::review;
use crate::store::text;
use crate::table::{Row, number, read};

fn file() -> (String, Value) {
    let path = review().out.path().join("share/headline.json");
    let text = fs::read_to_string(path).unwrap();
    let value = serde_json::from_str(&text).unwrap();
    (text, value)
}

fn schema() -> Value {
    let path = top().join("docs/headline.schema.json");
    serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap()
}

/// What of a value a schema does not allow: keys, kinds and fixed values.
fn faults(schema: &Value, part: &Value, value: &Value, place: &str) -> Vec<String> {
    if let Some(name) = part["$ref"].as_str() {
        let part = schema.pointer(name.trim_start_matches('#')).unwrap();
        return faults(schema, part, value, place);
    }
    let mut found = Vec::new();
    let kinds: Vec<&str> = match &part["type"] {
        Value::String(kind) => vec![kind],
        Value::Array(kinds) => kinds.iter().filter_map(Value::as_str).collect(),
        _ => Vec::new(),
    };
    let fits = |kind: &&str| match *kind {
        "null" => value.is_null(),
        "string" => value.is_string(),
        "integer" => value.is_i64() || value.is_u64(),
        "number" => value.is_number(),
        "array" => value.is_array(),
        "object" => value.is_object(),
        other => panic!("{place}: `{other}` is no kind that is known here"),
    };
    if !kinds.is_empty() && !kinds.iter().any(fits) {
        found.push(format!("{place} is {value}, expected {kinds:?}"));
    }
    if let Some(allowed) = part["enum"].as_array().filter(|all| !all.contains(value)) {
        found.push(format!("{place} is {value}, expected one of {allowed:?}"));
    }
    for (at, item) in value.as_array().into_iter().flatten().enumerate() {
        found.extend(faults(
            schema,
            &part["items"],
            item,
            &format!("{place}[{at}]"),
        ));
    }
    if let Some(fields) = value.as_object() {
        for key in part["required"].as_array().into_iter().flatten() {
            let key = key.as_str().unwrap();
            if !fields.contains_key(key) {
                found.push(format!("{place} has no {key}"));
            }
        }
        for (key, field) in fields {
            let own = &part["properties"][key];
            let other = &part["additionalProperties"];
            let part = if own.is_null() { other } else { own };
            if part == &Value::Bool(false) {
                found.push(format!("{place} has a field {key}"));
            }
            found.extend(faults(schema, part, field, &format!("{place}.{key}")));
        }
    }
    found
}

#[test]
fn it_has_the_shape_of_its_schema() {
    let (schema, (_, headline)) = (schema(), file());
    assert_eq!(
        faults(&schema, &schema, &headline, "headline"),
        Vec::<String>::new()
    );
    // The schema sees what is wrong.
    let mut wrong = headline;
    wrong["schema"] = 2.into();
    wrong["rules"][0]["rate_per_1000"] = "12".into();
    wrong["unstable"]["more"] = 1.into();
    wrong.as_object_mut().unwrap().remove("month");
    let found = faults(&schema, &schema, &wrong, "headline");
    assert_eq!(found.len(), 4, "{found:?}");
}

/// A figure of the object and of a row; both may be null.
fn same(value: &Value, row: &Row, column: &str) {
    assert_eq!(
        value.as_f64(),
        number(row, column),
        "{column}: {value} {row:?}"
    );
}

#[test]
fn its_figures_are_those_of_the_tables() {
    let (_, headline) = file();
    let month = headline["month"].as_str().unwrap();
    let trend = review().shared("trend_monthly");
    let coverage = review().shared("coverage");
    let is_fleet = |row: &&Row| row["group_kind"] == "fleet" && row["month"] == month;
    let rules = headline["rules"].as_array().unwrap();
    assert!(rules.len() > 20, "{} rules", rules.len());
    for line in rules {
        let rule = line["rule"].as_str().unwrap();
        let own = trend.iter().filter(is_fleet).find(|row| {
            row["rule"] == rule && row["at_least_level"] == "low" && row["rule_status"] == "core"
        });
        let row = own.unwrap();
        for (field, why) in [
            ("evaluable", "why_no_rate"),
            ("approaches_with_event", "why_no_rate"),
            ("rate_per_1000", "why_no_rate"),
            ("ci_low", "why_no_rate"),
            ("ci_high", "why_no_rate"),
            ("baseline_rate", "why_no_baseline"),
            ("ratio", "why_no_ratio"),
            ("ratio_low", "why_no_ratio"),
            ("ratio_high", "why_no_ratio"),
            ("q", "why_no_signal"),
            ("detectable_rise_pct", "why_no_detectable_rise"),
        ] {
            same(&line[field], row, field);
            assert!(
                !line[field].is_null() || line[why].is_string(),
                "{field}: {line}"
            );
        }
        assert_eq!(line["signal"].as_str().unwrap_or_default(), row["signal"]);
        assert_eq!(
            line["why_no_signal"].as_str().unwrap_or_default(),
            row["why_no_signal"]
        );
        let mut covered = coverage.iter().filter(is_fleet);
        let covered = covered.find(|row| row["rule"] == rule).unwrap();
        same(&line["coverage_share"], covered, "share_of_scope");
    }
    let called = review().shared("hotspots");
    let called = called
        .iter()
        .filter(|row| matches!(row["class"].as_str(), "hot spot" | "watch"));
    assert_eq!(headline["places"].as_array().unwrap().len(), called.count());
    assert!(
        headline["topics"]
            .as_array()
            .is_some_and(|topics| topics.len() == 5)
    );
}

#[test]
fn the_share_unstable_is_that_of_the_rule_of_the_gate() {
    let (_, headline) = file();
    let unstable = &headline["unstable"];
    assert_eq!(
        (unstable["gate_ft"].as_f64(), unstable["rule"].as_str()),
        (Some(500.0), Some("unstable_500"))
    );
    let trend = review().shared("trend_monthly");
    let row = trend.iter().find(|row| {
        row["rule"] == "unstable_500"
            && row["group_kind"] == "fleet"
            && row["at_least_level"] == "low"
            && headline["month"] == row["month"]
    });
    let row = row.unwrap();
    same(&unstable["month"]["approaches"], row, "evaluable");
    same(&unstable["month"]["unstable"], row, "approaches_with_event");
    same(
        &unstable["baseline"]["approaches"],
        row,
        "baseline_evaluable",
    );
    same(
        &unstable["baseline"]["unstable"],
        row,
        "baseline_approaches_with_event",
    );
    for side in ["month", "baseline"] {
        let share = |key: &str| unstable[side][key].as_f64().unwrap();
        let ratio = share("unstable") / share("approaches");
        assert!((share("share") - ratio).abs() < 1e-6);
        assert!(share("ci_low") <= ratio && ratio <= share("ci_high"));
    }
    let decisive = review().shared("decisive_checkpoint");
    let decisive = decisive
        .iter()
        .find(|row| row["group_kind"] == "fleet" && row["decisive"] == "true");
    let checkpoint = headline["decisive_checkpoint"]["checkpoint"].as_str();
    assert_eq!(checkpoint, decisive.map(|row| row["checkpoint"].as_str()));
}

#[test]
fn withheld_rows_are_counted_in_every_shared_table() {
    let (_, headline) = file();
    let mut counted = BTreeMap::new();
    for entry in fs::read_dir(review().out.path().join("share/tables")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|ending| ending != "csv") {
            continue;
        }
        let mut reader = csv::Reader::from_path(&path).unwrap();
        if reader
            .headers()
            .unwrap()
            .iter()
            .any(|name| name == "suppressed")
        {
            let hidden = read(&path)
                .iter()
                .filter(|row| !row["suppressed"].is_empty())
                .count();
            counted.insert(
                path.file_stem().unwrap().to_str().unwrap().to_owned(),
                hidden,
            );
        }
    }
    assert_eq!(headline["suppressed_cells"], serde_json::json!(counted));
    assert!(counted["trend_monthly"] > 0, "nothing is withheld");
}

#[test]
fn as_json_it_goes_to_stdout_with_the_path_of_the_report() {
    let (written, mut headline) = file();
    let here = review().out.path().to_str().unwrap();
    assert!(
        !written.contains(here) && !written.contains(text(&top())),
        "a path of the machine"
    );
    let out = TempDir::new().unwrap();
    let (fleet, store) = (
        top().join("sample-data"),
        review().out.path().join("restricted/store"),
    );
    let output = glidetally(&[
        "report",
        text(&fleet),
        "--out",
        text(out.path()),
        "--store",
        text(&store),
        "--format",
        "json",
    ]);
    assert_eq!(output.status.code(), Some(1), "{}", stderr(&output));
    let printed: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert!(out.path().join("share/headline.json").is_file());
    let report = printed["report"].as_str().unwrap();
    assert!(
        report.ends_with("share/report.html") && fs::exists(report).unwrap(),
        "{report}"
    );
    assert_eq!(
        faults(&schema(), &schema(), &printed, "headline"),
        Vec::<String>::new()
    );
    headline["report"] = report.into();
    assert_eq!(printed, headline);
}
