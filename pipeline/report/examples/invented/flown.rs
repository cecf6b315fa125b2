//! How the invented fleet's approaches are flown.

use super::few;
use report::input::*;

fn quantiles(label: &str, approaches: u64, q: [f64; 5]) -> PeriodQuantiles {
    PeriodQuantiles {
        label: label.into(),
        approaches: Some(approaches),
        p5: Some(q[0]),
        p25: Some(q[1]),
        p50: Some(q[2]),
        p75: Some(q[3]),
        p95: Some(q[4]),
        suppressed: None,
    }
}

fn share(part: u64, approaches: u64) -> ShareCell {
    let (x, n) = (part as f64, approaches as f64);
    let half = 1.96 * (x.max(0.5)).sqrt() / n;
    ShareCell {
        approaches: Some(approaches),
        part: Some(part),
        share: Some(x / n),
        low: Some((x / n - half).max(0.0)),
        high: Some((x / n + half).min(1.0)),
        suppressed: None,
    }
}

fn hidden() -> ShareCell {
    ShareCell {
        suppressed: few(),
        ..ShareCell::default()
    }
}

pub(crate) fn flown() -> Flown {
    Flown {
        energy: vec![energy("whole fleet", 5600), energy("Tarn T7", 1700)],
        outcomes: outcomes(),
        decisive: decisive(),
        margins: margins(),
        gates: gates(),
        moments: moments(),
        decisions: decisions(),
        governing_gate: Some("unstable_500".into()),
        shortcuts: ["shortened", "usual", "extended"]
            .into_iter()
            .zip([(31, 410), (44, 3010), (2, 140)])
            .map(|(routing, (part, all))| ShortcutLine {
                routing: routing.into(),
                miles_taken_median_nm: Some(if routing == "shortened" { 3.4 } else { 0.0 }),
                energy_excess_10nm_median_ft: Some(210.0),
                held_speed_share: Some(0.31),
                unstable: share(part, all),
            })
            .collect(),
        recoverability: recoverability(),
    }
}

/// Wide far out, narrow close in; the type's outer quantiles rest on too few approaches close in.
fn energy(group: &str, approaches: u64) -> EnergyGroup {
    let at = [
        ("20nm", 900.0),
        ("15nm", 700.0),
        ("10nm", 450.0),
        ("7nm", 260.0),
        ("5nm", 180.0),
        ("4nm", 140.0),
        ("3nm", 110.0),
        ("1000ft", 100.0),
        ("500ft", 80.0),
    ];
    let checkpoints = at.into_iter().map(|(checkpoint, wide)| {
        let q = |shift: f64| [-0.8, -0.3, 0.05, 0.4, 1.0].map(|part: f64| (part + shift) * wide);
        let mut latest = quantiles("2026-02", approaches / 12, q(0.1));
        if group != "whole fleet" {
            (latest.p5, latest.p95) = (None, None);
        }
        EnergyCheckpoint {
            checkpoint: checkpoint.into(),
            all: quantiles("all months", approaches, q(0.0)),
            latest: Some(latest),
        }
    });
    EnergyGroup {
        group: group.into(),
        checkpoints: checkpoints.collect(),
    }
}

fn outcomes() -> Vec<OutcomeLine> {
    let line = |checkpoint: &str, class: &str, unstable| OutcomeLine {
        checkpoint: checkpoint.into(),
        class: class.into(),
        unstable,
    };
    vec![
        line("20nm", "on_profile", share(41, 3900)),
        line("20nm", "drag", share(22, 1400)),
        line("10nm", "on_profile", share(29, 4800)),
        line("10nm", "drag", share(18, 420)),
        line("10nm", "gear", share(14, 90)),
        line("5nm", "on_profile", share(21, 5200)),
        line("5nm", "gear", share(9, 40)),
        line("5nm", "beyond", hidden()),
    ]
}

