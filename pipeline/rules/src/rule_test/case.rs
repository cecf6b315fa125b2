//! The test file as written.

use std::collections::BTreeMap;

use serde::Deserialize;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct TestFile {
    #[serde(default)]
    case: Vec<Case>,
}

/// One case.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Case {
    pub(super) name: String,
    /// Time from one sample to the next.
    #[serde(default = "one_second")]
    pub(super) step: String,
    /// Series by column; what is not given is missing throughout.
    #[serde(default)]
    pub(super) given: BTreeMap<String, String>,
    /// Columns of the approach row, for outcome rules.
    #[serde(default)]
    pub(super) approach: BTreeMap<String, toml::Value>,
    /// Verdicts of other rules, for outcome rules; what is not given is not evaluable.
    #[serde(default)]
    pub(super) rules: BTreeMap<String, bool>,
    /// Every event, in time: keys are start, end, level, partial, edge and names of measures.
    #[serde(default)]
    pub(super) expect: Vec<BTreeMap<String, toml::Value>>,
    /// The row of the measurements, where the case is about it; an empty text stands for null.
    pub(super) measurement: Option<BTreeMap<String, toml::Value>>,
    /// Every row of the gates, in the order of the criteria, where the case is about them.
    pub(super) gates: Option<Vec<BTreeMap<String, toml::Value>>>,
    /// Status of the approach, where the case is about it.
    pub(super) status: Option<String>,
    /// Largest difference of numbers that still agree.
    #[serde(default = "close")]
    pub(super) tolerance: f64,
}

fn one_second() -> String {
    "1s".to_owned()
}

fn close() -> f64 {
    1e-3
}

pub(super) fn parse(text: &str) -> Result<Vec<Case>, String> {
    let file: TestFile = toml::from_str(text).map_err(|error| {
        let line = error.span().map_or(0, |span| {
            text[..span.start.min(text.len())].matches('\n').count() + 1
        });
        format!("line {line}: {}", error.message())
    })?;
    Ok(file.case)
}

/// `"12s"`, `"12.5s"` or a bare number of seconds.
pub(super) fn seconds(text: &str) -> Result<f64, String> {
    let number = text.strip_suffix('s').unwrap_or(text);
    number
        .parse()
        .map_err(|_| format!("`{text}` is not a time such as \"30s\""))
}
