//! Airports as a picture: raw rate with interval, shrunk rate, the fleet's rate as a line.

use crate::cells::{self, Drawn, drawn};
use crate::input::{AirportLine, HotspotClass, RuleAirports};
use crate::scale::{Scale, tick_label};
use crate::svg::{Anchor, Svg, shortened};
use crate::words;

const WIDTH: f64 = 720.0;
const ROW: f64 = 29.0;
const TOP: f64 = 22.0;
const LEFT: f64 = 128.0;
const RIGHT: f64 = 566.0;
const WORDS: f64 = 582.0;

/// Draws the lines in the order given; `None` where no airport has a figure.
pub(super) fn draw(id: &str, rule: &RuleAirports, lines: &[&AirportLine]) -> Option<String> {
    // Which airports are withheld is told beside the picture.
    let lines: Vec<&AirportLine> = lines
        .iter()
        .copied()
        .filter(|line| line.cell.suppressed.is_none())
        .collect();
    let highest = highest(rule, &lines)?;
    let scale = Scale::linear((0.0, (highest * 1.04).min(1000.0)), (LEFT, RIGHT));
    #[allow(clippy::cast_precision_loss)] // a few dozen rows
    let bottom = TOP + ROW * lines.len() as f64;
    let mut svg = Svg::new(WIDTH, bottom + 40.0);
    let ticks = scale.ticks(60.0);
    for tick in &ticks {
        let x = scale.place(*tick);
        svg.line((x, TOP), (x, bottom), "grid");
        let label = tick_label(*tick, &ticks);
        svg.text((x, bottom + 15.0), Anchor::Middle, "tick", &label);
    }
    svg.text(
        (RIGHT, bottom + 33.0),
        Anchor::End,
        "axis",
        "approaches with an event per 1,000 evaluable approaches",
    );
    if let Some(rate) = rule.rate_of_all_per_1000 {
        let x = scale.place(rate);
        svg.line((x, TOP - 4.0), (x, bottom), "fleet");
        let label = format!("all airports {}", words::rate(rate));
        svg.text((x, TOP - 9.0), Anchor::Middle, "value", &label);
    }
    let mut description = String::new();
    let mut middle = TOP + ROW / 2.0;
    for line in &lines {
        row(&mut svg, &scale, middle, line);
        description.push_str(&format!(
            "{}: {}",
            line.airport,
            cells::view(&line.cell).line
        ));
        if drawn(&line.cell).is_some() {
            description.push_str(&format!(", {}", words::class(line.class)));
        }
        description.push_str(". ");
        middle += ROW;
    }
    Some(svg.finish(
        id,
        &format!("Airports against the fleet: {}", rule.title),
        description.trim_end(),
    ))
}

/// Far end of the axis. Airports with too little data do not stretch it: their intervals are cut
/// with an arrow instead, so that those that say something can be read.
fn highest(rule: &RuleAirports, lines: &[&AirportLine]) -> Option<f64> {
    let top = |f: Drawn| f.interval.map_or(f.rate, |(_, high)| high.max(f.rate));
    let figures: Vec<(bool, Drawn)> = lines
        .iter()
        .filter_map(|line| {
            let enough = line.class != HotspotClass::InsufficientData;
            drawn(&line.cell).map(|figures| (enough, figures))
        })
        .collect();
    let enough = figures.iter().filter(|(enough, _)| *enough);
    let mut highest = enough.map(|(_, f)| top(*f)).fold(0.0, f64::max);
    if highest == 0.0 {
        highest = figures.iter().map(|(_, f)| top(*f)).fold(0.0, f64::max);
    }
    for (_, f) in &figures {
        highest = highest.max(f.rate);
    }
    let fleet = rule.rate_of_all_per_1000.unwrap_or(0.0);
    (!figures.is_empty()).then_some(highest.max(fleet * 1.2))
}

fn row(svg: &mut Svg, scale: &Scale, y: f64, line: &AirportLine) {
    let figures = drawn(&line.cell);
    let rank = match (figures, line.rank) {
        (Some(_), Some(rank)) => rank.to_string(),
        _ => "\u{2013}".to_owned(),
    };
    svg.text((22.0, y + 4.0), Anchor::End, "tick", &rank);
    svg.text(
        (32.0, y + 4.0),
        Anchor::Start,
        "label",
        &shortened(&line.airport, 12),
    );
    let Some(figures) = figures else {
        let words = cells::view(&line.cell).words;
        svg.text_on_blank((LEFT + 6.0, y + 4.0), "axis", &words);
        return;
    };
    let enough = line.class != HotspotClass::InsufficientData;
    let (stroke, dot) = if enough {
        ("interval", "dot")
    } else {
        ("interval faint", "dot hollow")
    };
    if let Some((low, high)) = figures.interval {
        let (from, to) = (scale.place(low), scale.place(high));
        svg.line((from, y), (to, y), stroke);
        svg.line((from, y - 4.0), (from, y + 4.0), stroke);
        if scale.is_beyond(high) {
            svg.arrow_right((to, y), "arrow");
        } else {
            svg.line((to, y - 4.0), (to, y + 4.0), stroke);
        }
    }
    svg.circle((scale.place(figures.rate), y), 4.0, dot);
    if let (true, Some(shrunk)) = (enough, line.shrunk_rate_per_1000) {
        svg.diamond((scale.place(shrunk), y + 8.0), 4.5, "shrunk");
    }
    let class = if super::is_flag(line.class) {
        "value flag"
    } else {
        "value"
    };
    svg.text(
        (WORDS, y + 4.0),
        Anchor::Start,
        class,
        words::class(line.class),
    );
}
