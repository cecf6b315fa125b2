//! The spread of what every approach measured, event or not: it moves before the tail does.

use crate::input::{EventSide, PeriodQuantiles, RuleDistribution};
use crate::scale::{Scale, tick_label};
use crate::svg::{Anchor, Svg, shortened};
use crate::words;
use serde::Serialize;

const WIDTH: f64 = 720.0;
const LEFT: f64 = 190.0;
const RIGHT: f64 = 700.0;
const TOP: f64 = 22.0;
const ROW: f64 = 30.0;

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

#[derive(Debug, Serialize)]
struct QuantileRow {
    label: String,
    approaches: String,
    /// Five quantiles, or none where the period has no figures to show.
    quantiles: Vec<String>,
    words: String,
}

/// Builds the section.
pub(crate) fn build(spreads: &[RuleDistribution]) -> Vec<DistributionView> {
    let views = spreads
        .iter()
        .enumerate()
        .map(|(index, spread)| DistributionView {
            title: spread.title.clone(),
            measure: spread.measure.clone(),
            unit: spread.unit.clone(),
            limit: spread.limit.map_or_else(
                || "no single limit".to_owned(),
                |limit| limit_words(spread, limit),
            ),
            picture: picture(&format!("spread-{}", index + 1), spread),
            rows: spread.periods.iter().map(row).collect(),
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

/// The five quantiles, if all are there and may be shown.
fn known(period: &PeriodQuantiles) -> Option<[f64; 5]> {
    if period.suppressed.is_some() || period.approaches == Some(0) {
        return None;
    }
    Some([
        period.p5?,
        period.p25?,
        period.p50?,
        period.p75?,
        period.p95?,
    ])
}

fn row(period: &PeriodQuantiles) -> QuantileRow {
    let hidden = period.suppressed.is_some();
    QuantileRow {
        label: period.label.clone(),
        approaches: if hidden {
            String::new()
        } else {
            words::count_or_unknown(period.approaches)
        },
        quantiles: known(period)
            .map(|q| q.into_iter().map(words::measure).collect())
            .unwrap_or_default(),
        words: missing(period),
    }
}

fn missing(period: &PeriodQuantiles) -> String {
    match &period.suppressed {
        Some(why) => words::suppression(why),
        None => words::NOT_EVALUABLE.to_owned(),
    }
}

fn picture(id: &str, spread: &RuleDistribution) -> Option<String> {
    let all: Vec<f64> = spread.periods.iter().filter_map(known).flatten().collect();
    if all.is_empty() {
        return None;
    }
    let values = all.iter().chain(&spread.limit);
    let low = values.clone().copied().fold(f64::INFINITY, f64::min);
    let high = values.copied().fold(f64::NEG_INFINITY, f64::max);
    let margin = if high > low { (high - low) * 0.06 } else { 0.5 };
    let scale = Scale::linear((low - margin, high + margin), (LEFT, RIGHT));
    #[allow(clippy::cast_precision_loss)] // a few rows
    let bottom = TOP + ROW * spread.periods.len() as f64;
    let mut svg = Svg::new(WIDTH, bottom + 40.0);
    let ticks = scale.ticks(64.0);
    for tick in &ticks {
        let x = scale.place(*tick);
        svg.line((x, TOP), (x, bottom), "grid");
        svg.text(
            (x, bottom + 15.0),
            Anchor::Middle,
            "tick",
            &tick_label(*tick, &ticks),
        );
    }
    let axis = format!("{}, {}", spread.measure, spread.unit);
    svg.text(
        (RIGHT, bottom + 33.0),
        Anchor::End,
        "axis",
        &shortened(&axis, 80),
    );
    if let Some(limit) = spread.limit {
        let x = scale.place(limit);
        svg.line((x, TOP - 4.0), (x, bottom), "fleet");
        // Kept inside the picture at both edges.
        let anchor = if x > RIGHT - 90.0 {
            Anchor::End
        } else {
            Anchor::Middle
        };
        svg.text((x, TOP - 9.0), anchor, "value", &limit_words(spread, limit));
    }
    let mut middle = TOP + ROW / 2.0;
    let mut description = String::new();
    for period in &spread.periods {
        let label = shortened(&period.label, 26);
        svg.text((LEFT - 12.0, middle + 4.0), Anchor::End, "label", &label);
        match known(period) {
            Some(quantiles) => {
                bar(&mut svg, &scale, middle, quantiles);
                let q = quantiles.map(words::measure);
                description.push_str(&format!(
                    "{}: median {}, half of approaches {} to {}, nine in ten {} to {}. ",
                    period.label, q[2], q[1], q[3], q[0], q[4]
                ));
            }
            None => {
                let words = missing(period);
                svg.text_on_blank((LEFT + 6.0, middle + 4.0), "axis", &words);
                description.push_str(&format!("{}: {words}. ", period.label));
            }
        }
        middle += ROW;
    }
    Some(svg.finish(
        id,
        &format!("Spread of {}: {}", spread.measure, spread.title),
        description.trim_end(),
    ))
}

/// Thin from 5 to 95 %, thick from 25 to 75 %, a stroke at the median.
fn bar(svg: &mut Svg, scale: &Scale, y: f64, quantiles: [f64; 5]) {
    let [p5, p25, p50, p75, p95] = quantiles.map(|q| scale.place(q));
    svg.line((p5, y), (p95, y), "interval");
    svg.rect((p25, y - 6.0), (p75 - p25, 12.0), "half");
    svg.line((p50, y - 9.0), (p50, y + 9.0), "median");
}
