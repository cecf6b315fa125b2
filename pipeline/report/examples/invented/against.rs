//! An invented comparison with the review before.

use report::input::*;

fn side(flag: &str, rate: f64) -> AgainstSide {
    AgainstSide {
        flag: Some(flag.into()),
        rate_per_1000: Some(rate),
        ..AgainstSide::default()
    }
}

fn none(why: &str) -> AgainstSide {
    AgainstSide {
        why_not: Some(why.into()),
        ..AgainstSide::default()
    }
}

pub(crate) fn against() -> Against {
    let new = AgainstLine {
        mark: AgainstMark::New,
        kind: AgainstKind::Month,
        title: "Not stabilised at 1,000 ft".into(),
        level: Some(Level::Low),
        group: "whole fleet".into(),
        before: none("not significant"),
        now: side("higher", 80.5),
        causes: vec![AgainstCause::Flying],
    };
    let gone = AgainstLine {
        mark: AgainstMark::Gone,
        kind: AgainstKind::Slope,
        level: Some(Level::High),
        group: "type tarn-t7".into(),
        before: AgainstSide {
            flag: Some("rising".into()),
            slope_pct_per_month: Some(4.24),
            ..AgainstSide::default()
        },
        now: none("withheld, too few flights"),
        causes: vec![AgainstCause::Data, AgainstCause::Flying],
        ..new.clone()
    };
    let place = AgainstLine {
        mark: AgainstMark::Changed,
        kind: AgainstKind::Place,
        title: "Energy above the planned profile at 10 NM".into(),
        level: None,
        group: "airport QCOV".into(),
        before: side("watch", 71.2),
        now: side("hot spot", 87.4),
        causes: vec![AgainstCause::Rules],
    };
    let topic = AgainstLine {
        kind: AgainstKind::Topic,
        title: "energy management".into(),
        group: "whole fleet".into(),
        before: side("rank 1", 66.0),
        now: side("rank 2", 61.0),
        causes: Vec::new(),
        ..place.clone()
    };
    Against {
        run: 11,
        month: Some("2026-01".into()),
        lines: vec![gone, place, topic, new],
        unchanged: 6,
        settings: vec![SettingChange {
            name: "hot_spot_ratio".into(),
            before: "2.0".into(),
            now: "1.5".into(),
        }],
    }
}
