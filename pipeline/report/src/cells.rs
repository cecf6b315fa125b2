//! A cell as the reader sees it: figures, or words in their place.

use crate::input::{CountLine, RateCell};
use crate::words;
use serde::Serialize;

/// Three ways to read a cell; the template asks which.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum State {
    Value,
    NotEvaluable,
    Suppressed,
}

/// A rate cell in words. Of a suppressed cell nothing but the reason is left.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct CellView {
    pub(crate) state: State,
    /// The reason, where the state is not `Value`.
    pub(crate) words: String,
    pub(crate) evaluable: String,
    pub(crate) with_event: String,
    pub(crate) rate: String,
    pub(crate) interval: String,
    /// All in one line, for pictures' descriptions and narrow places.
    pub(crate) line: String,
}

/// Figures to draw; `None` for a cell that has none to show.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Drawn {
    pub(crate) rate: f64,
    pub(crate) interval: Option<(f64, f64)>,
}

/// What of a cell may be drawn.
pub(crate) fn drawn(cell: &RateCell) -> Option<Drawn> {
    if cell.suppressed.is_some() || cell.evaluable == Some(0) {
        return None;
    }
    cell.rate_per_1000.map(|rate| Drawn {
        rate,
        interval: cell.ci_low.zip(cell.ci_high),
    })
}

/// Words for a cell.
pub(crate) fn view(cell: &RateCell) -> CellView {
    let blank = |state, words: String, evaluable: String| CellView {
        state,
        line: words.clone(),
        words,
        evaluable,
        with_event: String::new(),
        rate: String::new(),
        interval: String::new(),
    };
    if let Some(why) = &cell.suppressed {
        return blank(State::Suppressed, words::suppression(why), String::new());
    }
    let evaluable = words::count_or_unknown(cell.evaluable);
    let Some(figures) = drawn(cell) else {
        return blank(
            State::NotEvaluable,
            words::NOT_EVALUABLE.to_owned(),
            evaluable,
        );
    };
    let rate = words::rate(figures.rate);
    let interval = figures.interval.map_or_else(
        || words::NOT_ESTIMATED.to_owned(),
        |(low, high)| words::interval(low, high),
    );
    CellView {
        state: State::Value,
        words: String::new(),
        line: match figures.interval {
            Some(_) => format!("{rate} ({interval}), {evaluable} evaluable"),
            None => format!("{rate} (interval not estimated), {evaluable} evaluable"),
        },
        with_event: words::count_or_unknown(cell.approaches_with_event),
        evaluable,
        rate,
        interval,
    }
}

/// A counted line in words.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct CountView {
    pub(crate) label: String,
    pub(crate) count: String,
    /// Share of the total, where both are known and shown.
    pub(crate) share: String,
    pub(crate) known: bool,
}

/// Words for counted lines, each with its share of `total` approaches.
pub(crate) fn counts(lines: &[CountLine], total: u64) -> Vec<CountView> {
    lines
        .iter()
        .map(|line| {
            let shown = match &line.suppressed {
                Some(_) => None,
                None => line.approaches,
            };
            CountView {
                label: line.label.clone(),
                count: match &line.suppressed {
                    Some(why) => words::suppression(why),
                    None => words::count_or_unknown(line.approaches),
                },
                share: match shown {
                    #[allow(clippy::cast_precision_loss)] // counts stay far below 2^52
                    Some(n) if total > 0 => words::percent(n as f64 / total as f64),
                    _ => String::new(),
                },
                known: shown.is_some(),
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::Suppression;

    #[test]
    fn null_zero_and_suppressed_read_differently() {
        let zero = RateCell {
            evaluable: Some(120),
            approaches_with_event: Some(0),
            rate_per_1000: Some(0.0),
            ci_low: Some(0.0),
            ci_high: Some(30.7),
            suppressed: None,
        };
        assert_eq!(view(&zero).line, "0.0 (0.0 to 30.7), 120 evaluable");
        assert_eq!(view(&RateCell::default()).line, "not evaluable");
        let none = RateCell {
            evaluable: Some(0),
            rate_per_1000: Some(0.0),
            ..RateCell::default()
        };
        assert_eq!(view(&none).line, "not evaluable");
        assert_eq!(drawn(&none), None);
        let hidden = RateCell {
            suppressed: Some(Suppression::FewFlights { minimum: 10 }),
            ..zero
        };
        let seen = view(&hidden);
        assert_eq!(seen.line, "suppressed (fewer than 10 flights)");
        assert_eq!(seen.evaluable, "");
        assert_eq!(drawn(&hidden), None);
    }
}
