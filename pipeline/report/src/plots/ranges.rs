//! Rows of quantiles: thin from 5 to 95 %, thick from 25 to 75 %, a stroke at the median.

use crate::input::PeriodQuantiles;
use crate::quantiles::{Known, known, missing};
use crate::scale::{Scale, tick_label};
use crate::svg::{Anchor, Svg, shortened};

const WIDTH: f64 = 720.0;
const LEFT: f64 = 204.0;
const RIGHT: f64 = 700.0;
const TOP: f64 = 22.0;
const ROW: f64 = 30.0;

/// What a picture of ranges says besides its rows.
#[derive(Debug)]
pub(crate) struct Frame<'a> {
    pub(crate) id: &'a str,
    pub(crate) title: &'a str,
    /// What is measured, with its unit.
    pub(crate) axis: &'a str,
    /// A value that means something, and what.
    pub(crate) mark: Option<(f64, String)>,
}

/// Draws the rows in the order given; `None` where none has figures.
pub(crate) fn draw(frame: &Frame<'_>, rows: &[(String, &PeriodQuantiles)]) -> Option<String> {
    let scale = scale(frame, rows)?;
    #[allow(clippy::cast_precision_loss)] // a few dozen rows
    let bottom = TOP + ROW * rows.len() as f64;
    let mut svg = Svg::new(WIDTH, bottom + 40.0);
    let ticks = scale.ticks(64.0);
    for tick in &ticks {
        let x = scale.place(*tick);
        svg.line((x, TOP), (x, bottom), "grid");
        let label = tick_label(*tick, &ticks);
        svg.text((x, bottom + 15.0), Anchor::Middle, "tick", &label);
    }
    let axis = shortened(frame.axis, 80);
    svg.text((RIGHT, bottom + 33.0), Anchor::End, "axis", &axis);
    if let Some((value, words)) = &frame.mark {
        let x = scale.place(*value);
        svg.line((x, TOP - 4.0), (x, bottom), "fleet");
        // Kept inside the picture at both edges.
        let anchor = if x > RIGHT - 90.0 {
            Anchor::End
        } else if x < LEFT + 90.0 {
            Anchor::Start
        } else {
            Anchor::Middle
        };
        svg.text((x, TOP - 9.0), anchor, "value", words);
    }
    let mut middle = TOP + ROW / 2.0;
    let mut description = String::new();
    for (label, period) in rows {
        let short = shortened(label, 28);
        svg.text((LEFT - 12.0, middle + 4.0), Anchor::End, "label", &short);
        match known(period) {
            Some(known) => {
                bar(&mut svg, &scale, middle, known);
                description.push_str(&format!("{label}: {}. ", known.words()));
            }
            None => {
                let words = missing(period);
                svg.text_on_blank((LEFT + 6.0, middle + 4.0), "axis", &words);
                description.push_str(&format!("{label}: {words}. "));
            }
        }
        middle += ROW;
    }
    Some(svg.finish(frame.id, frame.title, description.trim_end()))
}

/// Room for everything that is drawn, and a little more.
fn scale(frame: &Frame<'_>, rows: &[(String, &PeriodQuantiles)]) -> Option<Scale> {
    let drawn: Vec<(f64, f64)> = rows
        .iter()
        .filter_map(|(_, period)| known(period).map(Known::ends))
        .collect();
    if drawn.is_empty() {
        return None;
    }
    let marks = frame.mark.iter().map(|(value, _)| (*value, *value));
    let (low, high) = drawn
        .into_iter()
        .chain(marks)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), ends| {
            (low.min(ends.0), high.max(ends.1))
        });
    let margin = if high > low { (high - low) * 0.06 } else { 0.5 };
    Some(Scale::linear((low - margin, high + margin), (LEFT, RIGHT)))
}

fn bar(svg: &mut Svg, scale: &Scale, y: f64, known: Known) {
    if let Some((low, high)) = known.outer {
        svg.line((scale.place(low), y), (scale.place(high), y), "interval");
    }
    let (from, to) = (scale.place(known.middle.0), scale.place(known.middle.1));
    svg.rect((from, y - 6.0), (to - from, 12.0), "half");
    let x = scale.place(known.median);
    svg.line((x, y - 9.0), (x, y + 9.0), "median");
}
