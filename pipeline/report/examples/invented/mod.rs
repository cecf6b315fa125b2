//! An invented fleet: no airline, airport, type or figure here is real. The intervals are only
//! roughly what a statistician would give; the report draws what it is given.

mod against;
mod flown;
// Not every target that shares these makes the large one.
#[allow(dead_code)]
mod large;
mod places;
mod since;

use report::input::*;

#[allow(unused_imports)]
pub(crate) use large::large;

const RULES: [(&str, &str, &str, &str, f64, f64); 8] = [
    (
        "energy_excess_20nm",
        "Energy above the planned profile at 20 NM",
        "high-energy",
        "What is too high or too fast at 20 NM must be lost before the gate; here it still can be, without haste.",
        61.0,
        0.93,
    ),
    (
        "energy_excess_10nm",
        "Energy above the planned profile at 10 NM",
        "high-energy",
        "What is too high or too fast at 10 NM leaves drag as the only cure.",
        38.0,
        0.95,
    ),
    (
        "high_at_15nm",
        "Height above the rule of three at 15 NM",
        "high-energy",
        "300 ft per NM less 1,000 ft to slow down is 3,500 ft at 15 NM.",
        84.0,
        0.94,
    ),
    (
        "flap_limit_exceeded",
        "Airspeed above the limit of the flap position",
        "flap-limit",
        "Flap loads grow with the square of airspeed; the margin is smallest when heavy.",
        1.4,
        0.71,
    ),
    (
        "flap_selection_margin",
        "Small margin to the new limit when flap is selected",
        "flap-limit",
        "A lever moved close to its new limit leaves no room for a gust.",
        22.0,
        0.71,
    ),
    (
        "unstable_1000",
        "Not stabilised at 1,000 ft",
        "unstable-gate",
        "An approach that is not settled by the gate has no time left to be settled safely.",
        46.0,
        0.97,
    ),
    (
        "unstable_500",
        "Not stabilised at 500 ft",
        "unstable-gate",
        "Below the last gate nothing is left to repair.",
        9.5,
        0.98,
    ),
    (
        "unstable_and_landed",
        "Unstable at the governing gate and landed",
        "unstable-gate",
        "The decision that closes the gate is the go-around.",
        0.0,
        0.98,
    ),
];
const AIRPORTS: [(&str, u64, f64); 6] = [
    ("QAAR", 3120, 0.8),
    ("QBEL", 1490, 1.0),
    ("QCOV", 640, 2.3),
    ("QDUN", 410, 1.4),
    ("QEST", 64, 2.0),
    ("QFIR", 6, 1.0),
];
const MONTHS: i32 = 14;

/// Fourteen months, eight rules, six airports.
pub(crate) fn fleet() -> ReportInput {
    let months: Vec<String> = (0..MONTHS).filter(|m| volume(*m) > 0).map(month).collect();
    ReportInput {
        title: "Approach review".into(),
        identity: RunIdentity {
            fleet_title: "Invented fleet: Halcyon Regional".into(),
            version: "0.0.0".into(),
            review_month: months.last().cloned(),
            months,
            rule_pack_hash: "6f1c2a9be0d4437715a2".into(),
            config_hash: "b80d51e7c92f6a3348f1".into(),
            run_number: 14,
            min_flights: 10,
            settings: vec![
                setting("Rise worth a signal", "1.25 times the baseline"),
                setting("Error probability after correction (q), at most", "0.05"),
                setting(
                    "Hot spot",
                    "80 % sure to be above 1.5 times the fleet's rate",
                ),
                setting("Fewest evaluable approaches to rank an airport", "100"),
            ],
        },
        analysed: analysed(),
        rules: RULES.iter().map(rule).collect(),
        trend: RULES.iter().map(trend).collect(),
        hotspots: std::iter::once(places::family())
            .chain(RULES.iter().take(6).map(places::airports))
            .collect(),
        flown: flown::flown(),
        withheld: flown::withheld(),
        distributions: places::distributions(),
        topics: since::topics(),
        changes: since::changes(),
        second_look: SecondLook {
            listed: 41,
            looked_at: 27,
        },
        restated: since::restated(),
        against: Some(against::against()),
        recovery: since::recovery(),
        quality: places::quality(),
    }
}

fn setting(name: &str, value: &str) -> Setting {
    Setting {
        name: name.into(),
        value: value.into(),
    }
}

fn month(index: i32) -> String {
    let month = 2025 * 12 + index;
    format!("{}-{:02}", month / 12, month % 12 + 1)
}

fn line(label: &str, approaches: u64) -> CountLine {
    CountLine {
        label: label.into(),
        approaches: Some(approaches),
        suppressed: None,
    }
}

pub(crate) fn few() -> Option<Suppression> {
    Some(Suppression::FewFlights { minimum: 10 })
}

/// Rate and a rough interval for a share of `evaluable` approaches.
pub(crate) fn cell(evaluable: u64, per_1000: f64) -> RateCell {
    let n = evaluable as f64;
    let x = (per_1000 * n / 1000.0).round();
    let half = 1.96 * x.max(0.5).sqrt();
    RateCell {
        evaluable: Some(evaluable),
        approaches_with_event: Some(x as u64),
        rate_per_1000: Some(1000.0 * x / n),
        ci_low: Some(1000.0 * (x - half).max(0.0) / n),
        ci_high: Some(1000.0 * if x == 0.0 { 3.689 } else { x + half + 1.0 } / n),
        suppressed: None,
    }
}

