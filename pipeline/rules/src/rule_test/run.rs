//! Running a case in every shape.

use std::collections::BTreeMap;
use std::sync::Arc;

use datafusion::arrow::array::{
    ArrayRef, Float64Array, Int32Array, Int64Array, RecordBatch, StringArray, new_null_array,
};
use datafusion::arrow::compute::cast;
use datafusion::arrow::datatypes::{DataType, SchemaRef};
use datafusion::datasource::MemTable;
use records::rows::ApproachRow;

use super::case::{Case, seconds};
use super::compare::compare;
use super::series::{Sample, parse};
use super::shapes::shapes;
use crate::detect::{Engine, assemble_scanned};
use crate::rule_file::{CheckedRule, Shape};

const KEY: i64 = 1;
/// Another approach beside it.
const OTHER_KEY: i64 = 2;
const FLIGHT: &str = "test";

/// What differs from what the case expects, in words; empty where nothing does.
pub(super) fn differences(
    engine: &Engine,
    schema: &SchemaRef,
    rule: &CheckedRule,
    case: &Case,
) -> Result<Vec<String>, String> {
    let (samples, row) = lay_out(schema, case)?;
    let mut by_shape: Vec<(&str, Vec<String>)> = Vec::new();
    for shape in shapes(&samples, KEY, OTHER_KEY).map_err(|error| error.to_string())? {
        let table =
            MemTable::try_new(schema.clone(), shape.partitions).map_err(|e| e.to_string())?;
        let mut rows = BTreeMap::from([(KEY, row.clone())]);
        if shape.with_other {
            let other = ApproachRow {
                approach_key: OTHER_KEY,
                flight_id: "other".to_owned(),
                ..row.clone()
            };
            rows.insert(OTHER_KEY, other);
        }
        let verdicts: BTreeMap<String, Vec<Option<bool>>> = rule
            .may_read()
            .into_iter()
            .filter(|input| row_has_no(input))
            .map(|input| {
                let said = case.rules.get(&input).copied();
                (input, vec![said; rows.len()])
            })
            .collect();
        let mut detected = engine
            .scan_table(std::slice::from_ref(rule), schema, Arc::new(table))
            .and_then(|scanned| {
                let pack = std::slice::from_ref(rule);
                assemble_scanned(engine, pack, schema, scanned, rows, verdicts)
            })
            .map_err(|error| error.to_string())?;
        detected.measurements.retain(|row| row.flight_id == FLIGHT);
        detected.events.retain(|row| row.flight_id == FLIGHT);
        detected.gates.retain(|row| row.flight_id == FLIGHT);
        by_shape.push((shape.name, compare(case, &detected)?));
    }
    let not_given = not_given(rule, case);
    if let Some(line) = not_given.filter(|_| by_shape.iter().any(|(_, lines)| !lines.is_empty())) {
        for (_, lines) in &mut by_shape {
            lines.push(line.clone());
        }
    }
    // Once is enough where the shape of the data makes no difference, as it should not.
    if by_shape.windows(2).all(|pair| pair[0].1 == pair[1].1) {
        return Ok(by_shape.pop().map(|(_, lines)| lines).unwrap_or_default());
    }
    Ok(by_shape
        .into_iter()
        .flat_map(|(shape, lines)| {
            lines
                .into_iter()
                .map(move |line| format!("{shape}: {line}"))
        })
        .collect())
}

/// The columns that a rule needs and that a case says nothing of: a word to whoever forgot one.
fn not_given(rule: &CheckedRule, case: &Case) -> Option<String> {
    const FILLED: [&str; 4] = ["time_s", "segment", "k", "approach_key"];
    if matches!(rule.shape, Shape::Outcome { .. }) {
        return None;
    }
    let missing: Vec<String> = rule
        .required_inputs()
        .into_iter()
        .filter(|name| !case.given.contains_key(name) && !FILLED.contains(&name.as_str()))
        .collect();
    let names = missing.join(", ");
    (!missing.is_empty()).then(|| format!("not given, and so unknown throughout: {names}"))
}

/// The samples of a case and its approach row.
pub(super) fn lay_out(
    schema: &SchemaRef,
    case: &Case,
) -> Result<(RecordBatch, ApproachRow), String> {
    let step_s = seconds(&case.step)?;
    let samples = samples(schema, case, step_s)?;
    let row = approach_row(case, &samples, step_s)?;
    Ok((samples, row))
}

/// Whether a name is neither a sample column nor one of the approach row: another rule's id.
fn row_has_no(name: &str) -> bool {
    serde_json::to_value(ApproachRow::default())
        .is_ok_and(|row| row.as_object().is_some_and(|row| !row.contains_key(name)))
}

