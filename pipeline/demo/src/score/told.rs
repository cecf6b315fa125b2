//! What the review makes of what it was told: changes the operator made, and flights that were flown.

use std::path::Path;

use serde::Deserialize;

use super::ScoreError;
use super::effects::Answer;
use super::table;

#[derive(Deserialize)]
struct ChangeRow {
    month: String,
    aircraft_type: Option<String>,
    /// Null in the rows of whole families.
    rule: Option<String>,
    signal: Option<String>,
    why_no_signal: Option<String>,
    suppressed: Option<String>,
}

#[derive(Deserialize)]
struct RecoveryRow {
    group_kind: String,
    group: String,
    month: String,
    share: Option<f64>,
    suppressed: Option<String>,
}

/// Before and after each change, and how many flights came in.
pub(super) struct Told {
    changes: Vec<ChangeRow>,
    recovery: Vec<RecoveryRow>,
}

impl Told {
    /// Reads both.
    pub(super) fn read(out: &Path) -> Result<Self, ScoreError> {
        let tables = out.join("share/tables");
        let (mut changes, mut recovery) = (Vec::new(), Vec::new());
        table::of_review(&tables.join("interventions.parquet"), |row: ChangeRow| {
            changes.push(row);
            Ok(())
        })?;
        table::of_review(&tables.join("recovery.parquet"), |row: RecoveryRow| {
            recovery.push(row);
            Ok(())
        })?;
        Ok(Self { changes, recovery })
    }

    /// Whether the change is said to have moved a rate; `Err` = it is compared nowhere.
    pub(super) fn of_change(
        &self,
        month: &str,
        kind: &str,
        rules: &[String],
    ) -> Result<Vec<Answer>, String> {
        let of_rule = |rule: &String| {
            self.changes.iter().find(|row| {
                row.month == month
                    && row.aircraft_type.as_deref() == Some(kind)
                    && row.rule.as_ref() == Some(rule)
            })
        };
        if !rules.iter().any(|rule| of_rule(rule).is_some()) {
            return Err("`interventions` compares nothing for this change".to_owned());
        }
        let answer = |rule: &String| {
            let (claimed, says) = match of_rule(rule) {
                None => (Some(false), "no row".to_owned()),
                Some(row) if row.suppressed.is_some() => (None, "withheld".to_owned()),
                Some(row) => match (&row.signal, &row.why_no_signal) {
                    (Some(signal), _) => (Some(true), signal.clone()),
                    (None, why) => (Some(false), why.clone().unwrap_or_default()),
                },
            };
            Answer {
                claimed,
                says: format!("{rule}: {says}"),
            }
        };
        Ok(rules.iter().map(answer).collect())
    }

    /// Whether the month shows at least half of the planted loss; `Err` = nothing is known of flights flown.
    pub(super) fn of_loss(
        &self,
        month: &str,
        kind: &str,
        lost: f64,
    ) -> Result<Vec<Answer>, String> {
        let row = self
            .recovery
            .iter()
            .find(|row| {
                row.group_kind == "aircraft_type" && row.group == kind && row.month == month
            })
            .ok_or_else(|| "`recovery` does not know this type and month".to_owned())?;
        let (claimed, says) = match (row.share, &row.suppressed) {
            (Some(share), _) => (
                Some(1.0 - share >= lost / 2.0),
                format!("{share:.3} came in"),
            ),
            (None, Some(_)) => (None, "withheld".to_owned()),
            (None, None) => (Some(false), "unknown".to_owned()),
        };
        Ok(vec![Answer { claimed, says }])
    }
}
