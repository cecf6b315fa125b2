//! What routings take away and do, and how close in a drag still worked.

use super::{ShareView, share};
use crate::input::{Flown, RecoverabilityLine, ShortcutLine};
use crate::plots::shares::{self, Row};
use crate::scale::{Scale, tick_label};
use crate::svg::{Anchor, Svg, shortened};
use crate::words;
use serde::Serialize;

/// The part of the section.
#[derive(Debug, Serialize)]
pub(crate) struct LedgerView {
    shortcuts: Vec<ShortcutRow>,
    shortcuts_picture: Option<String>,
    recoverability: Vec<RecoverabilityRow>,
    recoverability_picture: Option<String>,
    /// Lines of which nothing may be shown.
    hidden: usize,
}

#[derive(Debug, Serialize)]
struct ShortcutRow {
    routing: String,
    miles: String,
    excess: String,
    held_speed: String,
    unstable: ShareView,
}

#[derive(Debug, Serialize)]
struct RecoverabilityRow {
    aircraft_type: String,
    mass: String,
    drag: String,
    excess: String,
    stable: ShareView,
    taken: String,
    frontier: String,
}

/// Builds the part.
pub(crate) fn build(flown: &Flown) -> LedgerView {
    let rows: Vec<Row<'_>> = flown
        .shortcuts
        .iter()
        .map(|line| Row {
            label: line.routing.clone(),
            share: &line.unstable,
            second: None,
        })
        .collect();
    let (shown, hidden): (Vec<&RecoverabilityLine>, Vec<&RecoverabilityLine>) = flown
        .recoverability
        .iter()
        .partition(|line| line.stable.suppressed.is_none());
    LedgerView {
        shortcuts: flown.shortcuts.iter().map(shortcut).collect(),
        shortcuts_picture: shares::draw(
            "shortcuts",
            "Share that ended unstable, by routing",
            "of the approaches with that routing, %",
            "",
            &rows,
        ),
        recoverability: shown.iter().map(|line| recoverability(line)).collect(),
        recoverability_picture: picture(&shown),
        hidden: hidden.len(),
    }
}

fn shortcut(line: &ShortcutLine) -> ShortcutRow {
    let number = |value: Option<f64>, places: usize| {
        value.map_or_else(
            || words::NOT_KNOWN.to_owned(),
            |v| words::decimals(v, places),
        )
    };
    ShortcutRow {
        routing: line.routing.clone(),
        miles: number(line.miles_taken_median_nm, 1),
        excess: number(line.energy_excess_10nm_median_ft, 0),
        held_speed: line
            .held_speed_share
            .map_or_else(|| words::NOT_KNOWN.to_owned(), words::percent),
        unstable: share(&line.unstable),
    }
}

fn recoverability(line: &RecoverabilityLine) -> RecoverabilityRow {
    let nm = |value: f64| words::decimals(value, 1);
    RecoverabilityRow {
        aircraft_type: line.aircraft_type.clone(),
        mass: line.mass.clone(),
        drag: line.drag.clone(),
        excess: line.excess.clone(),
        stable: share(&line.stable),
        taken: line.taken_nm.map_or_else(
            || words::NOT_KNOWN.to_owned(),
            |[low, median, high]| format!("{} ({} to {})", nm(median), nm(low), nm(high)),
        ),
        frontier: match (line.frontier_nm, line.limit.as_deref()) {
            (Some(frontier), _) => format!("{} NM", nm(frontier)),
            (None, Some(why)) => why.to_owned(),
            (None, None) => words::NOT_KNOWN.to_owned(),
        },
    }
}

const WIDTH: f64 = 720.0;
const LEFT: f64 = 312.0;
const RIGHT: f64 = 700.0;
const ROW: f64 = 26.0;
const TOP: f64 = 10.0;

/// Where each drag was taken, and from where out nine tenths were stable.
fn picture(lines: &[&RecoverabilityLine]) -> Option<String> {
    let drawn: Vec<(&RecoverabilityLine, [f64; 3])> = lines
        .iter()
        .filter_map(|line| line.taken_nm.map(|taken| (*line, taken)))
        .collect();
    let farthest = drawn
        .iter()
        .flat_map(|(line, taken)| [taken[2], line.frontier_nm.unwrap_or(0.0)])
        .fold(0.0, f64::max);
    if drawn.is_empty() {
        return None;
    }
    // The runway is on the right, as on the way in.
    let scale = Scale::linear((-farthest * 1.05, 0.0), (LEFT, RIGHT));
    #[allow(clippy::cast_precision_loss)] // a few dozen rows
    let bottom = TOP + ROW * drawn.len() as f64;
    let mut svg = Svg::new(WIDTH, bottom + 40.0);
    let ticks = scale.ticks(60.0);
    for tick in &ticks {
        let x = scale.place(*tick);
        svg.line((x, TOP), (x, bottom), "grid");
        let positive: Vec<f64> = ticks.iter().map(|tick| -tick).collect();
        let label = tick_label(-tick, &positive);
        svg.text((x, bottom + 15.0), Anchor::Middle, "tick", &label);
    }
    svg.text(
        (RIGHT, bottom + 33.0),
        Anchor::End,
        "axis",
        "NM to go when the drag was taken",
    );
    let mut y = TOP + ROW / 2.0;
    let mut description = String::new();
    for (line, [near, median, far]) in drawn {
        let label = format!(
            "{}, {}, {}, {}",
            line.aircraft_type, line.mass, line.drag, line.excess
        );
        svg.text(
            (LEFT - 10.0, y + 4.0),
            Anchor::End,
            "label",
            &shortened(&label, 42),
        );
        let (from, to) = (scale.place(-far), scale.place(-near));
        svg.rect((from, y - 4.0), (to - from, 8.0), "half");
        svg.line(
            (scale.place(-median), y - 7.0),
            (scale.place(-median), y + 7.0),
            "median",
        );
        if let Some(frontier) = line.frontier_nm {
            svg.diamond((scale.place(-frontier), y), 5.0, "shrunk");
        }
        let row = recoverability(line);
        description.push_str(&format!(
            "{label}: taken at {} NM, stable {}, frontier {}. ",
            row.taken,
            shares::in_words(&line.stable),
            row.frontier
        ));
        y += ROW;
    }
    Some(svg.finish(
        "recoverability",
        "Where each drag was taken, and from where out nine tenths were stable",
        description.trim_end(),
    ))
}
