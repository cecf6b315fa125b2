//! From the energy class at a checkpoint to the end of the approach, and which checkpoint tells it.

use super::{ShareView, checkpoint, class, share};
use crate::input::{DecisiveLine, OutcomeLine};
use crate::plots::shares;
use crate::scale::{Scale, tick_label};
use crate::svg::{Anchor, Svg};
use crate::words;
use serde::Serialize;
use std::collections::BTreeMap;

/// The part of the section.
#[derive(Debug, Serialize)]
pub(crate) struct OutcomesView {
    picture: Option<String>,
    /// Classes that occur, in words, from the lowest.
    classes: Vec<String>,
    rows: Vec<OutcomeRow>,
    decisive: Vec<DecisiveRow>,
    decisive_picture: Option<String>,
    sentence: String,
}

#[derive(Debug, Serialize)]
struct OutcomeRow {
    checkpoint: String,
    /// By class; none where no approach was in it.
    cells: Vec<Option<ShareView>>,
}

#[derive(Debug, Serialize)]
struct DecisiveRow {
    checkpoint: String,
    decisive: bool,
    approaches: String,
    unstable: String,
    auc: String,
    interval: String,
    remark: String,
}

/// Classes from the lowest energy to the highest.
const CLASSES: [&str; 6] = ["low", "on_profile", "clean", "drag", "gear", "beyond"];

/// Builds the part.
pub(crate) fn build(outcomes: &[OutcomeLine], decisive: &[DecisiveLine]) -> OutcomesView {
    let mut order: Vec<&str> = Vec::new();
    for line in outcomes {
        if !order.contains(&line.checkpoint.as_str()) {
            order.push(&line.checkpoint);
        }
    }
    let cells: BTreeMap<(&str, &str), &OutcomeLine> = outcomes
        .iter()
        .map(|line| ((line.checkpoint.as_str(), line.class.as_str()), line))
        .collect();
    let classes: Vec<&str> = CLASSES
        .into_iter()
        .filter(|class| outcomes.iter().any(|line| line.class == *class))
        .collect();
    OutcomesView {
        picture: picture(&order, &classes, &cells),
        rows: order
            .iter()
            .map(|at| OutcomeRow {
                checkpoint: checkpoint(at),
                cells: classes
                    .iter()
                    .map(|class| cells.get(&(*at, *class)).map(|line| share(&line.unstable)))
                    .collect(),
            })
            .collect(),
        classes: classes
            .into_iter()
            .map(|name| class(name).to_owned())
            .collect(),
        decisive: decisive.iter().map(decisive_row).collect(),
        decisive_picture: decisive_picture(decisive),
        sentence: sentence(decisive),
    }
}

/// What the checkpoints tell of the end.
pub(crate) fn sentence(decisive: &[DecisiveLine]) -> String {
    let found = decisive.iter().find(|line| line.decisive);
    match found.and_then(|line| Some((line, line.auc?, line.low?, line.high?))) {
        Some((line, auc, low, high)) => {
            let figures = format!(
                "an unstable approach stood in a higher class there than a stable one with probability {} (95 % \
                 interval {} to {}; 0.50 would be chance)",
                words::decimals(auc, 2),
                words::decimals(low, 2),
                words::decimals(high, 2),
            );
            let at = checkpoint(&line.checkpoint);
            let mut text = if !line.tells_clearly {
                format!("The energy on the way in hardly tells the end. Best from {at} on: {figures}.")
            } else {
                format!("The energy at {at} tells the end: {figures}; it is the earliest that tells about as much as any.")
            };
            let last = decisive.iter().rev().find_map(|line| Some((line, line.not_high_share?)));
            if let Some((last, share)) = last {
                text.push_str(&format!(
                    " Of the unstable ones {} had no excess at {}.",
                    words::percent(share),
                    checkpoint(&last.checkpoint)
                ));
            }
            text
        }
        None if decisive.is_empty() => {
            "Which checkpoint tells the end is not known: no gate stands at the governing height, or no energy \
             is known."
                .to_owned()
        }
        None => "No checkpoint tells the end better than chance, as far as these approaches can show."
            .to_owned(),
    }
}

fn decisive_row(line: &DecisiveLine) -> DecisiveRow {
    let number = |value: Option<f64>| {
        value.map_or_else(
            || words::NOT_ESTIMATED.to_owned(),
            |v| words::decimals(v, 2),
        )
    };
    DecisiveRow {
        checkpoint: checkpoint(&line.checkpoint),
        decisive: line.decisive,
        approaches: words::count_or_unknown(line.approaches),
        unstable: words::count_or_unknown(line.unstable),
        auc: number(line.auc),
        interval: match (line.low, line.high) {
            (Some(low), Some(high)) => {
                format!(
                    "{} to {}",
                    words::decimals(low, 2),
                    words::decimals(high, 2)
                )
            }
            _ => words::NOT_ESTIMATED.to_owned(),
        },
        remark: line.why_not.clone().unwrap_or_default(),
    }
}

const WIDTH: f64 = 720.0;
const PANEL: (f64, f64) = (350.0, 168.0);

