//! A rule's months as a picture: rate with interval band above, evaluable approaches below.
//!
//! Months lie on the calendar. Where a month has no figure the line and the band stop and start
//! again: nothing is joined across what is not known.

use crate::cells::{self, Drawn, drawn};
use crate::input::RateCell;
use crate::months;
use crate::scale::{Scale, tick_label};
use crate::svg::{Anchor, Svg};

const WIDTH: f64 = 720.0;
const LEFT: f64 = 58.0;
const RIGHT: f64 = 706.0;
const TOP: f64 = 26.0;
const RATE_BOTTOM: f64 = 142.0;
const COUNT_TOP: f64 = 172.0;
const COUNT_BOTTOM: f64 = 206.0;
const HEIGHT: f64 = 240.0;
/// How many times above the highest rate, or above the usual upper end of the intervals, an
/// interval may rise before it is cut. One thin month must not flatten all others.
const HEADROOM: (f64, f64) = (2.0, 1.5);

/// A finished picture.
pub(super) struct Drawing {
    pub(super) svg: String,
    /// Whether an interval reaches beyond the picture.
    pub(super) cut: bool,
}

/// Draws months in calendar order; `None` where fewer than two of them have a figure.
pub(super) fn draw(
    id: &str,
    title: &str,
    points: &[(i32, &RateCell)],
    changes: &[i32],
) -> Option<Drawing> {
    let figures: Vec<(i32, Drawn)> = points
        .iter()
        .filter_map(|(month, cell)| drawn(cell).map(|figures| (*month, figures)))
        .collect();
    if figures.len() < 2 {
        return None;
    }
    let (first, last) = (points.first()?.0, points.last()?.0);
    let frame = Frame::new(first, last, &figures);
    let mut svg = Svg::new(WIDTH, HEIGHT);
    frame.bands(&mut svg, &figures);
    frame.axes(&mut svg);
    frame.month_labels(&mut svg);
    frame.changes(&mut svg, changes);
    frame.rates(&mut svg, &figures);
    frame.unknown(&mut svg, points);
    frame.counts(&mut svg, points);
    let description: Vec<String> = points
        .iter()
        .map(|(month, cell)| {
            format!(
                "{} {}: {}",
                months::short_name(*month),
                months::year(*month),
                cells::view(cell).line
            )
        })
        .collect();
    Some(Drawing {
        svg: svg.finish(
            id,
            &format!("Rate by month: {title}"),
            &description.join("; "),
        ),
        cut: frame.cut,
    })
}

struct Frame {
    first: i32,
    last: i32,
    step: f64,
    rate: Scale,
    cut: bool,
}

impl Frame {
    fn new(first: i32, last: i32, figures: &[(i32, Drawn)]) -> Self {
        let top_rate = figures.iter().map(|(_, f)| f.rate).fold(0.0, f64::max);
        let mut ends: Vec<f64> = figures
            .iter()
            .filter_map(|(_, f)| f.interval)
            .map(|(_, high)| high)
            .collect();
        ends.sort_by(f64::total_cmp);
        let usual = ends.get(ends.len() / 2).copied().unwrap_or(0.0);
        let top_interval = ends.last().copied().unwrap_or(0.0).max(top_rate);
        let allowed = (top_rate * HEADROOM.0).max(usual * HEADROOM.1);
        Self {
            first,
            last,
            step: (RIGHT - LEFT) / f64::from(last - first + 1),
            rate: Scale::linear((0.0, top_interval.min(allowed)), (RATE_BOTTOM, TOP)),
            cut: top_interval > allowed,
        }
    }

    /// Middle of a month's column.
    fn x(&self, month: i32) -> f64 {
        LEFT + (f64::from(month - self.first) + 0.5) * self.step
    }

    fn axes(&self, svg: &mut Svg) {
        svg.text(
            (4.0, 13.0),
            Anchor::Start,
            "axis",
            "per 1,000 evaluable approaches",
        );
        svg.text(
            (4.0, COUNT_TOP - 9.0),
            Anchor::Start,
            "axis",
            "evaluable approaches",
        );
        let ticks = self.rate.ticks(22.0);
        for tick in &ticks {
            let y = self.rate.place(*tick);
            svg.line((LEFT, y), (RIGHT, y), "grid");
            let label = tick_label(*tick, &ticks);
            svg.text((LEFT - 7.0, y + 4.0), Anchor::End, "tick", &label);
        }
    }

