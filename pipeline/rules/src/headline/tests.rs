//! What is known is told; what is not has its reason beside it.

use super::*;
use crate::summarise::{Conduct, CoverageRow, Energy, RateRow, Summary};

fn note(title: &str, trial: bool) -> RuleNote {
    RuleNote {
        title: title.into(),
        family: "gates".into(),
        topics: Vec::new(),
        trial,
    }
}

fn month(rule: &str) -> TrendRow {
    TrendRow {
        rule: Some(rule.into()),
        family: "gates".into(),
        at_least_level: "low".into(),
        month: "2026-02".into(),
        group_kind: "fleet".into(),
        group: "fleet".into(),
        evaluable: Some(100),
        approaches_with_event: Some(9),
        rate_per_1000: Some(90.0),
        ci_low: Some(41.153_73),
        ci_high: Some(170.849_123_4),
        phi: Some(1.0),
        baseline_rate: Some(60.0),
        baseline_evaluable: Some(1_000),
        baseline_approaches_with_event: Some(60),
        ratio: Some(1.5),
        ratio_low: Some(0.7),
        ratio_high: Some(3.0),
        p: Some(0.3),
        q: Some(0.4),
        why_no_signal: Some("not significant".into()),
        detectable_rise_pct: Some(120.0),
        ..TrendRow::default()
    }
}

fn rates(suppressed: Option<&str>) -> RateRow {
    RateRow {
        rule: Some("late".into()),
        rule_version: Some(1),
        family: "gates".into(),
        rule_status: "core".into(),
        at_least_level: "low".into(),
        group_kind: "fleet".into(),
        group: "fleet".into(),
        approaches: suppressed.is_none().then_some(1_250),
        in_scope: None,
        evaluable: None,
        approaches_with_event: None,
        events: None,
        events_edge: None,
        rate_per_1000: None,
        ci_low: None,
        ci_high: None,
        phi: None,
        limits_hash: String::new(),
        suppressed: suppressed.map(str::to_owned),
    }
}

fn coverage(share_of_scope: Option<f64>) -> CoverageRow {
    CoverageRow {
        rule: "late".into(),
        month: "2026-02".into(),
        group_kind: "fleet".into(),
        group: "fleet".into(),
        approaches: Some(110),
        in_scope: None,
        evaluable: None,
        // Of all approaches: not what is told.
        share: Some(0.5),
        share_of_scope,
        top_reasons: None,
        suppressed: None,
    }
}

/// The headline figures of these tables, of two rules, one of them on trial.
fn of(summary: &Summary, energy: &Energy) -> Headline {
    let rules = [("late", false), ("trial", true)];
    let rules: BTreeMap<String, RuleNote> = rules
        .iter()
        .map(|(id, trial)| ((*id).to_owned(), note("Late", *trial)))
        .collect();
    headline(&HeadlineInput {
        tables: &Summaries {
            examples: None,
            summary,
            energy,
            conduct: &Conduct::default(),
            losses: &[],
            robustness: &[],
            recovery: &[],
            restated: &[],
            against: &[],
        },
        rules: &rules,
        options: &SummaryOptions::default(),
        version: "1.2.3",
        run: 4,
        flights: Flights {
            received: 12,
            used: 10,
            quarantined: 2,
        },
        cautions: &["Look twice."],
    })
}

fn gate(rule: &str) -> Energy {
    Energy {
        gate_rule: Some(rule.to_owned()),
        ..Energy::default()
    }
}

