//! A rule's months in the width of a word: band of the intervals, line of the rates, the latest as a dot.

use crate::cells::{Drawn, drawn};
use crate::input::RateCell;
use crate::scale::Scale;
use crate::svg::Svg;
use crate::{months, words};

const WIDTH: f64 = 132.0;
const HEIGHT: f64 = 30.0;

/// Draws months in calendar order; `None` where fewer than two of them have a figure.
pub(super) fn draw(points: &[(i32, &RateCell)]) -> Option<String> {
    let figures: Vec<(i32, Drawn)> = points
        .iter()
        .filter_map(|(month, cell)| drawn(cell).map(|figures| (*month, figures)))
        .collect();
    let [(first, from), .., (last, to)] = figures[..] else {
        return None;
    };
    let top = figures.iter().map(|(_, f)| f.rate).fold(0.0, f64::max);
    let span = points.last()?.0 - points.first()?.0;
    let x = Scale::linear((0.0, f64::from(span)), (3.0, WIDTH - 6.0));
    let y = Scale::linear((0.0, (top * 1.8).max(1e-9)), (HEIGHT - 3.0, 3.0));
    let place = |month: i32| x.place(f64::from(month - points[0].0));
    let mut svg = Svg::new(WIDTH, HEIGHT);
    svg.line((3.0, HEIGHT - 2.0), (WIDTH - 3.0, HEIGHT - 2.0), "grid");
    for run in figures.chunk_by(|a, b| b.0 == a.0 + 1) {
        let ends: Vec<(f64, (f64, f64))> = run
            .iter()
            .filter_map(|(month, f)| f.interval.map(|ends| (place(*month), ends)))
            .collect();
        if ends.len() > 1 {
            let above = ends.iter().map(|(x, ends)| (*x, y.place(ends.1)));
            let below = ends.iter().rev().map(|(x, ends)| (*x, y.place(ends.0)));
            svg.polygon(&above.chain(below).collect::<Vec<_>>(), "band");
        }
        let line: Vec<(f64, f64)> = run
            .iter()
            .map(|(month, f)| (place(*month), y.place(f.rate)))
            .collect();
        if line.len() > 1 {
            svg.polyline(&line, "rate");
        }
    }
    svg.circle((place(last), y.place(to.rate)), 3.0, "dot");
    let name = |month: i32| format!("{} {}", months::short_name(month), months::year(month));
    Some(svg.finish_small(&format!(
        "Rate from {} in {} to {} in {}; the figures by month stand further down",
        words::rate(from.rate),
        name(first),
        words::rate(to.rate),
        name(last)
    )))
}