    fn month_labels(&self, svg: &mut Svg) {
        #[allow(clippy::cast_possible_truncation)] // a small whole number
        let every = (34.0 / self.step).ceil() as i32;
        let mut year = None;
        for month in self.first..=self.last {
            // From the end, so that the month under review always has its label.
            if (self.last - month) % every != 0 {
                continue;
            }
            let x = self.x(month);
            svg.text(
                (x, COUNT_BOTTOM + 15.0),
                Anchor::Middle,
                "tick",
                months::short_name(month),
            );
            if year != Some(months::year(month)) {
                year = Some(months::year(month));
                let text = months::year(month).to_string();
                svg.text((x, COUNT_BOTTOM + 29.0), Anchor::Middle, "tick", &text);
            }
        }
    }

    /// Numbered dashed lines at the start of the month something was changed in.
    fn changes(&self, svg: &mut Svg, changes: &[i32]) {
        for (index, month) in changes.iter().enumerate() {
            if (self.first..=self.last).contains(month) {
                let x = self.x(*month) - self.step / 2.0;
                svg.line((x, TOP - 6.0), (x, COUNT_BOTTOM), "change");
                let number = (index + 1).to_string();
                svg.text((x + 3.0, TOP + 3.0), Anchor::Start, "value halo", &number);
            }
        }
    }

    fn bands(&self, svg: &mut Svg, figures: &[(i32, Drawn)]) {
        for run in figures.chunk_by(|a, b| b.0 == a.0 + 1) {
            self.band(svg, run);
        }
    }

    fn rates(&self, svg: &mut Svg, figures: &[(i32, Drawn)]) {
        for run in figures.chunk_by(|a, b| b.0 == a.0 + 1) {
            let line: Vec<_> = run
                .iter()
                .map(|(month, f)| (self.x(*month), self.rate.place(f.rate)))
                .collect();
            if line.len() > 1 {
                svg.polyline(&line, "rate");
            }
            for at in line {
                svg.circle(at, 3.5, "dot");
            }
        }
    }

    /// The interval of neighbouring months as a band, of a month on its own as a bar.
    fn band(&self, svg: &mut Svg, run: &[(i32, Drawn)]) {
        for part in run.chunk_by(|a, b| a.1.interval.is_some() == b.1.interval.is_some()) {
            let ends: Vec<_> = part
                .iter()
                .filter_map(|(month, f)| f.interval.map(|(low, high)| (self.x(*month), low, high)))
                .collect();
            if let [(x, low, high)] = ends[..] {
                let top = self.rate.place(high);
                let size = (10.0, self.rate.place(low) - top);
                svg.rect((x - 5.0, top), size, "band");
            } else if !ends.is_empty() {
                let upper = ends.iter().map(|(x, _, high)| (*x, self.rate.place(*high)));
                let lower = ends
                    .iter()
                    .rev()
                    .map(|(x, low, _)| (*x, self.rate.place(*low)));
                svg.polygon(&upper.chain(lower).collect::<Vec<_>>(), "band");
            }
        }
    }

    /// A letter where a month has no figure to show; months without a point stay blank.
    fn unknown(&self, svg: &mut Svg, points: &[(i32, &RateCell)]) {
        for (month, cell) in points {
            let letter = match cells::view(cell).state {
                cells::State::Value => continue,
                cells::State::NotEvaluable => "n",
                cells::State::Suppressed => "s",
            };
            svg.text(
                (self.x(*month), RATE_BOTTOM - 5.0),
                Anchor::Middle,
                "letter",
                letter,
            );
        }
    }

    #[allow(clippy::cast_precision_loss)] // counts stay far below 2^52
    fn counts(&self, svg: &mut Svg, points: &[(i32, &RateCell)]) {
        let shown = |cell: &RateCell| match cell.suppressed {
            Some(_) => None,
            None => cell.evaluable,
        };
        let most = points.iter().filter_map(|(_, cell)| shown(cell)).max();
        let most = most.unwrap_or(0);
        let scale = Scale::linear((0.0, most as f64), (COUNT_BOTTOM, COUNT_TOP));
        for (month, cell) in points {
            if let Some(n) = shown(cell) {
                let top = scale.place(n as f64);
                let width = (self.step * 0.6).min(26.0);
                let corner = (self.x(*month) - width / 2.0, top);
                svg.rect(corner, (width, COUNT_BOTTOM - top), "bar");
            }
        }
        svg.line((LEFT, COUNT_BOTTOM), (RIGHT, COUNT_BOTTOM), "base");
        svg.text(
            (LEFT - 7.0, COUNT_TOP + 8.0),
            Anchor::End,
            "tick",
            &crate::words::count(most),
        );
        svg.text((LEFT - 7.0, COUNT_BOTTOM + 1.0), Anchor::End, "tick", "0");
    }
}
