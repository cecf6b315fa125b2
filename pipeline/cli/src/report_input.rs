//! Summary tables → what the report is given. Nothing is computed here that is not a count.

use std::collections::{BTreeMap, BTreeSet};

use records::fleet::Fleet;
use records::rows::ApproachRow;
use report::input::{
    AirportLine, Analysed, CountLine, EventSide, HotspotClass, Level, LevelLine, LimitLine,
    LimitsStatus, MonthPoint, ParameterQuality, PeriodQuantiles, Quality, QuarantineLine, RateCell,
    ReasonLine, ReportInput, RuleAirports, RuleDistribution, RuleLine, RuleTrend, RunIdentity,
    Setting, Suppression,
};
use rules::rule_file::{CheckedRule, MeasureKind, Shape};
use rules::stages::Collected;
use rules::summarise::{RateRow, Summary, SummaryOptions};

/// Everything a report is about.
pub(crate) struct Subject<'a> {
    pub(crate) fleet: &'a Fleet,
    pub(crate) pack: &'a [CheckedRule],
    /// Whether the pack is the built-in one, whose limits are invented.
    pub(crate) builtin_pack: bool,
    pub(crate) rows: &'a Collected,
    pub(crate) summary: &'a Summary,
    pub(crate) options: &'a SummaryOptions,
    pub(crate) run_number: u64,
    pub(crate) rules_hash: String,
    pub(crate) config_hash: String,
}

const FLEET: &str = "fleet";
const LEVELS: [(&str, Level); 3] = [
    ("low", Level::Low),
    ("medium", Level::Medium),
    ("high", Level::High),
];

/// The input of the report.
pub(crate) fn report_input(subject: &Subject<'_>) -> ReportInput {
    ReportInput {
        title: "Approach review".to_owned(),
        identity: identity(subject),
        analysed: analysed(subject),
        rules: subject
            .pack
            .iter()
            .map(|rule| rule_line(subject, rule))
            .collect(),
        trend: subject
            .pack
            .iter()
            .map(|rule| trend(subject, rule))
            .collect(),
        hotspots: subject
            .pack
            .iter()
            .map(|rule| airports(subject, rule))
            .collect(),
        distributions: subject
            .pack
            .iter()
            .filter_map(|rule| distribution(subject, rule))
            .collect(),
        quality: quality(subject),
    }
}

