//! The invented fleet's airports, measurements and data quality.

use super::{AIRPORTS, cell, few, line};
use report::input::*;

pub(crate) fn airports(
    &(id, title, _, _, rate, coverage): &(&str, &str, &str, &str, f64, f64),
) -> RuleAirports {
    let lines = AIRPORTS
        .iter()
        .enumerate()
        .map(|(index, &(airport, volume, factor))| {
            let evaluable = (volume as f64 * coverage) as u64;
            let enough = evaluable >= 100;
            let weight = evaluable as f64 / (evaluable as f64 + 300.0);
            let raw = cell(evaluable.max(1), rate * factor);
            AirportLine {
                airport: airport.into(),
                expected: Some(rate * evaluable as f64 / 1000.0),
                standardised_ratio: Some(factor),
                shrunk_rate_per_1000: Some(rate * (weight * factor + 1.0 - weight)),
                shrunk_low_per_1000: Some(rate * (weight * factor + 1.0 - weight) * 0.8),
                prob_above_fleet: Some(if factor > 1.2 { 0.97 } else { 0.2 }),
                prob_above_hot_ratio: Some(if factor > 2.0 { 0.91 } else { 0.1 }),
                upper_tail_p: Some(if factor >= 2.0 { 0.0004 } else { 0.3 }),
                class: match (enough, factor) {
                    (true, _) if raw.approaches_with_event < Some(3) => HotspotClass::NotElevated,
                    (false, _) => HotspotClass::InsufficientData,
                    (true, f) if f > 2.0 => HotspotClass::HotSpot,
                    (true, f) if f > 1.2 => HotspotClass::Watch,
                    _ => HotspotClass::NotElevated,
                },
                rank: enough.then_some([4, 3, 1, 2, 0, 0][index]),
                cell: if volume < 10 {
                    RateCell::hidden(Suppression::FewFlights { minimum: 10 })
                } else {
                    raw
                },
            }
        });
    RuleAirports {
        rule_id: id.into(),
        title: title.into(),
        rate_of_all_per_1000: Some(rate),
        is_family: false,
        funnel: Vec::new(),
        airports: lines.collect(),
    }
}

/// All airports under any rule of a family.
pub(crate) fn family() -> RuleAirports {
    let family = (
        "unstable-gate",
        "Any rule of the family unstable-gate",
        "",
        "",
        52.0,
        0.97,
    );
    let limits = |step: u32| {
        let expected = f64::from(step * step);
        let half = 1.96 / expected.sqrt();
        FunnelLimits {
            expected,
            low_95: (1.0 - half).max(0.0),
            high_95: 1.0 + half,
            low_998: (1.0 - 1.6 * half).max(0.0),
            high_998: 1.0 + 1.6 * half,
        }
    };
    RuleAirports {
        is_family: true,
        funnel: (1..15).map(limits).collect(),
        ..airports(&family)
    }
}

pub(crate) fn distributions() -> Vec<RuleDistribution> {
    let period = |label: &str, n, q: [f64; 5]| PeriodQuantiles {
        label: label.into(),
        approaches: Some(n),
        p5: Some(q[0]),
        p25: Some(q[1]),
        p50: Some(q[2]),
        p75: Some(q[3]),
        p95: Some(q[4]),
        suppressed: None,
    };
    vec![
        RuleDistribution {
            rule_id: "energy_excess_10nm".into(),
            title: "Energy above the planned profile at 10 NM".into(),
            measure: "energy above the plan".into(),
            unit: "ft".into(),
            limit: Some(800.0),
            event_side: EventSide::Above,
            periods: vec![
                period("latest month", 630, [-510.0, -120.0, 95.0, 330.0, 860.0]),
                period(
                    "twelve months before",
                    5010,
                    [-560.0, -190.0, 10.0, 240.0, 745.0],
                ),
            ],
        },
        RuleDistribution {
            rule_id: "flap_selection_margin".into(),
            title: "Small margin to the new limit when flap is selected".into(),
            measure: "smallest margin to the new limit".into(),
            unit: "kt".into(),
            limit: Some(5.0),
            event_side: EventSide::Below,
            periods: vec![
                period("latest month", 470, [3.1, 9.8, 14.2, 19.5, 27.0]),
                PeriodQuantiles {
                    label: "same month a year ago".into(),
                    suppressed: few(),
                    ..PeriodQuantiles::default()
                },
            ],
        },
    ]
}

pub(crate) fn quality() -> Quality {
    let parameter = |name: &str, with, coverage, spikes, stuck_s, gaps| ParameterQuality {
        parameter: name.into(),
        flights_with: with,
        flights: 5691,
        median_coverage: coverage,
        spikes,
        stuck_s,
        gaps,
        out_of_range: spikes / 7,
        stale: gaps * 3,
    };
    Quality {
        parameters: vec![
            parameter("cas_kt", 5691, Some(0.9996), 212, 0.0, 31),
            parameter("pressure_altitude_ft", 5691, Some(1.0), 48, 0.0, 9),
            parameter("radio_height_ft", 5602, Some(0.981), 1904, 322.0, 410),
            parameter("flap_lever", 4012, Some(0.998), 0, 0.0, 77),
            parameter("wind_speed_kt", 0, None, 0, 0.0, 0),
        ],
        heights: vec![
            line("radio height at the threshold", 5204),
            line("pressure with given QNH", 498),
            line("pressure, QNH unknown", 28),
        ],
        notes: vec![
            "QNH missing on 28 approaches: their heights were tied to the touchdown elevation."
                .into(),
            "Column `ENG_VIB_2` is in no parameter map and was left out.".into(),
        ],
    }
}
