//! Fleets made so that the answer is known.

use std::sync::LazyLock;

use records::rows::{ApproachRow, CheckpointRow, LeverMoveRow};

use super::super::facts::{Checkpoints, Gates, Measured, Moves, facts_of};
use super::*;
use crate::rows::{GateRow, MeasurementRow};

/// `flights` approaches over two months, the last `latest` of them in the second.
fn approaches(flights: usize, latest: usize) -> Vec<ApproachRow> {
    (0..flights)
        .map(|number| ApproachRow {
            approach_key: i64::try_from(number).unwrap(),
            flight_id: format!("f{number:05}"),
            approach_no: 1,
            aircraft_type: Some("type".to_owned()),
            airport: Some("ZAAA".to_owned()),
            runway: Some("09".to_owned()),
            month: Some(
                if number + latest < flights {
                    "2026-01"
                } else {
                    "2026-02"
                }
                .to_owned(),
            ),
            outcome: "landing".to_owned(),
            ..ApproachRow::default()
        })
        .collect()
}

/// Facts of no rows.
static NONE: LazyLock<(Checkpoints, Moves, Measured, Gates)> = LazyLock::new(Default::default);

fn input(approaches: &[ApproachRow]) -> EnergyInput<'_> {
    let (checkpoints, lever_moves, measured, gates) = &*NONE;
    EnergyInput {
        approaches,
        checkpoints,
        arrivals: &[],
        lever_moves,
        measured,
        gates,
    }
}

fn of<'a>(rows: &'a [SpreadRow], measure: &str, kind: &str, period: &str) -> &'a SpreadRow {
    rows.iter()
        .find(|row| row.measure == measure && row.group_kind == kind && row.period == period)
        .unwrap()
}

fn checkpoint(row: &ApproachRow, energy_excess_ft: Option<f64>) -> CheckpointRow {
    CheckpointRow {
        flight_id: row.flight_id.clone(),
        approach_no: 1,
        checkpoint: "10nm".to_owned(),
        energy_excess_ft,
        ..CheckpointRow::default()
    }
}

#[test]
fn a_quantity_has_the_quantiles_of_what_is_known() {
    let approaches = approaches(101, 50);
    // 0, 10, 20 … 1,000 ft, and one approach of which nothing is known.
    let checkpoints: Vec<CheckpointRow> = approaches
        .iter()
        .zip(0..)
        .map(|(row, number)| checkpoint(row, (number > 0).then(|| f64::from(number) * 10.0)))
        .collect();
    let input = EnergyInput {
        checkpoints: &facts_of(&approaches, &checkpoints),
        ..input(&approaches)
    };
    let rows = conduct(&input, None, &SummaryOptions::default()).spreads;
    let all = of(&rows, "energy_excess_ft", "fleet", "all");
    assert_eq!(all.at.as_deref(), Some("10nm"));
    assert_eq!(all.approaches, Some(100));
    // numpy.quantile(range(10, 1001, 10), [.05, .5, .95]), the default method.
    assert_eq!(all.p5.map(f64::round), Some(60.0));
    assert_eq!(all.median, Some(505.0));
    assert_eq!(all.p95.map(|p| (p * 10.0).round()), Some(9505.0));
    let latest = of(&rows, "energy_excess_ft", "airport", "latest");
    assert_eq!(latest.approaches, Some(50));
    assert!(latest.p25.is_some());
    assert_eq!(
        (latest.p5, latest.p95),
        (None, None),
        "two and a half approaches lie beyond"
    );
}

#[test]
fn a_small_month_takes_the_rest_with_it() {
    let approaches = approaches(60, 4);
    let checkpoints: Vec<CheckpointRow> = approaches
        .iter()
        .map(|row| checkpoint(row, Some(1.0)))
        .collect();
    let input = EnergyInput {
        checkpoints: &facts_of(&approaches, &checkpoints),
        ..input(&approaches)
    };
    let rows = conduct(&input, None, &SummaryOptions::default()).spreads;
    let fleet = |period| of(&rows, "energy_excess_ft", "fleet", period);
    assert!(fleet("all").suppressed.is_none());
    for period in ["latest", "before"] {
        assert!(fleet(period).suppressed.is_some(), "{period}");
        assert_eq!(
            (fleet(period).approaches, fleet(period).median),
            (None, None)
        );
    }
}

#[test]
fn the_margin_of_a_lever_is_the_least_of_the_approach() {
    let approaches = approaches(30, 15);
    let mut lever_moves = Vec::new();
    for row in &approaches {
        // Down, up and down again: faster the second time; what is taken in has no margin to speak of.
        for (from, to, margin_kt) in [(0.0, 1.0, 25.0), (1.0, 0.0, 2.0), (0.0, 1.0, 7.0)] {
            lever_moves.push(LeverMoveRow {
                flight_id: row.flight_id.clone(),
                approach_no: 1,
                channel: "flap_lever".to_owned(),
                from,
                to,
                margin_kt: Some(margin_kt),
                ..LeverMoveRow::default()
            });
        }
    }
    let input = EnergyInput {
        lever_moves: &facts_of(&approaches, &lever_moves),
        ..input(&approaches)
    };
    let rows = conduct(&input, None, &SummaryOptions::default()).spreads;
    assert!(rows.iter().all(|row| row.group_kind == "aircraft_type"));
    let all = of(&rows, "flap_margin_kt", "aircraft_type", "all");
    assert_eq!(all.at.as_deref(), Some("1"));
    assert_eq!((all.approaches, all.median), (Some(30), Some(7.0)));
}

