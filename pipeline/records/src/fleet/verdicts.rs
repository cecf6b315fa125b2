//! `verdicts.csv`: what people who looked at an event say of it.

use std::collections::BTreeSet;
use std::path::Path;

use serde::{Deserialize, Serialize};

use super::table::Table;
use crate::error::RecordsError;

const COLUMNS: [&str; 4] = ["flight_id", "approach_no", "rule", "verdict"];
/// What can be said; `open` is the same as no row.
const VERDICTS: [&str; 3] = ["stands", "does not stand", "open"];

/// What was said of the events of one rule on one approach.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct VerdictRow {
    /// Opaque flight id, as `second_look` and the other row-level tables have it.
    pub flight_id: String,
    /// From 1, in flight order.
    pub approach_no: i32,
    /// Rule id.
    pub rule: String,
    /// `stands`, `does not stand` or `open`.
    pub verdict: String,
}

/// Reads the table, sorted by its key. Ids are taken as they are: they come from the review's own tables.
///
/// # Errors
/// When it cannot be read, a row says something that cannot be meant, or two rows are about the same.
pub(super) fn read(path: &Path, notes: &mut Vec<String>) -> Result<Vec<VerdictRow>, RecordsError> {
    let table = Table::read(path, &COLUMNS)?;
    table.tell_left_out(path, &COLUMNS, notes);
    let mut seen = BTreeSet::new();
    let mut rows = Vec::with_capacity(table.rows.len());
    for (line, row) in &table.rows {
        let fault = |message: String| RecordsError::row(path, *line, message);
        let cell = |name: &str| table.required(row, name).map_err(fault);
        let approach_no: Option<i32> = cell("approach_no")?.parse().ok();
        let approach_no = approach_no
            .filter(|number| *number > 0)
            .ok_or_else(|| fault("approach_no is no whole number from 1".to_owned()))?;
        let verdict = cell("verdict")?;
        if !VERDICTS.contains(&verdict) {
            return Err(fault(
                "verdict is none of: stands, does not stand, open".to_owned(),
            ));
        }
        let row = VerdictRow {
            flight_id: cell("flight_id")?.to_owned(),
            approach_no,
            rule: cell("rule")?.to_owned(),
            verdict: verdict.to_owned(),
        };
        if !seen.insert((row.flight_id.clone(), approach_no, row.rule.clone())) {
            let message = "this approach and rule have a row already, expected one".to_owned();
            return Err(fault(message));
        }
        rows.push(row);
    }
    rows.sort_by(|a, b| {
        (&a.flight_id, a.approach_no, &a.rule).cmp(&(&b.flight_id, b.approach_no, &b.rule))
    });
    Ok(rows)
}