fn samples(schema: &SchemaRef, case: &Case, step_s: f64) -> Result<RecordBatch, String> {
    let mut series: BTreeMap<&str, Vec<Sample>> = BTreeMap::new();
    for (column, text) in &case.given {
        let Ok(field) = schema.field_with_name(column) else {
            return Err(format!("given.{column}: there is no such column"));
        };
        let words = matches!(field.data_type(), DataType::Dictionary(..) | DataType::Utf8);
        let samples = parse(text, words).map_err(|detail| format!("given.{column}: {detail}"))?;
        series.insert(column, samples);
    }
    let n = series.values().map(Vec::len).max().unwrap_or(1);
    if let Some((column, short)) = series.iter().find(|(_, samples)| samples.len() != n) {
        return Err(format!(
            "given.{column} has {} samples where the longest series has {n}: give all the same",
            short.len()
        ));
    }
    let columns: Result<Vec<ArrayRef>, String> = schema
        .fields()
        .iter()
        .map(|field| {
            let name = field.name().as_str();
            let wanted = field.data_type();
            match (name, series.get(name)) {
                ("approach_key", _) => Ok(Arc::new(Int64Array::from(vec![KEY; n])) as ArrayRef),
                ("k", _) => {
                    let k: Vec<i32> = (0_i32..).take(n).collect();
                    Ok(Arc::new(Int32Array::from(k)) as ArrayRef)
                }
                ("time_s", None) => {
                    let time = (0_u32..).take(n).map(|k| f64::from(k) * step_s);
                    Ok(Arc::new(Float64Array::from_iter_values(time)) as ArrayRef)
                }
                ("segment", None) => {
                    let text: ArrayRef = Arc::new(StringArray::from(vec!["approach"; n]));
                    cast(&text, wanted).map_err(|error| error.to_string())
                }
                (_, Some(samples)) => array(name, samples, wanted),
                (_, None) => Ok(new_null_array(wanted, n)),
            }
        })
        .collect();
    RecordBatch::try_new(schema.clone(), columns?).map_err(|error| error.to_string())
}

fn array(name: &str, samples: &[Sample], wanted: &DataType) -> Result<ArrayRef, String> {
    let is_text = matches!(wanted, DataType::Dictionary(..) | DataType::Utf8);
    let plain: ArrayRef = if is_text {
        let texts = samples.iter().map(|sample| match sample {
            Sample::Missing => None,
            Sample::Text(text) => Some(text.clone()),
            Sample::Number(_) => None,
        });
        Arc::new(texts.collect::<StringArray>())
    } else {
        if let Some(Sample::Text(text)) = samples.iter().find(|s| matches!(s, Sample::Text(_))) {
            return Err(format!("given.{name}: `{text}` is not a number"));
        }
        let numbers = samples.iter().map(|sample| match sample {
            Sample::Number(number) => Some(*number),
            _ => None,
        });
        Arc::new(numbers.collect::<Float64Array>())
    };
    cast(&plain, wanted).map_err(|error| format!("given.{name}: {error}"))
}

fn approach_row(case: &Case, samples: &RecordBatch, step_s: f64) -> Result<ApproachRow, String> {
    let missing: Vec<String> = samples
        .schema()
        .fields()
        .iter()
        .zip(samples.columns())
        .filter(|(_, column)| column.null_count() == column.len())
        .map(|(field, _)| field.name().clone())
        .collect();
    let row = ApproachRow {
        approach_key: KEY,
        flight_id: FLIGHT.to_owned(),
        approach_no: 1,
        step_s,
        n_samples: i64::try_from(samples.num_rows()).unwrap_or(i64::MAX),
        missing_columns: missing.join(","),
        ..ApproachRow::default()
    };
    // Overrides look at the row: what is given for the samples holds for the approach.
    let constant = |column: &str| {
        let series = parse(case.given.get(column)?, true).ok()?;
        series.into_iter().find_map(|sample| match sample {
            Sample::Text(text) => Some(text),
            _ => None,
        })
    };
    let row = ApproachRow {
        aircraft_type: constant("aircraft_type"),
        airport: constant("airport"),
        runway: constant("runway"),
        ..row
    };
    let mut json = serde_json::to_value(&row).map_err(|error| error.to_string())?;
    for (key, value) in &case.approach {
        let known = json
            .get_mut(key)
            .ok_or_else(|| format!("approach.{key}: no such column"))?;
        *known = serde_json::to_value(value).map_err(|error| error.to_string())?;
    }
    serde_json::from_value(json).map_err(|error| format!("approach: {error}"))
}