fn gate(row: &ApproachRow, criterion: &str, passed: Option<bool>, held: Option<bool>) -> GateRow {
    GateRow {
        flight_id: row.flight_id.clone(),
        approach_no: 1,
        rule: "gate_500".to_owned(),
        gate_column: "height_aal_ft".to_owned(),
        gate_value: 500.0,
        gate_ft: Some(500.0),
        criterion: criterion.to_owned(),
        gate_s: None,
        value: None,
        lower: None,
        upper: None,
        applies: Some(true),
        robustness: None,
        passed,
        held_to_50ft: held,
    }
}

#[test]
fn a_criterion_fails_alone_or_with_others_and_the_unknown_does_not_count() {
    let approaches = approaches(40, 20);
    let mut gates = Vec::new();
    for (row, number) in approaches.iter().zip(0..) {
        // Speed fails on eight; on three of these sink fails too; sink is not known on ten others.
        gates.push(gate(row, "speed", Some(number >= 8), Some(number != 20)));
        let sink = (number < 30).then_some(number >= 3);
        gates.push(gate(row, "sink", sink, sink));
    }
    // Another rule that asks whether the same was held: told once.
    let held: Vec<GateRow> = gates
        .iter()
        .map(|row| GateRow {
            rule: "gate_500_held".to_owned(),
            ..row.clone()
        })
        .collect();
    gates.extend(held);
    let input = EnergyInput {
        gates: &facts_of(&approaches, &gates),
        ..input(&approaches)
    };
    let rows = conduct(&input, None, &SummaryOptions::default()).gate_criteria;
    assert!(rows.iter().all(|row| row.rule == "gate_500"));
    let all = |criterion: &str| {
        rows.iter()
            .find(|row| {
                row.criterion == criterion && row.group_kind == "fleet" && row.period == "all"
            })
            .unwrap()
    };
    let (speed, sink) = (all("speed"), all("sink"));
    assert_eq!((speed.approaches, speed.failed), (Some(40), Some(8)));
    assert_eq!(speed.failed_alone, Some(5));
    // Those that failed do not count as having left it later.
    assert_eq!(speed.left_later, Some(1));
    assert_eq!((sink.approaches, sink.failed), (Some(30), Some(3)));
    assert_eq!(sink.failed_alone, Some(0));
    // Wilson, 8 of 40: statsmodels.stats.proportion.proportion_confint(8, 40, method="wilson").
    let near = |value: Option<f64>, wanted: f64| (value.unwrap() - wanted).abs() < 1e-6;
    assert!(near(speed.ci_low, 0.104_999_9) && near(speed.ci_high, 0.347_573_1));
}

#[test]
fn what_followed_is_told_by_the_verdict_at_the_gate() {
    let mut approaches = approaches(100, 50);
    for (number, row) in approaches.iter_mut().enumerate() {
        row.outcome = match number {
            0..5 => "go_around",
            5 => "go_around_touched",
            6 => "touch_and_go",
            _ => "landing",
        }
        .to_owned();
    }
    approaches[99].flight_purpose = Some("training".to_owned());
    let measurements: Vec<MeasurementRow> = approaches
        .iter()
        .zip(0..)
        .map(|(row, number)| MeasurementRow {
            approach_key: row.approach_key,
            flight_id: row.flight_id.clone(),
            approach_no: 1,
            rule: "gate_500".to_owned(),
            rule_version: 1,
            status: match number {
                0..40 => "event",
                40..75 => "clear",
                _ => "not_evaluable",
            }
            .to_owned(),
            reason: None,
            level: None,
            events: 0,
            worst: None,
            worst_s: None,
            stabilised: None,
            stabilised_from: None,
            limits_hash: String::new(),
        })
        .collect();
    let input = EnergyInput {
        measured: &facts_of(&approaches, &measurements),
        ..input(&approaches)
    };
    let rows = conduct(&input, Some("gate_500"), &SummaryOptions::default()).go_arounds;
    let of = |verdict: &str| {
        rows.iter()
            .find(|row| row.at_gate == verdict && row.group_kind == "fleet")
            .unwrap()
    };
    let unstable = of("unstable");
    assert_eq!(unstable.approaches, Some(40));
    assert_eq!(
        (unstable.landed, unstable.went_around, unstable.neither),
        (Some(33), Some(6), Some(1))
    );
    // A touch-and-go was meant as one: it decides nothing.
    assert!((unstable.went_around_share.unwrap() - 6.0 / 39.0).abs() < 1e-12);
    assert_eq!(of("stable").went_around, Some(0));
    assert_eq!(
        of("not known").approaches,
        Some(24),
        "training counts nowhere"
    );
    assert!(
        conduct(&input, None, &SummaryOptions::default())
            .go_arounds
            .is_empty()
    );
}
