//! Makes approaches, verdicts and events by the number of the approach.

use std::collections::BTreeMap;

use ::records::fleet::{InterventionRow, VerdictRow};
use ::records::rows::ApproachRow;

use super::super::facts::{Measured, facts_of};
use super::super::{RuleNote, Summary, SummaryInput, SummaryOptions, TrendRow, summarise};
use crate::rows::{EventRow, MeasurementRow};

/// What one rule says of one approach.
#[derive(Debug, Clone)]
pub(crate) struct Said {
    pub(crate) level: Option<&'static str>,
    pub(crate) reason: Option<&'static str>,
    pub(crate) version: u32,
}

impl Said {
    pub(crate) fn clear() -> Self {
        Self {
            level: None,
            reason: None,
            version: 1,
        }
    }

    pub(crate) fn event(level: &'static str) -> Self {
        Self {
            level: Some(level),
            ..Self::clear()
        }
    }

    pub(crate) fn not_judged(reason: &'static str) -> Self {
        Self {
            reason: Some(reason),
            ..Self::clear()
        }
    }

    /// An event where it holds.
    pub(crate) fn low_if(fires: bool) -> Self {
        if fires {
            Self::event("low")
        } else {
            Self::clear()
        }
    }
}

/// A fleet under construction.
#[derive(Debug, Default, Clone)]
pub(crate) struct Made {
    pub(crate) approaches: Vec<ApproachRow>,
    pub(crate) measurements: Vec<MeasurementRow>,
    pub(crate) events: Vec<EventRow>,
    pub(crate) rules: BTreeMap<String, RuleNote>,
    pub(crate) interventions: Vec<InterventionRow>,
    pub(crate) verdicts: Vec<VerdictRow>,
}

/// `YYYY-MM` of a month counted from 2024-01.
pub(crate) fn month(number: usize) -> String {
    format!("{}-{:02}", 2024 + number / 12, 1 + number % 12)
}

impl Made {
    /// A fleet with rules of these names and families.
    pub(crate) fn with(rules: &[(&str, &str)]) -> Self {
        let notes = rules.iter().map(|(rule, family)| {
            let note = RuleNote {
                title: format!("title of {rule}"),
                family: (*family).to_owned(),
                topics: vec!["use of drag".to_owned()],
                trial: false,
            };
            ((*rule).to_owned(), note)
        });
        Self {
            rules: notes.collect(),
            ..Self::default()
        }
    }

    /// Adds `count` flights of one approach in a month; `change` sets what is special about each row, by its
    /// number within the month, and `said` what each rule says of it.
    pub(crate) fn add(
        &mut self,
        number: usize,
        count: usize,
        change: impl Fn(usize, &mut ApproachRow),
        said: impl Fn(&str, usize) -> Said,
    ) {
        for i in 0..count {
            let flight = format!("f{number:03}-{i:05}-{}", self.approaches.len());
            let mut row = ApproachRow {
                approach_key: i64::try_from(self.approaches.len()).unwrap(),
                flight_id: flight.clone(),
                approach_no: 1,
                tail_id: Some(format!("t{}", i % 7)),
                aircraft_type: Some("a1".to_owned()),
                month: Some(month(number)),
                // Numbers far apart share a day, so that neighbours that fire do not cluster.
                day_key: Some(format!("d{number}-{}", i % 59)),
                airport: Some("AAAA".to_owned()),
                runway: Some("09".to_owned()),
                approach_kind: "ils".to_owned(),
                outcome: "landing".to_owned(),
                ..ApproachRow::default()
            };
            change(i, &mut row);
            for rule in self.rules.keys() {
                let said = said(rule, i);
                self.measurements.push(measurement(&row, rule, &said));
                if let Some(level) = said.level {
                    self.events.push(event(&row, rule, level));
                }
            }
            self.approaches.push(row);
        }
    }

    /// What the rules say, as a summary takes it.
    pub(crate) fn measured(&self) -> Measured {
        facts_of(&self.approaches, &self.measurements)
    }

    pub(crate) fn input<'a>(&'a self, measured: &'a Measured) -> SummaryInput<'a> {
        SummaryInput {
            approaches: &self.approaches,
            measured,
            events: &self.events,
            rules: &self.rules,
            decisive: &[],
            interventions: &self.interventions,
            verdicts: &self.verdicts,
        }
    }

    pub(crate) fn summary(&self) -> Summary {
        summarise(&self.input(&self.measured()), &SummaryOptions::default())
    }
}

fn measurement(row: &ApproachRow, rule: &str, said: &Said) -> MeasurementRow {
    MeasurementRow {
        approach_key: row.approach_key,
        flight_id: row.flight_id.clone(),
        approach_no: row.approach_no,
        rule: rule.to_owned(),
        rule_version: said.version,
        status: match (said.reason, said.level) {
            (Some(_), _) => "not_evaluable",
            (None, Some(_)) => "event",
            (None, None) => "clear",
        }
        .to_owned(),
        reason: said.reason.map(str::to_owned),
        level: said.level.map(str::to_owned),
        events: i32::from(said.level.is_some()),
        worst: None,
        worst_s: None,
        stabilised: None,
        stabilised_from: None,
        limits_hash: format!("limits-{}", said.version),
    }
}

pub(crate) fn event(row: &ApproachRow, rule: &str, level: &str) -> EventRow {
    EventRow {
        flight_id: row.flight_id.clone(),
        approach_no: row.approach_no,
        rule: rule.to_owned(),
        rule_version: 1,
        family: "family".to_owned(),
        level: level.to_owned(),
        start_s: Some(1.0),
        end_s: Some(2.0),
        duration_s: Some(1.0),
        worst: Some(3.0),
        worst_unit: "kt".to_owned(),
        worst_s: Some(1.0),
        height_aal_ft: None,
        distance_nm: None,
        edge: None,
        partial: false,
        robustness: None,
        measures: "{}".to_owned(),
    }
}

/// The row of a group in a month, for events of any level.
pub(crate) fn trend<'a>(
    summary: &'a Summary,
    rule: &str,
    group: &str,
    number: usize,
) -> &'a TrendRow {
    summary
        .trend_monthly
        .iter()
        .find(|row| {
            row.rule.as_deref() == Some(rule)
                && row.group == group
                && row.month == month(number)
                && row.at_least_level == "low"
        })
        .unwrap()
}
