//! What the review says of series of months: trends, and a season that is none.

use std::collections::BTreeMap;
use std::path::Path;

use serde::Deserialize;

use super::ScoreError;
use super::effects::Answer;
use super::shared::{ANY_LEVEL, Months};
use super::table;

#[derive(Deserialize)]
struct SlopeRow {
    /// Null in the rows of whole families.
    rule: Option<String>,
    at_least_level: String,
    group_kind: String,
    call: Option<String>,
    why_no_call: Option<String>,
    suppressed: Option<String>,
}

/// Slopes of the whole fleet, by rule.
pub(super) struct Slopes {
    rows: BTreeMap<String, SlopeRow>,
}

impl Slopes {
    /// Reads them.
    pub(super) fn read(out: &Path) -> Result<Self, ScoreError> {
        let mut rows = BTreeMap::new();
        let path = out.join("share/tables/trend_slope.parquet");
        table::of_review(&path, |row: SlopeRow| {
            let is_meant = row.group_kind == "fleet" && row.at_least_level == ANY_LEVEL;
            if let (true, Some(rule)) = (is_meant, row.rule.clone()) {
                rows.insert(rule, row);
            }
            Ok(())
        })?;
        Ok(Self { rows })
    }

    /// Whether the review calls the rate of each rule rising; `Err` = it judges no series at all.
    pub(super) fn answers(&self, rules: &[String]) -> Result<Vec<Answer>, String> {
        self.judge(rules, |call| call == "rising")
    }

    /// Whether a season is taken for a trend, or its months for higher ones; `Err` = neither is judged.
    pub(super) fn answers_of_season(
        &self,
        months: &Months,
        of_year: &[u32],
        rules: &[String],
    ) -> Result<Vec<Answer>, String> {
        let trends = self.judge(rules, |_| true)?;
        let mut answers = Vec::new();
        for (rule, trend) in rules.iter().zip(trends) {
            let higher = months.higher_in(of_year, rule)?;
            let says = match higher.as_slice() {
                [] => "no such month higher".to_owned(),
                months => format!("{} higher", months.join(", ")),
            };
            answers.push(Answer {
                claimed: trend.claimed.map(|trend| trend || !higher.is_empty()),
                says: format!("{}, {says}", trend.says),
            });
        }
        Ok(answers)
    }

    fn judge(
        &self,
        rules: &[String],
        claims: impl Fn(&str) -> bool,
    ) -> Result<Vec<Answer>, String> {
        let judges = |row: &SlopeRow| row.call.is_some() || row.why_no_call.is_some();
        if !self.rows.values().any(judges) {
            return Err("`trend_slope` judges no series".to_owned());
        }
        let answer = |rule: &String| {
            let (claimed, says) = match self.rows.get(rule) {
                None => (Some(false), "no row".to_owned()),
                Some(SlopeRow {
                    suppressed: Some(_),
                    ..
                }) => (None, "withheld".to_owned()),
                Some(SlopeRow {
                    call: Some(call), ..
                }) => (Some(claims(call)), call.clone()),
                Some(row) => {
                    let why = row.why_no_call.clone();
                    (Some(false), why.unwrap_or_else(|| "no trend".to_owned()))
                }
            };
            Answer {
                claimed,
                says: format!("{rule}: {says}"),
            }
        };
        Ok(rules.iter().map(answer).collect())
    }
}