#[test]
fn a_rule_is_told_with_its_month_and_what_is_on_trial_is_not() {
    let summary = Summary {
        rates: vec![rates(None)],
        trend_monthly: vec![month("late"), month("trial")],
        coverage: vec![coverage(Some(0.909_090_909))],
        ..Summary::default()
    };
    let told = of(&summary, &gate("late"));
    assert_eq!(
        (told.month.as_deref(), told.approaches),
        (Some("2026-02"), Some(1_250))
    );
    assert_eq!((told.why_no_approaches, told.rules.len()), (None, 1));
    let line = &told.rules[0];
    assert_eq!(
        (line.evaluable, line.approaches_with_event),
        (Some(100), Some(9))
    );
    assert_eq!(
        (line.ci_high, line.coverage_share),
        (Some(170.8491), Some(0.909_090_9))
    );
    assert_eq!((line.ratio, line.q), (Some(1.5), Some(0.4)));
    assert_eq!(line.why_no_signal.as_deref(), Some("not significant"));
    let reasons = [
        &line.why_no_rate,
        &line.why_no_baseline,
        &line.why_no_ratio,
        &line.why_no_coverage,
    ];
    assert_eq!(reasons, [&None; 4]);
    // Wilson's interval for 60 of 1,000 and for 9 of 100, by hand: z = 1.959964.
    let near = |value: Option<f64>, expected: f64| (value.unwrap() - expected).abs() < 1e-6;
    let share = &told.unstable.baseline;
    assert_eq!(
        (share.approaches, share.unstable, share.share),
        (Some(1_000), Some(60), Some(0.06))
    );
    let (z, n, p): (f64, f64, f64) = (1.959_963_985, 1_000.0, 0.06);
    let centre = p + z * z / (2.0 * n);
    let half = z * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt();
    assert!(
        near(share.ci_low, (centre - half) / (1.0 + z * z / n)),
        "{share:?}"
    );
    assert!(
        near(share.ci_high, (centre + half) / (1.0 + z * z / n)),
        "{share:?}"
    );
    assert_eq!(
        (told.unstable.month.share, &told.unstable.month.why),
        (Some(0.09), &None)
    );
}

#[test]
fn a_withheld_month_says_so_in_the_place_of_each_figure() {
    let hidden = TrendRow {
        evaluable: None,
        approaches_with_event: None,
        rate_per_1000: None,
        baseline_rate: None,
        baseline_evaluable: None,
        ratio: None,
        q: None,
        detectable_rise_pct: None,
        why_no_signal: Some("too few approaches".into()),
        suppressed: Some("too few flights".into()),
        ..month("late")
    };
    let summary = Summary {
        rates: vec![rates(Some("too few flights"))],
        trend_monthly: vec![hidden],
        coverage: vec![coverage(None)],
        ..Summary::default()
    };
    let told = of(&summary, &gate("late"));
    assert_eq!(told.why_no_approaches.as_deref(), Some("too few flights"));
    let line = &told.rules[0];
    assert_eq!(line.why_no_rate.as_deref(), Some("too few flights"));
    for why in [
        &line.why_no_baseline,
        &line.why_no_ratio,
        &line.why_no_detectable_rise,
    ] {
        assert_eq!(why.as_deref(), Some("too few approaches"));
    }
    assert!(line.why_no_coverage.is_some());
    assert_eq!(told.unstable.month.why.as_deref(), Some("too few flights"));
    assert_eq!(
        told.unstable.baseline.why.as_deref(),
        Some("too few approaches")
    );
    assert_eq!(told.suppressed_cells["trend_monthly"], 1);
    assert_eq!(
        (
            told.suppressed_cells["rates"],
            told.suppressed_cells["coverage"]
        ),
        (1, 0)
    );
}

#[test]
fn a_month_without_anything_evaluable_or_before_the_first_event_has_its_reasons() {
    let quiet = TrendRow {
        baseline_rate: Some(0.0),
        ratio: None,
        detectable_rise_pct: None,
        evaluable: Some(0),
        approaches_with_event: Some(0),
        rate_per_1000: None,
        ..month("late")
    };
    let summary = Summary {
        trend_monthly: vec![quiet],
        ..Summary::default()
    };
    let told = of(&summary, &gate("late"));
    let line = &told.rules[0];
    assert_eq!(line.why_no_rate.as_deref(), Some("nothing evaluable"));
    assert_eq!(
        line.why_no_ratio.as_deref(),
        Some("no event in the baseline")
    );
    assert_eq!(
        line.why_no_detectable_rise.as_deref(),
        Some("no event in the baseline")
    );
    assert_eq!((line.evaluable, &line.why_no_baseline), (Some(0), &None));
    assert_eq!(
        told.unstable.month.why.as_deref(),
        Some("nothing evaluable")
    );
}

#[test]
fn an_empty_review_explains_every_hole() {
    let told = of(&Summary::default(), &Energy::default());
    assert_eq!((&told.month, told.months.len()), (&None, 0));
    assert_eq!(
        told.why_no_approaches.as_deref(),
        Some("no rule judged an approach")
    );
    assert_eq!(told.rules[0].why_no_signal.as_deref(), Some(NO_MONTH));
    assert_eq!(
        told.unstable.month.why.as_deref(),
        Some("no rule has a gate at this height")
    );
    assert!(told.decisive_checkpoint.why.is_some());
    let text = serde_json::to_string(&told).unwrap();
    assert!(!text.contains("\"report\""), "{text}");
}
