//! What the review says of months and of aircraft types.

use std::collections::BTreeMap;
use std::path::Path;

use serde::Deserialize;

use super::ScoreError;
use super::effects::Answer;
use super::table;

/// Events of any level.
pub(super) const ANY_LEVEL: &str = "low";

#[derive(Deserialize)]
struct MonthRow {
    /// Null in the rows of whole families.
    rule: Option<String>,
    at_least_level: String,
    month: String,
    group_kind: String,
    signal: Option<String>,
    why_no_signal: Option<String>,
    suppressed: Option<String>,
}

/// Months of the whole fleet.
pub(super) struct Months {
    rows: BTreeMap<(String, String), MonthRow>,
}

impl Months {
    /// Reads them.
    pub(super) fn read(out: &Path) -> Result<Self, ScoreError> {
        let mut rows = BTreeMap::new();
        table::of_review(
            &out.join("share/tables/trend_monthly.parquet"),
            |row: MonthRow| {
                let is_meant = row.group_kind == "fleet" && row.at_least_level == ANY_LEVEL;
                if let (true, Some(rule)) = (is_meant, row.rule.clone()) {
                    rows.insert((row.month.clone(), rule), row);
                }
                Ok(())
            },
        )?;
        Ok(Self { rows })
    }

    /// Whether the review calls the month higher; `Err` = it judges no month at all.
    pub(super) fn answers(&self, month: &str, rules: &[String]) -> Result<Vec<Answer>, String> {
        let judges = |row: &MonthRow| row.signal.is_some() || row.why_no_signal.is_some();
        if !self.rows.values().any(judges) {
            return Err("`trend_monthly` has no signal for any month".to_owned());
        }
        let answer = |rule: &String| {
            let (claimed, says) = match self.rows.get(&(month.to_owned(), rule.clone())) {
                None => (Some(false), "no row".to_owned()),
                Some(MonthRow {
                    suppressed: Some(_),
                    ..
                }) => (None, "withheld".to_owned()),
                Some(MonthRow {
                    signal: Some(signal),
                    ..
                }) => (Some(signal == "higher"), signal.clone()),
                Some(row) => {
                    let why = row.why_no_signal.clone();
                    (Some(false), why.unwrap_or_else(|| "no signal".to_owned()))
                }
            };
            Answer {
                claimed,
                says: format!("{rule}: {says}"),
            }
        };
        Ok(rules.iter().map(answer).collect())
    }

    /// Which of these months of the year the review calls higher; `Err` = it judges none of them.
    pub(super) fn higher_in(&self, of_year: &[u32], rule: &str) -> Result<Vec<&str>, String> {
        let is_meant = |month: &str| {
            let number = month.get(5..).and_then(|number| number.parse().ok());
            number.is_some_and(|number: u32| of_year.contains(&number))
        };
        let meant: Vec<&MonthRow> = self
            .rows
            .iter()
            .filter(|((month, of), _)| of == rule && is_meant(month))
            .map(|(_, row)| row)
            .collect();
        let judges = |row: &&MonthRow| row.signal.is_some() || row.why_no_signal.is_some();
        if !meant.iter().any(judges) {
            return Err("`trend_monthly` judges none of these months".to_owned());
        }
        let called = meant
            .iter()
            .filter(|row| row.signal.as_deref() == Some("higher"));
        Ok(called.map(|row| row.month.as_str()).collect())
    }
}

#[derive(Deserialize)]
struct RateRow {
    /// Null in the rows of whole families.
    rule: Option<String>,
    at_least_level: String,
    group_kind: String,
    group: String,
    rate_per_1000: Option<f64>,
    ci_low: Option<f64>,
    ci_high: Option<f64>,
}

/// Rates of the fleet and of its types.
pub(super) struct Groups {
    fleet: BTreeMap<String, RateRow>,
    types: BTreeMap<(String, String), RateRow>,
}

impl Groups {
    /// Reads them.
    pub(super) fn read(out: &Path) -> Result<Self, ScoreError> {
        let (mut fleet, mut types) = (BTreeMap::new(), BTreeMap::new());
        table::of_review(&out.join("share/tables/rates.parquet"), |row: RateRow| {
            let rule = row.rule.clone();
            if let Some(rule) = rule.filter(|_| row.at_least_level == ANY_LEVEL) {
                match row.group_kind.as_str() {
                    "fleet" => drop(fleet.insert(rule, row)),
                    "aircraft_type" => {
                        types.insert((row.group.clone(), rule), row);
                    }
                    _ => {}
                }
            }
            Ok(())
        })?;
        Ok(Self { fleet, types })
    }

    /// Whether the whole interval of the type lies above the rate of the fleet.
    pub(super) fn answers(&self, kind: &str, rules: &[String]) -> Result<Vec<Answer>, String> {
        if self.types.values().all(|row| row.ci_low.is_none()) {
            return Err("`rates` has no interval for any type".to_owned());
        }
        let answer = |rule: &String| {
            let of_type = self.types.get(&(kind.to_owned(), rule.clone()));
            let rate = |row: Option<&RateRow>| row.and_then(|row| row.rate_per_1000);
            let fleet = rate(self.fleet.get(rule));
            let interval = of_type.and_then(|row| row.ci_low.zip(row.ci_high));
            let (claimed, says) = match (of_type, interval, fleet) {
                (None, _, _) => (Some(false), "no row".to_owned()),
                (_, Some((low, high)), Some(fleet)) => (
                    Some(low > fleet),
                    format!("{low:.1}–{high:.1} per 1,000 against {fleet:.1}"),
                ),
                _ => (None, "withheld".to_owned()),
            };
            Answer {
                claimed,
                says: format!("{rule}: {says}"),
            }
        };
        Ok(rules.iter().map(answer).collect())
    }
}
