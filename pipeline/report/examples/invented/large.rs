//! An invented fleet of a large airline: as many rules, airports and months as one asks for.

use super::{cell, few, fleet};
use report::input::*;

/// Enough to tell figures apart, and the same each time.
fn spread(seed: usize) -> f64 {
    let mixed = (seed as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    (mixed >> 40) as f64 / (1u64 << 24) as f64
}

fn month(index: usize) -> String {
    format!("{}-{:02}", 2023 + index / 12, index % 12 + 1)
}

/// The small invented fleet, with `rules` rules that have a rate at each of `airports` airports and in each of
/// `months` months.
pub(crate) fn large(rules: usize, airports: usize, months: usize) -> ReportInput {
    let small = fleet();
    let name = |rule: usize| {
        let of = &small.rules[rule % small.rules.len()];
        (
            format!("{}_{rule}", of.id),
            format!("{}, variant {rule}", of.title),
        )
    };
    let rate = |rule: usize| 2.0 + 80.0 * spread(rule);
    let rule_lines = (0..rules).map(|rule| {
        let (id, title) = name(rule);
        RuleLine {
            id,
            title,
            cell: cell(40_000, rate(rule)),
            approaches: 41_000,
            ..small.rules[rule % small.rules.len()].clone()
        }
    });
    let trends = (0..rules).map(|rule| {
        let (rule_id, title) = name(rule);
        let points = (0..months).map(|at| MonthPoint {
            month: month(at),
            beyond_chart: None,
            cell: match at {
                7 => RateCell::hidden(Suppression::FewFlights { minimum: 10 }),
                _ => cell(1_100, rate(rule) * (0.7 + 0.6 * spread(rule * 97 + at))),
            },
        });
        let of = &small.trend[rule % small.trend.len()];
        RuleTrend {
            rule_id,
            title,
            points: points.collect(),
            latest: of.latest.clone().map(|test| MonthTest {
                month: month(months - 1),
                ..test
            }),
            ..of.clone()
        }
    });
    let places = (0..rules).map(|rule| {
        let (rule_id, title) = name(rule);
        let lines = (0..airports).map(|place| line(rule, place, rate(rule)));
        RuleAirports {
            rule_id,
            title,
            rate_of_all_per_1000: Some(rate(rule)),
            is_family: false,
            airports: lines.collect(),
            funnel: Vec::new(),
        }
    });
    let families = small.hotspots.iter().filter(|of| of.is_family);
    let families = families.map(|of| RuleAirports {
        airports: (0..airports).map(|place| line(997, place, 52.0)).collect(),
        ..of.clone()
    });
    ReportInput {
        identity: RunIdentity {
            months: (0..months).map(month).collect(),
            review_month: Some(month(months - 1)),
            ..small.identity.clone()
        },
        rules: rule_lines.collect(),
        trend: trends.collect(),
        hotspots: families.chain(places).collect(),
        distributions: (0..rules)
            .map(|rule| {
                let (rule_id, title) = name(rule);
                RuleDistribution {
                    rule_id,
                    title,
                    ..small.distributions[rule % small.distributions.len()].clone()
                }
            })
            .collect(),
        ..small
    }
}

/// One rule at one airport: few of them stand out, some are too small to show.
fn line(rule: usize, place: usize, rate: f64) -> AirportLine {
    let draw = spread(rule * 61 + place * 7);
    let evaluable = 40 + (2_000.0 * spread(place)) as u64;
    let factor = 0.5 + draw;
    let class = if evaluable < 100 {
        HotspotClass::InsufficientData
    } else if draw > 0.997 {
        HotspotClass::HotSpot
    } else {
        HotspotClass::NotElevated
    };
    AirportLine {
        airport: format!("Q{place:03}"),
        cell: match draw < 0.04 {
            true => RateCell {
                suppressed: few(),
                ..RateCell::default()
            },
            false => cell(evaluable, rate * factor),
        },
        expected: Some(rate * evaluable as f64 / 1000.0),
        standardised_ratio: Some(factor),
        shrunk_rate_per_1000: Some(rate * (0.8 + 0.2 * factor)),
        shrunk_low_per_1000: Some(rate * (0.6 + 0.2 * factor)),
        prob_above_fleet: Some(draw),
        prob_above_hot_ratio: Some(draw * draw),
        upper_tail_p: Some(1.0 - draw),
        class,
        rank: (class != HotspotClass::InsufficientData).then_some(place as u32 + 1),
    }
}
