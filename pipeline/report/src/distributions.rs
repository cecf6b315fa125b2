//! The spread of what every approach measured, event or not: it moves before the tail does.

use crate::input::{EventSide, PeriodQuantiles, RuleDistribution};
use crate::plots::ranges::{self, Frame};
use crate::quantiles::{self, QuantileRow};
use crate::{pictures, words};
use serde::Serialize;

/// One rule's spread.
#[derive(Debug, Serialize)]
pub(crate) struct DistributionView {
    title: String,
    measure: String,
    unit: String,
    limit: String,
    picture: Option<String>,
    rows: Vec<QuantileRow>,
}

/// Builds the section.
pub(crate) fn build(spreads: &[RuleDistribution]) -> Vec<DistributionView> {
    let views = spreads.iter().map(|spread| DistributionView {
        title: spread.title.clone(),
        measure: spread.measure.clone(),
        unit: spread.unit.clone(),
        limit: spread.limit.map_or_else(
            || "no single limit".to_owned(),
            |limit| limit_words(spread, limit),
        ),
        picture: picture(&pictures::name("spread", &spread.rule_id), spread),
        rows: spread
            .periods
            .iter()
            .map(|period| quantiles::row(&period.label, period))
            .collect(),
    });
    views.collect()
}

/// "limit 5 kt, event below".
fn limit_words(spread: &RuleDistribution, limit: f64) -> String {
    let side = match spread.event_side {
        EventSide::Above => "above",
        EventSide::Below => "below",
    };
    format!(
        "limit {} {}, event {side}",
        words::limit(limit),
        spread.unit
    )
}

fn picture(id: &str, spread: &RuleDistribution) -> Option<String> {
    let rows: Vec<(String, &PeriodQuantiles)> = spread
        .periods
        .iter()
        .map(|period| (period.label.clone(), period))
        .collect();
    let frame = Frame {
        id,
        title: &format!("Spread of {}: {}", spread.measure, spread.title),
        axis: &format!("{}, {}", spread.measure, spread.unit),
        mark: spread
            .limit
            .map(|limit| (limit, limit_words(spread, limit))),
    };
    ranges::draw(&frame, &rows)
}
