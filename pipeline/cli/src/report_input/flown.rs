//! How approaches are flown, as the report is given it.

use std::collections::BTreeMap;

use report::input::{
    CriterionLine, DecisionLine, DecisiveLine, EnergyCheckpoint, EnergyGroup, Flown, GateCriteria,
    MarginLine, Moment, OutcomeLine, PeriodQuantiles, RecoverabilityLine, ShareCell, ShortcutLine,
};
use rules::summarise::{CHECKPOINTS, CLEARLY_AUC, CriterionRow, RecoverabilityRow, SpreadRow};

use super::rule::suppression;
use super::spread::{ALL, BEFORE, LATEST, period_name, quantiles};
use super::{FLEET, Subject, count};

/// Everything of the whole fleet, and what the types are compared by.
pub(super) fn flown(subject: &Subject<'_>) -> Flown {
    Flown {
        energy: energy(subject),
        outcomes: outcomes(subject),
        decisive: decisive(subject),
        margins: margins(subject),
        gates: gates(subject),
        moments: moments(subject),
        decisions: decisions(subject),
        governing_gate: subject.energy.gate_rule.clone(),
        shortcuts: shortcuts(subject),
        recoverability: subject
            .energy
            .recoverability
            .iter()
            .map(|row| recoverability(subject, row))
            .collect(),
    }
}

/// The figures of a row with a share in it.
macro_rules! share {
    ($subject:expr, $row:expr, $approaches:expr, $part:expr, $share:expr) => {
        ShareCell {
            approaches: count($approaches),
            part: count($part),
            share: $share,
            low: $row.ci_low,
            high: $row.ci_high,
            suppressed: $row
                .suppressed
                .as_deref()
                .map(|why| suppression($subject, why)),
        }
    };
}

fn period(subject: &Subject<'_>, row: &SpreadRow) -> PeriodQuantiles {
    quantiles(subject, period_name(subject, &row.period), row)
}

/// The group in words.
fn group_name(kind: &str, name: &str) -> String {
    match kind {
        FLEET => "whole fleet".to_owned(),
        _ => name.to_owned(),
    }
}

/// Fleet and types, whose places come in the order in which they are flown.
fn energy(subject: &Subject<'_>) -> Vec<EnergyGroup> {
    let mut groups: BTreeMap<(bool, &str), Vec<&SpreadRow>> = BTreeMap::new();
    for row in &subject.conduct.spreads {
        if row.measure == "energy_excess_ft" && row.group_kind != "airport" {
            let key = (row.group_kind != FLEET, row.group.as_str());
            groups.entry(key).or_default().push(row);
        }
    }
    let one = |((is_type, name), rows): ((bool, &str), Vec<&SpreadRow>)| {
        let of = |checkpoint: &str, period: &str| {
            let mut rows = rows.iter();
            rows.find(|row| row.period == period && row.at.as_deref() == Some(checkpoint))
        };
        EnergyGroup {
            group: group_name(if is_type { "aircraft_type" } else { FLEET }, name),
            checkpoints: CHECKPOINTS
                .iter()
                .filter_map(|checkpoint| {
                    Some(EnergyCheckpoint {
                        checkpoint: (*checkpoint).to_owned(),
                        all: period(subject, of(checkpoint, ALL)?),
                        latest: of(checkpoint, LATEST).map(|row| period(subject, row)),
                    })
                })
                .collect(),
        }
    };
    groups.into_iter().map(one).collect()
}

fn outcomes(subject: &Subject<'_>) -> Vec<OutcomeLine> {
    let rows = subject.energy.outcomes.iter();
    rows.filter(|row| row.group_kind == FLEET && row.routing == "all")
        .map(|row| OutcomeLine {
            checkpoint: row.checkpoint.clone(),
            class: row.energy_class.clone(),
            unstable: share!(
                subject,
                row,
                row.approaches,
                row.unstable,
                row.unstable_share
            ),
        })
        .collect()
}

fn decisive(subject: &Subject<'_>) -> Vec<DecisiveLine> {
    let rows = subject.energy.decisive.iter();
    rows.filter(|row| row.group_kind == FLEET)
        .map(|row| DecisiveLine {
            checkpoint: row.checkpoint.clone(),
            approaches: count(row.approaches),
            unstable: count(row.unstable),
            auc: row.auc,
            low: row.auc_low,
            high: row.auc_high,
            decisive: row.decisive,
            tells_clearly: row.auc_low.is_some_and(|low| low >= CLEARLY_AUC),
            why_not: row.why_not.clone(),
            not_high_share: row.unstable_not_high_share,
        })
        .collect()
}

fn margins(subject: &Subject<'_>) -> Vec<MarginLine> {
    let rows = subject.conduct.spreads.iter();
    let mut lines: Vec<MarginLine> = rows
        .filter(|row| row.measure == "flap_margin_kt" && row.period == ALL)
        .map(|row| MarginLine {
            aircraft_type: row.group.clone(),
            lever: row.at.clone().unwrap_or_default(),
            margin: period(subject, row),
        })
        .collect();
    lines.sort_by(|a, b| {
        let lever = |line: &MarginLine| line.lever.parse::<i64>().unwrap_or(i64::MAX);
        (&a.aircraft_type, lever(a)).cmp(&(&b.aircraft_type, lever(b)))
    });
    lines
}

