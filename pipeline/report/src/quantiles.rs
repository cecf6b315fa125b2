//! Quantiles of a quantity as the reader sees them: figures, or words in their place.

use crate::input::PeriodQuantiles;
use crate::words;
use serde::Serialize;

/// Shown where an outer quantile would rest on a handful of approaches.
pub(crate) const TOO_FEW_BEYOND: &str = "–";

/// One line of a table of quantiles.
#[derive(Debug, Serialize)]
pub(crate) struct QuantileRow {
    pub(crate) label: String,
    approaches: String,
    /// Five quantiles, or none where there are no figures to show.
    quantiles: Vec<String>,
    words: String,
}

/// What may be drawn of a quantity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Known {
    /// 5 and 95 %, where enough approaches lie beyond.
    pub(crate) outer: Option<(f64, f64)>,
    /// 25 and 75 %.
    pub(crate) middle: (f64, f64),
    pub(crate) median: f64,
}

impl Known {
    /// Both ends of what is drawn.
    pub(crate) fn ends(self) -> (f64, f64) {
        self.outer.unwrap_or(self.middle)
    }

    /// "median 3.0, half of approaches 1.0 to 5.0, nine in ten 0.0 to 9.0".
    pub(crate) fn words(self) -> String {
        let of = |value: f64| words::measure(value);
        let mut text = format!(
            "median {}, half of approaches {} to {}",
            of(self.median),
            of(self.middle.0),
            of(self.middle.1)
        );
        if let Some((low, high)) = self.outer {
            text.push_str(&format!(", nine in ten {} to {}", of(low), of(high)));
        }
        text
    }
}

/// The quantiles, if they are there and may be shown.
pub(crate) fn known(period: &PeriodQuantiles) -> Option<Known> {
    if period.suppressed.is_some() || period.approaches == Some(0) {
        return None;
    }
    Some(Known {
        outer: period.p5.zip(period.p95),
        middle: (period.p25?, period.p75?),
        median: period.p50?,
    })
}

/// Why there is nothing to show.
pub(crate) fn missing(period: &PeriodQuantiles) -> String {
    match &period.suppressed {
        Some(why) => words::suppression(why),
        None => words::NOT_EVALUABLE.to_owned(),
    }
}

/// A line of a table, under a label of its own.
pub(crate) fn row(label: &str, period: &PeriodQuantiles) -> QuantileRow {
    let outer =
        |value: Option<f64>| value.map_or_else(|| TOO_FEW_BEYOND.to_owned(), words::measure);
    QuantileRow {
        label: label.to_owned(),
        approaches: if period.suppressed.is_some() {
            String::new()
        } else {
            words::count_or_unknown(period.approaches)
        },
        quantiles: known(period)
            .map(|known| {
                vec![
                    outer(known.outer.map(|outer| outer.0)),
                    words::measure(known.middle.0),
                    words::measure(known.median),
                    words::measure(known.middle.1),
                    outer(known.outer.map(|outer| outer.1)),
                ]
            })
            .unwrap_or_default(),
        words: missing(period),
    }
}
