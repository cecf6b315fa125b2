//! Rows of shares: a dot with its interval, and a second one beside it where two are compared.

use crate::input::ShareCell;
use crate::scale::{Scale, tick_label};
use crate::svg::{Anchor, Svg, shortened};
use crate::words;

const WIDTH: f64 = 720.0;
const LEFT: f64 = 204.0;
const RIGHT: f64 = 700.0;
const TOP: f64 = 10.0;
const ROW: f64 = 32.0;

/// One row.
#[derive(Debug)]
pub(crate) struct Row<'a> {
    pub(crate) label: String,
    pub(crate) share: &'a ShareCell,
    /// Drawn below the first, as a diamond.
    pub(crate) second: Option<&'a ShareCell>,
}

/// Draws the rows in the order given, in percent; `None` where none has figures. `axis` says what the share is
/// of, `second` what the diamonds are.
pub(crate) fn draw(
    id: &str,
    title: &str,
    axis: &str,
    second: &str,
    rows: &[Row<'_>],
) -> Option<String> {
    let all = rows
        .iter()
        .flat_map(|row| [Some(row.share), row.second])
        .flatten()
        .filter_map(drawn);
    // One small group must not flatten the others: what lies beyond is cut, with an arrow.
    let (mut points, mut ends) = (0.0_f64, Vec::new());
    for (share, _, high) in all {
        points = points.max(share);
        ends.push(high);
    }
    ends.sort_by(f64::total_cmp);
    let usual = *ends.get(ends.len() / 2)?;
    let top = ends
        .last()?
        .min((points * 2.0).max(usual * 1.5))
        .max(points * 1.05)
        .max(0.001);
    let scale = Scale::linear((0.0, 100.0 * top), (LEFT, RIGHT));
    #[allow(clippy::cast_precision_loss)] // a few dozen rows
    let bottom = TOP + ROW * rows.len() as f64;
    let mut svg = Svg::new(WIDTH, bottom + 40.0);
    let ticks = scale.ticks(60.0);
    for tick in &ticks {
        let x = scale.place(*tick);
        svg.line((x, TOP), (x, bottom), "grid");
        let label = tick_label(*tick, &ticks);
        svg.text((x, bottom + 15.0), Anchor::Middle, "tick", &label);
    }
    svg.text((RIGHT, bottom + 33.0), Anchor::End, "axis", axis);
    let mut description = String::new();
    let mut y = TOP + ROW / 2.0;
    for row in rows {
        let label = shortened(&row.label, 26);
        svg.text((LEFT - 12.0, y + 4.0), Anchor::End, "label", &label);
        description.push_str(&format!("{}: {}", row.label, in_words(row.share)));
        match drawn(row.share) {
            Some(figures) => {
                let middle = if row.second.is_some() { y - 4.0 } else { y };
                interval(&mut svg, &scale, middle, figures, "interval");
                let x = scale.place(100.0 * figures.0);
                svg.circle((x, middle), 4.5, "dot");
            }
            None => {
                let words = in_words(row.share);
                svg.text_on_blank((LEFT + 6.0, y + 4.0), "axis", &words);
            }
        }
        if let (Some(cell), Some(_)) = (row.second, drawn(row.share)) {
            description.push_str(&format!("; {second}: {}", in_words(cell)));
            if let Some(figures) = drawn(cell) {
                interval(&mut svg, &scale, y + 6.0, figures, "interval faint");
                let x = scale.place(100.0 * figures.0);
                svg.diamond((x, y + 6.0), 4.5, "shrunk");
            }
        }
        description.push_str(". ");
        y += ROW;
    }
    Some(svg.finish(id, title, description.trim_end()))
}

/// Share and both ends of its interval, where they may be drawn.
pub(crate) fn drawn(cell: &ShareCell) -> Option<(f64, f64, f64)> {
    if cell.suppressed.is_some() {
        return None;
    }
    Some((cell.share?, cell.low?, cell.high?))
}

/// "3.1 % (2.4 % to 4.0 %), 55 of 1,763", or why there is nothing.
pub(crate) fn in_words(cell: &ShareCell) -> String {
    if let Some(why) = &cell.suppressed {
        return words::suppression(why);
    }
    let Some((share, low, high)) = drawn(cell) else {
        return words::NOT_EVALUABLE.to_owned();
    };
    let mut text = format!(
        "{} ({} to {})",
        words::percent(share),
        words::percent(low),
        words::percent(high)
    );
    if let Some((part, whole)) = cell.part.zip(cell.approaches) {
        text.push_str(&format!(
            ", {} of {}",
            words::count(part),
            words::count(whole)
        ));
    }
    text
}

fn interval(svg: &mut Svg, scale: &Scale, y: f64, figures: (f64, f64, f64), class: &str) {
    let (from, to) = (
        scale.place(100.0 * figures.1),
        scale.place(100.0 * figures.2),
    );
    svg.line((from, y), (to, y), class);
    svg.line((from, y - 3.0), (from, y + 3.0), class);
    if scale.is_beyond(100.0 * figures.2) {
        svg.arrow_right((to, y), "arrow");
    } else {
        svg.line((to, y - 3.0), (to, y + 3.0), class);
    }
}
