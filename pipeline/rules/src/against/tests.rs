//! Two made reviews each: what is new, gone, changed or as it was, and why.

use serde_json::json;

use super::*;
use crate::summarise::{BeforeAfterRow, HotspotRow, SlopeRow, TopicRow, TrendRow};

mod causes;
mod marks;
mod refused;

/// The tables of a review, owned.
#[derive(Debug, Clone, Default)]
struct Made {
    marks: Option<RunMarks>,
    trend_monthly: Vec<TrendRow>,
    trend_slope: Vec<SlopeRow>,
    hotspots: Vec<HotspotRow>,
    training_topics: Vec<TopicRow>,
    interventions: Vec<BeforeAfterRow>,
}

impl Made {
    fn tables(&self) -> Tables<'_> {
        Tables {
            trend_monthly: &self.trend_monthly,
            trend_slope: &self.trend_slope,
            hotspots: &self.hotspots,
            training_topics: &self.training_topics,
            interventions: &self.interventions,
        }
    }

    fn marks(&self) -> RunMarks {
        self.marks.clone().unwrap_or_else(|| run(&[]))
    }

    fn reviewed(&self) -> Reviewed {
        Reviewed::made("earlier", self.marks(), &self.tables())
    }

    /// The rows of `self` against `before`.
    fn against(&self, before: &Self) -> Vec<AgainstRow> {
        against(&before.reviewed(), &self.marks(), &self.tables()).unwrap()
    }
}

/// A rule in `run.json`.
fn rule(id: &str, hash: &str) -> serde_json::Value {
    json!({
        "id": id, "version": 1, "hash": hash, "status": "core", "family": "gates",
        "topics": ["settling"], "limits": {}, "overrides": [],
    })
}

/// Marks of a run with two rules of one family and one topic, and what is to be put over them.
fn run(more: &[(&str, serde_json::Value)]) -> RunMarks {
    let mut all = json!({
        "program": { "name": "glidetally", "version": "1.0.0" },
        "run": 7, "month": null, "rules_hash": "pack", "config_hash": "",
        "rules": [rule("steep", "a"), rule("late", "b")],
        "thresholds": {
            "min_flights": 10, "min_tail_days": 3, "confidence": 0.95, "governing_gate_ft": 500.0,
            "flags": {
                "q": 0.05, "ratio": 1.25, "min_events": 5.0, "trend_pct_per_month": 1.0,
                "min_coverage": 0.8, "max_coverage_move": 0.1, "hot_spot_ratio": 1.5,
                "hot_spot_probability": 0.8, "watch_probability": 0.95, "min_approaches": 100.0,
                "chart_from": "", "chart_months": 12,
            },
        },
    });
    for (place, value) in more {
        *all.pointer_mut(place).unwrap() = value.clone();
    }
    RunMarks::read(all.to_string().as_bytes()).unwrap()
}

/// A month of a rule at an airport, tested, with or without a signal.
fn month(rule: &str, month: &str, counts: (i64, i64), signal: Option<&str>) -> TrendRow {
    TrendRow {
        rule: Some(rule.into()),
        rule_version: Some(1),
        family: "gates".into(),
        rule_status: "core".into(),
        at_least_level: "low".into(),
        month: month.into(),
        group_kind: "airport".into(),
        group: "QCOV".into(),
        evaluable: Some(counts.0),
        approaches_with_event: Some(counts.1),
        rate_per_1000: Some(50.0),
        ratio: Some(2.0),
        p: Some(0.001),
        signal: signal.map(str::to_owned),
        why_no_signal: signal.is_none().then(|| "not significant".to_owned()),
        ..TrendRow::default()
    }
}

/// The same, withheld.
fn withheld(row: TrendRow) -> TrendRow {
    TrendRow {
        evaluable: None,
        approaches_with_event: None,
        rate_per_1000: None,
        ratio: None,
        p: None,
        signal: None,
        why_no_signal: Some("too few approaches".into()),
        suppressed: Some("too few flights".into()),
        ..row
    }
}

/// Two months of both rules: the earlier of two reviews, nothing flagged.
fn quiet() -> Made {
    Made {
        trend_monthly: vec![
            month("late", "2026-01", (100, 5), None),
            month("late", "2026-02", (110, 6), None),
            month("steep", "2026-01", (100, 4), None),
            month("steep", "2026-02", (110, 5), None),
        ],
        ..Made::default()
    }
}

/// A month more, in which one rule has a signal.
fn risen() -> Made {
    let mut made = quiet();
    let third = [
        month("late", "2026-03", (120, 30), Some("higher")),
        month("steep", "2026-03", (120, 6), None),
    ];
    made.trend_monthly.extend(third);
    made
}

fn place(rule: Option<&str>, airport: &str, class: &str) -> HotspotRow {
    let is_called = class != "not elevated";
    HotspotRow {
        airport: airport.into(),
        runway: None,
        rule: rule.map(str::to_owned),
        family: "gates".into(),
        rule_status: "core".into(),
        from_month: Some("2026-01".into()),
        to_month: Some("2026-02".into()),
        evaluable: Some(210),
        approaches_with_event: Some(30),
        rate_per_1000: Some(142.9),
        ci_low: Some(96.0),
        ci_high: Some(204.0),
        rate_of_all: Some(57.0),
        upper_tail_p: Some(1e-5),
        expected: Some(12.0),
        standardised_ratio: Some(2.5),
        shrunk_rate: None,
        shrunk_low_5pct: None,
        prob_above_fleet: None,
        prob_above_1_5x: None,
        class: Some(class.into()),
        why: (!is_called).then(|| "not probable enough".to_owned()),
        rank: Some(1),
        suppressed: None,
    }
}

fn topic(rank: Option<i64>) -> TopicRow {
    TopicRow {
        topic: "settling".into(),
        group_kind: "fleet".into(),
        group: "fleet".into(),
        from_month: None,
        to_month: Some("2026-02".into()),
        evidence_rules: None,
        evaluable: Some(210),
        approaches_with_event: Some(9),
        rate_per_1000: Some(42.9),
        ci_low: None,
        ci_high: None,
        shrunk_low_5pct: None,
        rank,
        change: None,
        why_no_change: None,
        ratio: None,
        ratio_low: None,
        ratio_high: None,
        q: None,
        detectable_rise_pct: None,
        decisive_checkpoint: None,
        airports: None,
        competencies: None,
        recurrent_topics: None,
        sentence: None,
        suppressed: None,
    }
}

/// A change for a type at an airport, compared, with or without a signal.
fn change(signal: Option<&str>) -> BeforeAfterRow {
    BeforeAfterRow {
        month: "2025-06".into(),
        what: "leaflet".into(),
        airport: Some("QCOV".into()),
        aircraft_type: Some("corvan-c20".into()),
        rule: Some("late".into()),
        family: "gates".into(),
        p: Some(0.01),
        signal: signal.map(str::to_owned),
        ..BeforeAfterRow::default()
    }
}