fn identity(subject: &Subject<'_>) -> RunIdentity {
    let months: BTreeSet<String> = subject
        .rows
        .approaches
        .iter()
        .filter_map(|row| row.month.clone())
        .collect();
    let setting = |name: &str, value: String| Setting {
        name: name.to_owned(),
        value,
    };
    RunIdentity {
        fleet_title: subject.fleet.title.clone(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        review_month: months.last().cloned(),
        months: months.into_iter().collect(),
        rule_pack_hash: subject.rules_hash.clone(),
        config_hash: subject.config_hash.clone(),
        run_number: subject.run_number,
        min_flights: subject.options.min_flights as u64,
        settings: vec![
            setting(
                "fewest tail-days of a shown cell",
                subject.options.min_tail_days.to_string(),
            ),
            setting(
                "confidence of intervals",
                format!("{} %", 100.0 * subject.options.confidence),
            ),
        ],
    }
}

fn analysed(subject: &Subject<'_>) -> Analysed {
    let rows = subject.rows;
    let refused: BTreeSet<(&str, Option<&str>)> = rows
        .quarantine
        .iter()
        .map(|row| (row.file.as_str(), row.flight_id.as_deref()))
        .collect();
    let mut reasons: BTreeMap<&str, u64> = BTreeMap::new();
    for row in &rows.quarantine {
        *reasons.entry(&row.reason).or_default() += 1;
    }
    let by = |label: fn(&ApproachRow) -> Option<&str>| count_lines(subject, label);
    Analysed {
        flights_received: (rows.flights.len() + refused.len()) as u64,
        flights_used: rows.flights.len() as u64,
        approaches: rows.approaches.len() as u64,
        quarantined: reasons
            .into_iter()
            .map(|(reason, flights)| QuarantineLine {
                reason: reason.to_owned(),
                flights,
            })
            .collect(),
        by_outcome: by(|row| Some(&row.outcome)),
        by_aircraft_type: by(|row| row.aircraft_type.as_deref()),
        by_airport: by(|row| row.airport.as_deref()),
        by_month: by(|row| row.month.as_deref()),
    }
}

/// Approaches by label; small counts are withheld, and a second one where one could be subtracted.
fn count_lines(subject: &Subject<'_>, label: fn(&ApproachRow) -> Option<&str>) -> Vec<CountLine> {
    let mut cells: BTreeMap<&str, (u64, BTreeSet<&str>)> = BTreeMap::new();
    for row in &subject.rows.approaches {
        let cell = cells.entry(label(row).unwrap_or("unknown")).or_default();
        cell.0 += 1;
        cell.1.insert(&row.flight_id);
    }
    let minimum = subject.options.min_flights;
    let small: BTreeSet<&str> = cells
        .iter()
        .filter(|(_, (_, flights))| flights.len() < minimum)
        .map(|(label, _)| *label)
        .collect();
    let second = match small.len() {
        1 => cells
            .iter()
            .filter(|(label, _)| !small.contains(*label))
            .min_by_key(|(_, (approaches, _))| *approaches)
            .map(|(label, _)| *label),
        _ => None,
    };
    let lines = cells.iter().map(|(label, (approaches, _))| {
        let suppressed = if small.contains(label) {
            Some(Suppression::FewFlights {
                minimum: minimum as u64,
            })
        } else if second == Some(*label) {
            Some(Suppression::Secondary)
        } else {
            None
        };
        CountLine {
            label: (*label).to_owned(),
            approaches: suppressed.is_none().then_some(*approaches),
            suppressed,
        }
    });
    lines.collect()
}

/// Counts that came from the tables: never negative.
fn count(number: Option<i64>) -> Option<u64> {
    number.and_then(|number| u64::try_from(number).ok())
}

fn withheld(subject: &Subject<'_>, suppressed: Option<&String>) -> Option<Suppression> {
    suppressed.map(|_| Suppression::FewFlights {
        minimum: subject.options.min_flights as u64,
    })
}

fn rate_cell(subject: &Subject<'_>, row: &RateRow) -> RateCell {
    RateCell {
        evaluable: count(row.evaluable),
        approaches_with_event: count(row.approaches_with_event),
        rate_per_1000: row.rate_per_1000,
        ci_low: row.ci_low,
        ci_high: row.ci_high,
        suppressed: withheld(subject, row.suppressed.as_ref()),
    }
}

fn rule_line(subject: &Subject<'_>, rule: &CheckedRule) -> RuleLine {
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
                cell: rate_cell(subject, row),
            })
        })
        .collect();
    let mut reasons: BTreeMap<&str, u64> = BTreeMap::new();
    let (mut approaches, mut evaluable) = (0_u64, 0_u64);
    for row in subject
        .rows
        .measurements
        .iter()
        .filter(|row| row.rule == rule.id)
    {
        approaches += 1;
        if let (Some(reason), true) = (&row.reason, row.status != "event") {
            *reasons.entry(reason).or_default() += 1;
        } else {
            evaluable += 1;
        }
    }
    let mut not_evaluable: Vec<ReasonLine> = reasons
        .into_iter()
        .map(|(reason, approaches)| ReasonLine {
            reason: reason.to_owned(),
            approaches: Some(approaches),
        })
        .collect();
    not_evaluable.sort_by(|a, b| {
        b.approaches
            .cmp(&a.approaches)
            .then(a.reason.cmp(&b.reason))
    });
    #[allow(clippy::cast_precision_loss)] // counts of approaches
    let share = (approaches > 0).then(|| evaluable as f64 / approaches as f64);
    RuleLine {
        id: rule.id.clone(),
        title: rule.title.clone(),
        family: rule.family.clone(),
        why: rule.why.clone(),
        source: rule.source.clone(),
        version: rule.version,
        limits_status: match (
            rule.limits.is_empty() && rule.levels.is_empty(),
            subject.builtin_pack,
        ) {
            (true, _) => LimitsStatus::NoLimits,
            (false, true) => LimitsStatus::Invented,
            (false, false) => LimitsStatus::Operator,
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

fn trend(subject: &Subject<'_>, rule: &CheckedRule) -> RuleTrend {
    let points = subject
        .summary
        .trend_monthly
        .iter()
        .filter(|row| {
            row.rule == rule.id && row.group_kind == FLEET && row.at_least_level == LEVELS[0].0
        })
        .map(|row| MonthPoint {
            month: row.month.clone(),
            cell: RateCell {
                evaluable: count(row.evaluable),
                approaches_with_event: count(row.approaches_with_event),
                rate_per_1000: row.rate_per_1000,
                ci_low: row.ci_low,
                ci_high: row.ci_high,
                suppressed: withheld(subject, row.suppressed.as_ref()),
            },
        })
        .collect();
    RuleTrend {
        rule_id: rule.id.clone(),
        title: rule.title.clone(),
        points,
        ..RuleTrend::default()
    }
}

fn airports(subject: &Subject<'_>, rule: &CheckedRule) -> RuleAirports {
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
            cell: RateCell {
                evaluable: count(row.evaluable),
                approaches_with_event: count(row.approaches_with_event),
                rate_per_1000: row.rate_per_1000,
                ci_low: row.ci_low,
                ci_high: row.ci_high,
                suppressed: withheld(subject, row.suppressed.as_ref()),
            },
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

/// The spread of a rule's deciding measure; none for rules that only say yes or no.
fn distribution(subject: &Subject<'_>, rule: &CheckedRule) -> Option<RuleDistribution> {
    let (measure, unit, event_side) = match &rule.shape {
        Shape::Gate { criteria, .. } => match criteria.as_slice() {
            [only] => {
                let side = match only.upper {
                    Some(_) => EventSide::Above,
                    None => EventSide::Below,
                };
                (only.value.sql.clone(), only.value.unit.name(), side)
            }
            _ => return None,
        },
        Shape::Outcome { .. } => return None,
        _ => {
            let worst = rule.worst()?;
            let side = match worst.kind {
                MeasureKind::Min => EventSide::Below,
                _ => EventSide::Above,
            };
            (
                worst.expression.sql.clone(),
                worst.expression.unit.name(),
                side,
            )
        }
    };
    let limits: Vec<f64> = rule.limits.values().copied().collect();
    let periods: Vec<PeriodQuantiles> = subject
        .summary
        .spreads
        .iter()
        .filter(|spread| spread.rule == rule.id)
        .map(|spread| {
            let at = |index: usize| spread.quantiles.map(|quantiles| quantiles[index]);
            PeriodQuantiles {
                label: spread.period.clone(),
                approaches: spread.approaches,
                p5: at(0),
                p25: at(1),
                p50: at(2),
                p75: at(3),
                p95: at(4),
                suppressed: spread
                    .quantiles
                    .is_none()
                    .then_some(Suppression::FewFlights {
                        minimum: subject.options.min_flights as u64,
                    }),
            }
        })
        .collect();
    (!periods.is_empty()).then(|| RuleDistribution {
        rule_id: rule.id.clone(),
        title: rule.title.clone(),
        measure,
        unit: unit.unwrap_or_default(),
        // One limit is where events begin; several belong to several levels.
        limit: match limits.as_slice() {
            [only] => Some(*only),
            _ => None,
        },
        event_side,
        periods,
    })
}

fn quality(subject: &Subject<'_>) -> Quality {
    let mut by_parameter: BTreeMap<&str, Vec<&records::rows::QualityRow>> = BTreeMap::new();
    for row in &subject.rows.quality {
        by_parameter.entry(&row.parameter).or_default().push(row);
    }
    let sum = |rows: &[&records::rows::QualityRow], of: fn(&records::rows::QualityRow) -> i64| {
        rows.iter()
            .map(|row| u64::try_from(of(row)).unwrap_or(0))
            .sum()
    };
    let parameters = by_parameter
        .into_iter()
        .map(|(parameter, rows)| ParameterQuality {
            parameter: parameter.to_owned(),
            flights_with: rows.len() as u64,
            flights: subject.rows.flights.len() as u64,
            median_coverage: median(rows.iter().map(|row| row.coverage).collect()),
            spikes: sum(&rows, |row| row.spikes),
            stuck_s: rows.iter().map(|row| row.stuck_s).sum(),
            gaps: sum(&rows, |row| row.gaps),
            out_of_range: sum(&rows, |row| row.out_of_range),
            stale: sum(&rows, |row| row.stale),
        })
        .collect();
    Quality {
        parameters,
        heights: count_lines(subject, |row| Some(&row.height_source)),
        notes: subject.fleet.notes.clone(),
    }
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    match (values.len(), values.len() % 2) {
        (0, _) => None,
        (_, 1) => Some(values[middle]),
        _ => Some(f64::midpoint(values[middle - 1], values[middle])),
    }
}
