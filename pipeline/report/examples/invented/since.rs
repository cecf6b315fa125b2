//! Invented topics, changes, second looks and late data.

use report::input::*;

use crate::invented::{cell, few};

pub(crate) fn precision(rule: &str) -> Option<Precision> {
    match rule {
        "unstable_1000" => Some(Precision {
            looked_at: Some(24),
            stands: Some(21),
            low: Some(0.69),
            high: Some(0.957),
            suppressed: None,
        }),
        "flap_limit_exceeded" => Some(Precision {
            suppressed: few(),
            ..Precision::default()
        }),
        _ => None,
    }
}

pub(crate) fn topics() -> Vec<TopicLine> {
    vec![
        TopicLine {
            topic: "energy management".into(),
            rank: Some(2),
            cell: cell(4_810, 61.0),
            change: Signal::NoSignal,
            airports: vec!["QCOV".into()],
            competencies: vec!["FPM".into(), "SAW".into()],
            sentence: Some("Energy management: 293 of 4810 approaches of the fleet.".into()),
        },
        TopicLine {
            topic: "unstable approach".into(),
            rank: Some(1),
            cell: cell(5_200, 72.0),
            change: Signal::Higher,
            airports: Vec::new(),
            competencies: vec!["PSD".into()],
            sentence: Some("Unstable approach: 374 of 5200 approaches of the fleet.".into()),
        },
        TopicLine {
            topic: "go-around".into(),
            rank: None,
            cell: RateCell::hidden(Suppression::FewFlights { minimum: 10 }),
            change: Signal::NotTested,
            airports: vec!["QFIR".into()],
            competencies: Vec::new(),
            sentence: Some("never shown".into()),
        },
    ]
}

pub(crate) fn changes() -> Vec<ChangeLine> {
    let line = ChangeLine {
        change: "arrival path shortened (QCOV)".into(),
        month: "2025-06".into(),
        title: "Energy above the planned profile at 10 NM".into(),
        planned: true,
        counts_before: Some((64, 1675)),
        counts_after: Some((206, 3328)),
        before: Some(38.2),
        after: Some(61.9),
        ratio: Some(1.62),
        ratio_low: Some(1.2),
        ratio_high: Some(2.19),
        signal: Signal::Higher,
        why: None,
        detectable_rise_pct: Some(48.0),
        suppressed: None,
    };
    let none = ChangeLine {
        title: "Any rule of the family flap-limit".into(),
        planned: false,
        signal: Signal::NoSignal,
        why: Some("not significant".into()),
        ..line.clone()
    };
    let hidden = ChangeLine {
        title: "Not stabilised at 500 ft".into(),
        suppressed: few(),
        ..none.clone()
    };
    vec![line, none, hidden]
}

pub(crate) fn restated() -> Restated {
    let line = RestatedLine {
        month: "2025-12".into(),
        title: "Not stabilised at 1,000 ft".into(),
        evaluable: Some((402, 431)),
        with_event: Some((18, 21)),
        rate: (Some(44.8), Some(48.7)),
        cause: "late flights".into(),
        suppressed: None,
    };
    let hidden = RestatedLine {
        title: "Not stabilised at 500 ft".into(),
        suppressed: few(),
        ..line.clone()
    };
    Restated::Since {
        run: 11,
        month: Some("2026-01".into()),
        lines: vec![line, hidden],
    }
}

pub(crate) fn recovery() -> Vec<RecoveryLine> {
    let line = |month: &str, flown: u64, received: u64, usable: u64| RecoveryLine {
        month: month.into(),
        flown: Some(flown),
        received: Some(received),
        usable: Some(usable),
        share: Some(received as f64 / flown as f64),
        usable_share: Some(usable as f64 / flown as f64),
        note: None,
        suppressed: None,
    };
    vec![
        line("2026-01", 470, 452, 447),
        RecoveryLine {
            note: Some("more flights received than flown".into()),
            ..line("2026-02", 431, 440, 437)
        },
        RecoveryLine {
            month: "2026-03".into(),
            suppressed: few(),
            ..RecoveryLine::default()
        },
    ]
}