fn decisive() -> Vec<DecisiveLine> {
    let line = |checkpoint: &str, auc: f64, decisive, why_not: Option<&str>| DecisiveLine {
        checkpoint: checkpoint.into(),
        approaches: Some(5600),
        unstable: Some(77),
        auc: Some(auc),
        low: Some(auc - 0.05),
        high: Some(auc + 0.05),
        decisive,
        tells_clearly: auc >= 0.65,
        why_not: why_not.map(Into::into),
        not_high_share: Some(0.4),
    };
    vec![
        line("20nm", 0.52, false, Some("tells no more than chance")),
        line("10nm", 0.74, true, None),
        line("5nm", 0.78, false, None),
        DecisiveLine {
            checkpoint: "1000ft".into(),
            why_not: Some("too few unstable or stable approaches".into()),
            ..DecisiveLine::default()
        },
    ]
}

fn margins() -> Vec<MarginLine> {
    let line = |aircraft_type: &str, lever: &str, margin| MarginLine {
        aircraft_type: aircraft_type.into(),
        lever: lever.into(),
        margin,
    };
    vec![
        line(
            "Corvan C20",
            "1",
            quantiles("all months", 3900, [4.0, 11.0, 17.0, 24.0, 36.0]),
        ),
        line(
            "Tarn T7",
            "1",
            quantiles("all months", 1650, [-1.5, 5.0, 9.0, 14.0, 22.0]),
        ),
        line(
            "Tarn T7",
            "2",
            PeriodQuantiles {
                suppressed: few(),
                ..PeriodQuantiles::default()
            },
        ),
    ]
}

fn gates() -> Vec<GateCriteria> {
    let line = |criterion: &str, part, latest| CriterionLine {
        criterion: criterion.into(),
        all: share(part, 5500),
        latest,
        alone: Some(part / 2),
        left_later: Some(7),
    };
    vec![GateCriteria {
        rule_id: "unstable_500".into(),
        title: "Not stabilised at 500 ft".into(),
        criteria: vec![
            line("speed", 35, share(5, 650)),
            line("glide_path", 12, share(0, 610)),
            line("flap", 4, hidden()),
        ],
    }]
}

fn moments() -> Vec<Moment> {
    let moment = |title: &str, measure: &str, unit: &str, q: [f64; 5]| Moment {
        title: title.into(),
        measure: measure.into(),
        unit: unit.into(),
        periods: vec![
            quantiles("2026-02", 640, q),
            quantiles("before 2026-02", 4900, q.map(|value| value * 1.02)),
        ],
    };
    vec![
        moment(
            "settled",
            "stabilised_height_ft",
            "ft",
            [840.0, 1320.0, 1610.0, 1900.0, 2380.0],
        ),
        moment(
            "first flap",
            "first_flap_nm",
            "NM",
            [9.1, 11.8, 13.6, 15.2, 18.9],
        ),
    ]
}

fn decisions() -> Vec<DecisionLine> {
    let line = |group: &str, at_gate: &str, landed: u64, around: u64| DecisionLine {
        group: group.into(),
        is_fleet: group == "whole fleet",
        at_gate: at_gate.into(),
        approaches: Some(landed + around),
        landed: Some(landed),
        neither: Some(0),
        went_around: share(around, landed + around),
    };
    vec![
        line("whole fleet", "unstable", 66, 11),
        line("whole fleet", "stable", 5490, 21),
        line("QAAR", "unstable", 31, 8),
        DecisionLine {
            group: "QBEL".into(),
            at_gate: "unstable".into(),
            went_around: hidden(),
            ..DecisionLine::default()
        },
    ]
}

fn recoverability() -> Vec<RecoverabilityLine> {
    let line = |drag: &str, stable, frontier_nm, limit: &str| RecoverabilityLine {
        aircraft_type: "Corvan C20".into(),
        mass: "below 0.95".into(),
        drag: drag.into(),
        excess: "300 to 700 ft".into(),
        stable,
        taken_nm: Some([6.1, 9.4, 13.0]),
        frontier_nm,
        limit: Some(limit.into()),
    };
    vec![
        line("flap", share(180, 192), Some(8.5), "frontier"),
        line("gear", share(44, 46), None, "worked throughout"),
        RecoverabilityLine {
            taken_nm: None,
            limit: None,
            ..line("speedbrake", hidden(), None, "")
        },
    ]
}

pub(crate) fn withheld() -> Vec<WithheldLine> {
    let line = |table: &str, rows, small, neighbours| WithheldLine {
        table: table.into(),
        rows,
        small,
        neighbours,
    };
    vec![
        line("trend_monthly", 9120, 2210, 804),
        line("hotspots", 240, 31, 6),
    ]
}