fn analysed() -> Analysed {
    let mut by_airport: Vec<CountLine> = AIRPORTS.iter().map(|a| line(a.0, a.1)).collect();
    by_airport[5] = CountLine {
        label: "QFIR".into(),
        approaches: None,
        suppressed: few(),
    };
    by_airport[4] = CountLine {
        label: "QEST".into(),
        approaches: None,
        suppressed: Some(Suppression::Secondary),
    };
    Analysed {
        flights_received: 5796,
        flights_used: 5691,
        approaches: 5730,
        quarantined: vec![
            QuarantineLine {
                reason: "file truncated".into(),
                flights: 61,
            },
            QuarantineLine {
                reason: "same flight received twice".into(),
                flights: 32,
            },
            QuarantineLine {
                reason: "airspeed and altitude in unknown units".into(),
                flights: 12,
            },
        ],
        by_outcome: vec![
            line("landed", 5668),
            line("go-around", 47),
            line("record ends before", 15),
        ],
        by_aircraft_type: vec![line("Corvan C20", 4008), line("Tarn T7", 1722)],
        by_airport,
        by_month: by_month(),
    }
}

/// No flight in one month, too few to show in the next.
fn by_month() -> Vec<CountLine> {
    let lines = (0..MONTHS).filter(|m| volume(*m) > 0).map(|m| CountLine {
        suppressed: if volume(m) < 10 { few() } else { None },
        ..line(&month(m), volume(m))
    });
    lines.collect()
}

fn volume(month: i32) -> u64 {
    [
        402, 371, 420, 431, 455, 470, 498, 503, 451, 420, 0, 6, 640, 663,
    ][month as usize]
}

fn rule(
    &(id, title, family, why, rate, coverage): &(&str, &str, &str, &str, f64, f64),
) -> RuleLine {
    let evaluable = (5730.0 * coverage) as u64;
    let level = |at_least, share: f64| LevelLine {
        at_least,
        cell: cell(evaluable, rate * share),
    };
    RuleLine {
        id: id.into(),
        title: title.into(),
        family: family.into(),
        why: why.into(),
        source: "Common practice, no source; limits invented for the demo fleet.".into(),
        version: 1,
        trial: false,
        limits_status: LimitsStatus::Invented,
        limits: vec![LimitLine {
            name: "excess_ft".into(),
            value: 1000.0,
        }],
        approaches: 5730,
        coverage_share: Some(evaluable as f64 / 5730.0),
        cell: cell(evaluable, rate),
        by_level: vec![
            level(Level::Low, 1.0),
            level(Level::Medium, 0.4),
            level(Level::High, 0.09),
        ],
        not_evaluable: vec![ReasonLine {
            reason: "flap_lever not recorded".into(),
            approaches: Some(5730 - evaluable),
        }],
        precision: since::precision(id),
    }
}

fn trend(&(id, title, _, _, rate, coverage): &(&str, &str, &str, &str, f64, f64)) -> RuleTrend {
    let wobble = [
        0.9, 1.1, 0.8, 1.0, 1.2, 0.9, 1.0, 1.1, 0.95, 1.0, 1.0, 1.0, 1.3, 1.75,
    ];
    let points = (0..MONTHS).filter(|m| volume(*m) > 0).map(|m| {
        let evaluable = (volume(m) as f64 * coverage) as u64;
        let figures = match (m, id) {
            (11, _) => RateCell::hidden(Suppression::FewFlights { minimum: 10 }),
            (4, "flap_limit_exceeded") => RateCell {
                evaluable: Some(0),
                ..RateCell::default()
            },
            _ => cell(evaluable, rate * wobble[m as usize]),
        };
        MonthPoint {
            month: month(m),
            beyond_chart: (m == 13 && id == "unstable_1000").then(|| "above".into()),
            cell: figures,
        }
    });
    let risen = id == "unstable_1000";
    RuleTrend {
        rule_id: id.into(),
        title: title.into(),
        points: points.collect(),
        is_family: false,
        slope: (id == "energy_excess_10nm").then(|| SlopeCall {
            call: "rising".into(),
            pct_per_month: 2.4,
            low: 0.9,
            high: 3.9,
        }),
        near: (id == "flap_selection_margin").then(|| SlopeCall {
            call: "not called".into(),
            pct_per_month: 3.1,
            low: 0.2,
            high: 6.0,
        }),
        statement: Some("No trend shown (could be \u{2212}1.2 to +3.4 % per month).".into()),
        latest: Some(MonthTest {
            month: month(MONTHS - 1),
            baseline_months: 12,
            signal: if risen {
                Signal::Higher
            } else {
                Signal::NoSignal
            },
            baseline_rate_per_1000: Some(rate),
            season_controlled: Some(true),
            ratio: Some(if risen { 1.78 } else { 1.12 }),
            ratio_low: Some(if risen { 1.31 } else { 0.71 }),
            ratio_high: Some(if risen { 2.42 } else { 1.74 }),
            standardised_ratio: Some(if risen { 1.71 } else { 1.08 }),
            q_value: Some(if risen { 0.004 } else { 0.62 }),
            why_no_signal: (!risen).then(|| "q above 0.05".into()),
            detectable_rise_pct: Some(55.0),
        }),
        interventions: vec![Intervention {
            month: "2025-06".into(),
            text: "arrival path shortened at QCOV".into(),
        }],
    }
}