/// The gates from the highest, each with what failed over all months and in the latest.
fn gates(subject: &Subject<'_>) -> Vec<GateCriteria> {
    let mut gates: Vec<(&str, f64, Vec<&CriterionRow>)> = Vec::new();
    let fleet = subject.conduct.gate_criteria.iter();
    for row in fleet.filter(|row| row.group_kind == FLEET) {
        match gates.iter_mut().find(|(rule, _, _)| *rule == row.rule) {
            Some((_, _, rows)) => rows.push(row),
            None => gates.push((&row.rule, row.gate_ft.unwrap_or(0.0), vec![row])),
        }
    }
    gates.sort_by(|a, b| b.1.total_cmp(&a.1));
    let line = |all: &CriterionRow, rows: &[&CriterionRow]| {
        let failed =
            |row: &CriterionRow| share!(subject, row, row.approaches, row.failed, row.failed_share);
        let latest = rows
            .iter()
            .find(|row| row.criterion == all.criterion && row.period == LATEST);
        CriterionLine {
            criterion: all.criterion.clone(),
            all: failed(all),
            latest: latest.map(|row| failed(row)).unwrap_or_default(),
            alone: count(all.failed_alone),
            left_later: count(all.left_later),
        }
    };
    gates
        .into_iter()
        .map(|(rule, _, rows)| {
            let checked = subject.pack.iter().find(|checked| checked.id == rule);
            GateCriteria {
                rule_id: rule.to_owned(),
                title: checked.map_or(rule, |checked| &checked.title).to_owned(),
                criteria: rows
                    .iter()
                    .filter(|row| row.period == ALL)
                    .map(|row| line(row, &rows))
                    .collect(),
            }
        })
        .collect()
}

/// What is shown of when things were done: measure, words, unit.
const MOMENTS: [(&str, &str, &str); 5] = [
    ("stabilised_height_ft", "settled", "ft"),
    ("landing_flap_height_aal_ft", "landing flap", "ft"),
    ("gear_down_height_aal_ft", "gear down", "ft"),
    ("go_around_height_ft", "go-around", "ft"),
    ("first_flap_nm", "first flap", "NM"),
];

fn moments(subject: &Subject<'_>) -> Vec<Moment> {
    let fleet = |measure: &'static str, wanted: &'static str| {
        let mut rows = subject.conduct.spreads.iter();
        rows.find(|row| row.measure == measure && row.group_kind == FLEET && row.period == wanted)
    };
    let moments = MOMENTS.into_iter().map(|(measure, title, unit)| Moment {
        title: title.to_owned(),
        measure: measure.to_owned(),
        unit: unit.to_owned(),
        periods: [LATEST, BEFORE]
            .into_iter()
            .filter_map(|wanted| fleet(measure, wanted))
            .map(|row| period(subject, row))
            .collect(),
    });
    moments
        .filter(|moment| !moment.periods.is_empty())
        .collect()
}

/// The whole fleet by verdict; of the airports only what followed an unstable gate.
fn decisions(subject: &Subject<'_>) -> Vec<DecisionLine> {
    let rows = subject.conduct.go_arounds.iter();
    let wanted = rows.filter(|row| match row.group_kind.as_str() {
        FLEET => true,
        "airport" => row.at_gate == "unstable",
        _ => false,
    });
    let mut lines: Vec<DecisionLine> = wanted
        .map(|row| DecisionLine {
            group: group_name(&row.group_kind, &row.group),
            is_fleet: row.group_kind == FLEET,
            at_gate: row.at_gate.clone(),
            approaches: count(row.approaches),
            landed: count(row.landed),
            neither: count(row.neither),
            went_around: share!(
                subject,
                row,
                row.landed
                    .zip(row.went_around)
                    .map(|(landed, around)| landed + around),
                row.went_around,
                row.went_around_share
            ),
        })
        .collect();
    // What matters most stands first.
    let order = ["unstable", "stable", "not known"];
    lines.sort_by_key(|line| {
        (
            !line.is_fleet,
            order.iter().position(|verdict| *verdict == line.at_gate),
        )
    });
    lines
}

fn shortcuts(subject: &Subject<'_>) -> Vec<ShortcutLine> {
    let rows = subject.energy.shortcuts.iter();
    rows.filter(|row| row.airport.is_none())
        .map(|row| ShortcutLine {
            routing: row.routing.clone(),
            miles_taken_median_nm: row.miles_taken_median_nm,
            energy_excess_10nm_median_ft: row.energy_excess_10nm_median_ft,
            held_speed_share: row.held_speed_share,
            unstable: share!(
                subject,
                row,
                row.approaches,
                row.unstable,
                row.unstable_share
            ),
        })
        .collect()
}

fn recoverability(subject: &Subject<'_>, row: &RecoverabilityRow) -> RecoverabilityLine {
    RecoverabilityLine {
        aircraft_type: row.aircraft_type.clone(),
        mass: between(Some(row.mass_ratio_from), row.mass_ratio_to, 2, ""),
        drag: row.drag.clone(),
        excess: between(
            Some(row.energy_excess_from_ft),
            row.energy_excess_to_ft,
            0,
            " ft",
        ),
        stable: share!(subject, row, row.approaches, row.stable, row.stable_share),
        taken_nm: match (row.taken_p10_nm, row.taken_median_nm, row.taken_p90_nm) {
            (Some(low), Some(median), Some(high)) => Some([low, median, high]),
            _ => None,
        },
        frontier_nm: row.frontier_nm,
        limit: row.limit.clone(),
    }
}

/// "300 to 700 ft", "below 0.95", "from 1200 ft".
fn between(from: Option<f64>, to: Option<f64>, places: usize, unit: &str) -> String {
    let from = from.filter(|from| *from > 0.0);
    match (from, to) {
        (Some(from), Some(to)) => format!("{from:.places$} to {to:.places$}{unit}"),
        (None, Some(to)) => format!("below {to:.places$}{unit}"),
        (Some(from), None) => format!("from {from:.places$}{unit}"),
        (None, None) => "any".to_owned(),
    }
}
