//! One rule in the report: its rates, its months, its airports.

use std::collections::{BTreeMap, BTreeSet};

use report::input::{
    AirportLine, HotspotClass, LevelLine, LimitLine, LimitsStatus, MonthPoint, RateCell,
    ReasonLine, RuleAirports, RuleLine, RuleTrend, Suppression,
};
use rules::rule_file::{CheckedRule, Status};
use rules::summarise::{FEW_DAYS, GIVES_AWAY, RateRow};

use super::{FLEET, LEVELS, Subject, count};

/// The reason in a table as the report words it.
fn suppression(subject: &Subject<'_>, why: &str) -> Suppression {
    match why {
        FEW_DAYS => Suppression::FewTailDays {
            minimum: subject.options.min_tail_days as u64,
        },
        GIVES_AWAY => Suppression::Secondary,
        _ => Suppression::FewFlights {
            minimum: subject.options.min_flights as u64,
        },
    }
}

/// The figures of a row of any group table: the same names in all of them.
macro_rules! cell {
    ($subject:expr, $row:expr) => {
        RateCell {
            evaluable: count($row.evaluable),
            approaches_with_event: count($row.approaches_with_event),
            rate_per_1000: $row.rate_per_1000,
            ci_low: $row.ci_low,
            ci_high: $row.ci_high,
            suppressed: $row
                .suppressed
                .as_deref()
                .map(|why| suppression($subject, why)),
        }
    };
}

pub(super) fn rule_line(subject: &Subject<'_>, rule: &CheckedRule) -> RuleLine {
    let rates: Vec<&RateRow> = subject
        .summary
        .rates
        .iter()
        .filter(|row| row.rule == rule.id && row.group_kind == FLEET)
        .collect();
    let by_level: Vec<LevelLine> = LEVELS
        .iter()
        .filter_map(|(name, at_least)| {
            let row = rates.iter().find(|row| row.at_least_level == *name)?;
            Some(LevelLine {
                at_least: *at_least,
                cell: cell!(subject, row),
            })
        })
        .collect();
    let line: BTreeSet<i64> = subject
        .rows
        .approaches
        .iter()
        .filter(|row| row.is_line())
        .map(|row| row.approach_key)
        .collect();
    let mut reasons: BTreeMap<&str, u64> = BTreeMap::new();
    let of_rule = subject.rows.measurements.iter();
    for row in of_rule.filter(|row| row.rule == rule.id && line.contains(&row.approach_key)) {
        if let (Some(reason), true) = (&row.reason, row.status != "event") {
            *reasons.entry(reason).or_default() += 1;
        }
    }
    let mut not_evaluable: Vec<ReasonLine> = reasons
        .into_iter()
        .map(|(reason, approaches)| ReasonLine {
            reason: reason.to_owned(),
            // A reason that holds for few is told, not how many.
            approaches: (approaches >= subject.options.min_flights as u64).then_some(approaches),
        })
        .collect();
    not_evaluable.sort_by(|a, b| {
        b.approaches
            .cmp(&a.approaches)
            .then(a.reason.cmp(&b.reason))
    });
    let fleet = rates.first();
    let approaches = fleet
        .and_then(|row| count(row.approaches))
        .unwrap_or_default();
    let evaluable = fleet.and_then(|row| count(row.evaluable));
    #[allow(clippy::cast_precision_loss)] // counts of approaches
    let share = evaluable
        .filter(|_| approaches > 0)
        .map(|n| n as f64 / approaches as f64);
    RuleLine {
        id: rule.id.clone(),
        title: rule.title.clone(),
        family: rule.family.clone(),
        why: rule.why.clone(),
        source: rule.source.clone(),
        version: rule.version,
        trial: rule.status == Status::Trial,
        limits_status: if subject.invented.contains(&rule.text_hash) {
            LimitsStatus::Invented
        } else if rule.limits.is_empty() && rule.levels.is_empty() {
            LimitsStatus::NoLimits
        } else {
            LimitsStatus::Operator
        },
        limits: rule
            .limits
            .iter()
            .map(|(name, value)| LimitLine {
                name: name.clone(),
                value: *value,
            })
            .collect(),
        approaches,
        coverage_share: share,
        cell: by_level
            .first()
            .map(|line| line.cell.clone())
            .unwrap_or_default(),
        by_level,
        not_evaluable,
    }
}

pub(super) fn trend(subject: &Subject<'_>, rule: &CheckedRule) -> RuleTrend {
    let points = subject
        .summary
        .trend_monthly
        .iter()
        .filter(|row| {
            row.rule == rule.id && row.group_kind == FLEET && row.at_least_level == LEVELS[0].0
        })
        .map(|row| MonthPoint {
            month: row.month.clone(),
            cell: cell!(subject, row),
        })
        .collect();
    RuleTrend {
        rule_id: rule.id.clone(),
        title: rule.title.clone(),
        points,
        ..RuleTrend::default()
    }
}

pub(super) fn airports(subject: &Subject<'_>, rule: &CheckedRule) -> RuleAirports {
    let fleet_rate = subject.summary.rates.iter().find(|row| {
        row.rule == rule.id && row.group_kind == FLEET && row.at_least_level == LEVELS[0].0
    });
    let airports = subject
        .summary
        .hotspots
        .iter()
        .filter(|row| row.rule == rule.id && row.runway.is_none())
        .map(|row| AirportLine {
            airport: row.airport.clone(),
            cell: cell!(subject, row),
            standardised_ratio: row.standardised_ratio,
            shrunk_rate_per_1000: row.shrunk_rate,
            shrunk_low_per_1000: row.shrunk_low_5pct,
            prob_above_fleet: row.prob_above_fleet,
            class: match row.class.as_deref() {
                Some("hot spot") => HotspotClass::HotSpot,
                Some("watch") => HotspotClass::Watch,
                Some("not elevated") => HotspotClass::NotElevated,
                _ => HotspotClass::InsufficientData,
            },
            rank: row.rank.and_then(|rank| u32::try_from(rank).ok()),
        })
        .collect();
    RuleAirports {
        rule_id: rule.id.clone(),
        title: rule.title.clone(),
        fleet_rate_per_1000: fleet_rate.and_then(|row| row.rate_per_1000),
        airports,
    }
}
