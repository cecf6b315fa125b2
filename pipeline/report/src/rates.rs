//! Headline: one rate with its interval a rule, drawn and tabled.

use crate::cells::{self, CellView, drawn};
use crate::input::{Level, Precision, RuleLine};
use crate::scale::Scale;
use crate::svg::{Anchor, Svg, shortened};
use crate::words;
use serde::Serialize;

/// Coverage below which a rate stands on too small a part of the fleet; a convention, printed
/// with the figure.
pub(crate) const LOW_COVERAGE: f64 = 0.8;
/// The same in words.
pub(crate) const LOW_COVERAGE_WORDS: &str = "80 %";

const WIDTH: f64 = 720.0;
const ROW: f64 = 38.0;
const LEFT: f64 = 8.0;
const RIGHT: f64 = 708.0;
/// Every evaluable approach with an event: no true rate lies beyond, though the interval of a
/// very small number may.
const EVERY_APPROACH: f64 = 1000.0;

/// The headline section.
#[derive(Debug, Serialize)]
pub(crate) struct RatesView {
    rows: Vec<RateRow>,
    trial: Vec<RateRow>,
    picture: Option<String>,
    /// Whether people have looked at any event.
    looked_at: bool,
}

#[derive(Debug, Serialize)]
struct RateRow {
    anchor: String,
    title: String,
    cell: CellView,
    approaches: String,
    coverage: String,
    low_coverage: bool,
    levels: Vec<LevelView>,
    reasons: Vec<String>,
    precision: String,
}

/// Events of at least one level; the denominator is the rule's.
#[derive(Debug, Serialize)]
struct LevelView {
    /// Whether there are figures; otherwise the words stand alone.
    known: bool,
    with_event: String,
    rate: String,
    interval: String,
    words: String,
}

/// Builds the section.
pub(crate) fn build(rules: &[RuleLine]) -> RatesView {
    let rows = |trial: bool| {
        let numbered = rules.iter().enumerate();
        numbered
            .filter(|(_, rule)| rule.trial == trial)
            .map(row)
            .collect()
    };
    let core: Vec<RuleLine> = rules.iter().filter(|rule| !rule.trial).cloned().collect();
    RatesView {
        rows: rows(false),
        trial: rows(true),
        picture: picture(&core),
        looked_at: rules.iter().any(|rule| rule.precision.is_some()),
    }
}

/// Place of a rule in the rule list, for links: our own letters only.
pub(crate) fn anchor(index: usize) -> String {
    format!("rule-{}", index + 1)
}

fn row((index, rule): (usize, &RuleLine)) -> RateRow {
    let hidden = rule.cell.suppressed.is_some();
    RateRow {
        anchor: anchor(index),
        title: rule.title.clone(),
        cell: cells::view(&rule.cell),
        approaches: words::count(rule.approaches),
        coverage: match rule.coverage_share {
            Some(share) if !hidden => words::percent(share),
            _ => String::new(),
        },
        low_coverage: !hidden && rule.coverage_share.is_some_and(|s| s < LOW_COVERAGE),
        levels: [Level::Low, Level::Medium, Level::High]
            .map(|level| level_view(rule, level))
            .into(),
        reasons: if hidden { Vec::new() } else { reasons(rule) },
        precision: rule
            .precision
            .as_ref()
            .map_or_else(|| "none".to_owned(), precision),
    }
}

fn level_view(rule: &RuleLine, level: Level) -> LevelView {
    let line = rule.by_level.iter().find(|line| line.at_least == level);
    let cell = match line {
        // The rule's own reason comes first: its levels must not give it away.
        _ if drawn(&rule.cell).is_none() => cells::view(&rule.cell),
        Some(line) => cells::view(&line.cell),
        None => {
            return LevelView {
                known: false,
                with_event: String::new(),
                rate: String::new(),
                interval: String::new(),
                words: "level not used".to_owned(),
            };
        }
    };
    LevelView {
        known: cell.state == cells::State::Value,
        with_event: cell.with_event,
        rate: cell.rate,
        interval: cell.interval,
        words: cell.words,
    }
}

/// "12 of 14 stand (60.1 % to 96.0 %)".
fn precision(found: &Precision) -> String {
    match (&found.suppressed, found.looked_at, found.stands) {
        (Some(why), _, _) => words::suppression(why),
        (None, Some(looked_at), Some(stands)) => {
            let between = found.low.zip(found.high).map(|(low, high)| {
                format!(" ({} to {})", words::percent(low), words::percent(high))
            });
            format!(
                "{} of {} stand{}",
                words::count(stands),
                words::count(looked_at),
                between.unwrap_or_default()
            )
        }
        _ => words::NOT_KNOWN.to_owned(),
    }
}

/// "`flap_lever` not recorded (312 approaches)".
fn reasons(rule: &RuleLine) -> Vec<String> {
    rule.not_evaluable
        .iter()
        .map(|line| match line.approaches {
            Some(1) => format!("{} (1 approach)", line.reason),
            Some(n) => format!("{} ({} approaches)", line.reason, words::count(n)),
            None => line.reason.clone(),
        })
        .collect()
}

/// Dot and interval, one row a rule that has a rate; `None` if no rule has.
fn picture(rules: &[RuleLine]) -> Option<String> {
    let shown: Vec<_> = rules
        .iter()
        .filter_map(|rule| drawn(&rule.cell).map(|figures| (rule, figures)))
        .collect();
    if shown.is_empty() {
        return None;
    }
    let highest = shown
        .iter()
        .map(|(_, f)| f.interval.map_or(f.rate, |(_, high)| high.max(f.rate)))
        .fold(0.0, f64::max);
    let scale = Scale::root((highest * 1.02).min(EVERY_APPROACH), (LEFT, RIGHT));
    #[allow(clippy::cast_precision_loss)] // a few dozen rows
    let bottom = 6.0 + ROW * shown.len() as f64;
    let mut svg = Svg::new(WIDTH, bottom + 40.0);
    let ticks = scale.ticks(34.0);
    for tick in &ticks {
        let x = scale.place(*tick);
        svg.line((x, 4.0), (x, bottom), "grid");
        let label = words::limit(*tick);
        svg.text((x, bottom + 15.0), Anchor::Middle, "tick", &label);
    }
    svg.text(
        (RIGHT, bottom + 33.0),
        Anchor::End,
        "axis",
        "approaches with an event per 1,000 evaluable approaches (square-root scale)",
    );
    let mut description = String::new();
    let mut y = 6.0;
    for (rule, figures) in &shown {
        let cell = cells::view(&rule.cell);
        svg.text(
            (LEFT, y + 13.0),
            Anchor::Start,
            "label halo",
            &shortened(&rule.title, 64),
        );
        let value = format!("{} ({})", cell.rate, cell.interval);
        svg.text((RIGHT, y + 13.0), Anchor::End, "value halo", &value);
        let middle = y + 25.0;
        if let Some((low, high)) = figures.interval {
            let (from, to) = (scale.place(low), scale.place(high));
            svg.line((from, middle), (to, middle), "interval");
            svg.line((from, middle - 4.0), (from, middle + 4.0), "interval");
            if scale.is_beyond(high) {
                svg.arrow_right((to, middle), "arrow");
            } else {
                svg.line((to, middle - 4.0), (to, middle + 4.0), "interval");
            }
        }
        svg.circle((scale.place(figures.rate), middle), 4.5, "dot");
        description.push_str(&format!("{}: {}. ", rule.title, cell.line));
        y += ROW;
    }
    Some(svg.finish(
        "rates-picture",
        "Rate and 95 % interval by rule",
        description.trim_end(),
    ))
}
