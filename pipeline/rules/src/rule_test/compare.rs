//! Holding what came against what the case expects, table by table.

use std::collections::BTreeMap;

use serde::Serialize;

use super::case::{Case, seconds};
use crate::detect::Detected;
use crate::rows::EventRow;

type Expected = BTreeMap<String, toml::Value>;

/// Every difference, a line each.
pub(super) fn compare(case: &Case, detected: &Detected) -> Result<Vec<String>, String> {
    let mut lines = Vec::new();
    if detected.events.len() != case.expect.len() {
        let list = |texts: Vec<String>| match texts.is_empty() {
            true => "none".to_owned(),
            false => texts.join("; "),
        };
        lines.push(format!(
            "expected {} events, got {}\n  expected: {}\n  got:      {}",
            case.expect.len(),
            detected.events.len(),
            list(case.expect.iter().map(written).collect()),
            list(detected.events.iter().map(describe).collect())
        ));
    }
    for (number, (expected, event)) in case.expect.iter().zip(&detected.events).enumerate() {
        let named = |key: &str| value(event, key);
        let wrong = differing(expected, case.tolerance, "expect: an event", &named)?;
        lines.extend(
            wrong
                .into_iter()
                .map(|line| format!("event {}: {line}", number + 1)),
        );
    }
    if let Some(expected) = &case.measurement {
        let row = as_json(detected.measurements.first());
        let named = |key: &str| row.get(key).cloned();
        let wrong = differing(expected, case.tolerance, "measurement: the row", &named)?;
        lines.extend(wrong.into_iter().map(|line| format!("measurement: {line}")));
    }
    if let Some(expected) = &case.gates {
        if expected.len() != detected.gates.len() {
            let (wanted, got) = (expected.len(), detected.gates.len());
            lines.push(format!("expected {wanted} rows of gates, got {got}"));
        }
        for (expected, row) in expected.iter().zip(&detected.gates) {
            let row_json = as_json(Some(row));
            let named = |key: &str| row_json.get(key).cloned();
            let wrong = differing(expected, case.tolerance, "gates: a row", &named)?;
            lines.extend(
                wrong
                    .into_iter()
                    .map(|line| format!("gate {}: {line}", row.criterion)),
            );
        }
    }
    if let Some(status) = &case.status {
        let got = detected
            .measurements
            .first()
            .map_or("none", |row| row.status.as_str());
        if got != status {
            let reason = detected
                .measurements
                .first()
                .and_then(|row| row.reason.clone());
            lines.push(format!(
                "expected status {status}, got {got} ({})",
                reason.unwrap_or_default()
            ));
        }
    }
    Ok(lines)
}

fn describe(event: &EventRow) -> String {
    let number = |value: Option<f64>| value.map_or("unknown".to_owned(), |value| value.to_string());
    format!(
        "{} from {} s to {} s, worst {}",
        event.level,
        number(event.start_s),
        number(event.end_s),
        number(event.worst)
    )
}

/// What of a row is not as expected.
fn differing(
    expected: &Expected,
    tolerance: f64,
    what: &str,
    named: &dyn Fn(&str) -> Option<serde_json::Value>,
) -> Result<Vec<String>, String> {
    let mut lines = Vec::new();
    for (key, wanted) in expected {
        let got = named(key).ok_or_else(|| format!("{what} has no `{key}`"))?;
        if !agrees(wanted, &got, tolerance)? {
            lines.push(format!("expected {key} = {wanted}, got {got}"));
        }
    }
    Ok(lines)
}

fn as_json<T: Serialize>(row: Option<&T>) -> serde_json::Map<String, serde_json::Value> {
    let row = row.and_then(|row| serde_json::to_value(row).ok());
    row.and_then(|row| row.as_object().cloned())
        .unwrap_or_default()
}

/// An expected event as it was written.
fn written(expected: &Expected) -> String {
    let pairs: Vec<String> = expected
        .iter()
        .map(|(key, value)| format!("{key} = {value}"))
        .collect();
    if pairs.is_empty() {
        "any".to_owned()
    } else {
        pairs.join(", ")
    }
}

fn value(event: &EventRow, key: &str) -> Option<serde_json::Value> {
    Some(match key {
        "start" => event.start_s.into(),
        "end" => event.end_s.into(),
        "level" => event.level.clone().into(),
        "worst" => event.worst.into(),
        "partial" => event.partial.into(),
        "edge" => event.edge.into(),
        "duration_s" => event.duration_s.into(),
        "height_aal_ft" => event.height_aal_ft.into(),
        "distance_nm" => event.distance_nm.into(),
        name => {
            let measures: serde_json::Value = serde_json::from_str(&event.measures).ok()?;
            measures.get(name)?.clone()
        }
    })
}

fn agrees(wanted: &toml::Value, got: &serde_json::Value, tolerance: f64) -> Result<bool, String> {
    let number = match wanted {
        toml::Value::String(text) if got.is_number() && !text.is_empty() => Some(seconds(text)?),
        #[allow(clippy::cast_precision_loss)] // small numbers written by hand
        toml::Value::Integer(number) => Some(*number as f64),
        toml::Value::Float(number) => Some(*number),
        _ => None,
    };
    // Nothing written is nothing known.
    if wanted.as_str() == Some("") {
        return Ok(got.is_null() || got.as_str() == Some(""));
    }
    Ok(match (number, got.as_f64()) {
        (Some(wanted), Some(got)) => (wanted - got).abs() <= tolerance,
        (Some(_), None) => false,
        (None, _) => serde_json::to_value(wanted).is_ok_and(|wanted| wanted == *got),
    })
}