/// One panel a class: the share that ended unstable, by checkpoint.
#[allow(clippy::cast_precision_loss)] // a few panels of nine columns
fn picture(
    order: &[&str],
    classes: &[&str],
    cells: &BTreeMap<(&str, &str), &OutcomeLine>,
) -> Option<String> {
    let known = cells
        .values()
        .filter_map(|line| shares::drawn(&line.unstable));
    let (mut shares_top, mut ends) = (0.0_f64, Vec::new());
    for (share, _, high) in known {
        shares_top = shares_top.max(share);
        ends.push(high);
    }
    ends.sort_by(f64::total_cmp);
    let usual = *ends.get(ends.len() / 2)?;
    let top = 100.0 * ends.last()?.min((shares_top * 1.5).max(usual * 2.0));
    let rows = classes.len().div_ceil(2);
    let mut svg = Svg::new(WIDTH, PANEL.1 * rows as f64 + 8.0);
    let mut description = String::new();
    for (index, name) in classes.iter().enumerate() {
        let corner = (
            (index % 2) as f64 * (WIDTH - PANEL.0),
            (index / 2) as f64 * PANEL.1,
        );
        let (left, right) = (corner.0 + 34.0, corner.0 + PANEL.0 - 8.0);
        let y = Scale::root(top, (corner.1 + PANEL.1 - 42.0, corner.1 + 30.0));
        svg.text((left, corner.1 + 16.0), Anchor::Start, "label", class(name));
        let ticks = y.ticks(26.0);
        for tick in &ticks {
            let at = y.place(*tick);
            svg.line((left, at), (right, at), "grid");
            let label = format!("{} %", words::limit(*tick));
            svg.text((left - 4.0, at + 4.0), Anchor::End, "tick", &label);
        }
        let step = (right - left) / order.len() as f64;
        description.push_str(&format!("{}: ", class(name)));
        for (column, at) in order.iter().enumerate() {
            let x = left + (column as f64 + 0.5) * step;
            let short = checkpoint(at).replace(" NM", "");
            // The two heights are long words: one above the other.
            let down = if *at == "500ft" { 12.0 } else { 0.0 };
            svg.text(
                (x, corner.1 + PANEL.1 - 26.0 + down),
                Anchor::Middle,
                "tick tiny",
                &short,
            );
            let Some(line) = cells.get(&(*at, *name)) else {
                continue;
            };
            description.push_str(&format!(
                "{} {}; ",
                checkpoint(at),
                shares::in_words(&line.unstable)
            ));
            match shares::drawn(&line.unstable) {
                Some((share, low, high)) => {
                    let (low, high) = (y.place(100.0 * low), y.place(100.0 * high));
                    svg.line((x, low), (x, high), "interval");
                    svg.circle((x, y.place(100.0 * share)), 4.0, "dot");
                }
                None => svg.text((x, y.place(0.0) - 4.0), Anchor::Middle, "letter", "s"),
            }
        }
    }
    Some(svg.finish(
        "outcomes",
        "Share that ended unstable, by checkpoint and energy class there",
        description.trim_end_matches("; "),
    ))
}

/// How well each checkpoint tells the end.
#[allow(clippy::cast_precision_loss)] // nine columns
fn decisive_picture(lines: &[DecisiveLine]) -> Option<String> {
    let known: Vec<(usize, f64, f64, f64)> = lines
        .iter()
        .enumerate()
        .filter_map(|(index, line)| Some((index, line.auc?, line.low?, line.high?)))
        .collect();
    let low = known.iter().map(|k| k.2).fold(0.5, f64::min);
    let high = known.iter().map(|k| k.3).fold(0.5, f64::max);
    if known.is_empty() {
        return None;
    }
    let (left, right, top, bottom) = (50.0, 708.0, 24.0, 150.0);
    let y = Scale::linear((low - 0.03, high + 0.03), (bottom, top));
    let mut svg = Svg::new(WIDTH, 190.0);
    svg.text(
        (4.0, 13.0),
        Anchor::Start,
        "axis",
        "probability that the unstable one of a pair stood higher",
    );
    let ticks = y.ticks(28.0);
    for tick in &ticks {
        svg.line((left, y.place(*tick)), (right, y.place(*tick)), "grid");
        let label = tick_label(*tick, &ticks);
        svg.text(
            (left - 7.0, y.place(*tick) + 4.0),
            Anchor::End,
            "tick",
            &label,
        );
    }
    svg.line((left, y.place(0.5)), (right, y.place(0.5)), "fleet");
    let chance = (left + 2.0, y.place(0.5) - 5.0);
    svg.text(chance, Anchor::Start, "tick halo", "chance");
    let step = (right - left) / lines.len() as f64;
    let mut description = String::new();
    for (index, auc, low, high) in known {
        let line = &lines[index];
        let x = left + (index as f64 + 0.5) * step;
        svg.line((x, y.place(low)), (x, y.place(high)), "interval");
        svg.circle((x, y.place(auc)), 4.5, "dot");
        if line.decisive {
            let at = (x + 8.0, y.place(auc) - 6.0);
            svg.text(at, Anchor::Start, "value halo", "earliest of the best");
        }
        description.push_str(&format!(
            "{}: {} ({} to {}){}. ",
            checkpoint(&line.checkpoint),
            words::decimals(auc, 2),
            words::decimals(low, 2),
            words::decimals(high, 2),
            if line.decisive {
                ", the earliest of the best"
            } else {
                ""
            }
        ));
    }
    for (index, line) in lines.iter().enumerate() {
        let x = left + (index as f64 + 0.5) * step;
        let name = checkpoint(&line.checkpoint);
        svg.text((x, bottom + 18.0), Anchor::Middle, "tick", &name);
    }
    Some(svg.finish(
        "decisive",
        "How well the energy class at each checkpoint tells an unstable end",
        description.trim_end(),
    ))
}
