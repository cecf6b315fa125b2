//! The rate of a rule against one of its limits, as a drawing that is a file of its own.

use crate::scale::Scale;
use crate::svg::{Anchor, Svg};
use crate::words;

/// What to draw.
#[derive(Debug, Clone, PartialEq)]
pub struct SweepPicture {
    /// Title of the rule.
    pub title: String,
    /// Name of the limit.
    pub limit: String,
    /// Its value in force; marked where it lies in the range.
    pub in_force: f64,
    /// Approaches with an event of at least low.
    pub low: Vec<SweepValue>,
    /// Of at least medium.
    pub medium: Vec<SweepValue>,
    /// Of high.
    pub high: Vec<SweepValue>,
}

/// The rate under one value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SweepValue {
    /// The value of the limit.
    pub limit: f64,
    /// Approaches with an event per 1,000 evaluable ones.
    pub rate_per_1000: f64,
    /// Ends of its interval.
    pub interval: Option<(f64, f64)>,
}

const WIDTH: f64 = 720.0;
const HEIGHT: f64 = 400.0;
/// Left, right, top and bottom of the field.
const FIELD: (f64, f64, f64, f64) = (72.0, 560.0, 72.0, 340.0);

/// Such a file knows nothing of the reader's settings: dark on white, and lines that keep apart in grey.
const STYLE: &str = r#"<style>
text { font-family: system-ui, "Liberation Sans", Arial, sans-serif; font-size: 12px; fill: #20292c; }
.title { font-size: 14.5px; font-weight: 600; }
.axis { fill: #525f63; }
.ground { fill: #ffffff; }
.grid { stroke: #d6dad5; stroke-width: 1; }
.base { stroke: #525f63; stroke-width: 1; }
.interval { fill: #dfe9e8; }
.low { fill: none; stroke: #1f5c66; stroke-width: 2; stroke-linejoin: round; }
.medium { fill: none; stroke: #1f5c66; stroke-width: 2; stroke-dasharray: 7 4; stroke-linejoin: round; }
.high { fill: none; stroke: #96301c; stroke-width: 2; stroke-dasharray: 2 3; stroke-linejoin: round; }
.now { stroke: #20292c; stroke-width: 1.25; }
</style>
"#;

/// Draws it. A rate that is not shown, because too few flights stand behind it, leaves a gap.
#[must_use]
pub fn draw(sweep: &SweepPicture) -> String {
    let mut svg = Svg::new(WIDTH, HEIGHT);
    svg.rect((0.0, 0.0), (WIDTH, HEIGHT), "ground");
    svg.text((16.0, 24.0), Anchor::Start, "title", &sweep.title);
    let all = || sweep.low.iter().chain(&sweep.medium).chain(&sweep.high);
    let (left, right, top, bottom) = FIELD;
    if all().next().is_none() {
        let text =
            "No rate can be shown: nothing was evaluable, or too few flights stand behind it.";
        svg.text((16.0, 60.0), Anchor::Start, "axis", text);
        return finish(svg, sweep, text);
    }
    let least = all().map(|value| value.limit).fold(f64::INFINITY, f64::min);
    let most = all()
        .map(|value| value.limit)
        .fold(f64::NEG_INFINITY, f64::max);
    let highest = all()
        .map(|value| value.interval.map_or(value.rate_per_1000, |(_, high)| high))
        .fold(0.0, f64::max);
    let x = Scale::linear((least, most), (left, right));
    let y = Scale::linear((0.0, highest), (bottom, top));
    for tick in y.ticks(40.0) {
        let at = y.place(tick);
        svg.line(
            (left, at),
            (right, at),
            if tick == 0.0 { "base" } else { "grid" },
        );
        svg.text((left - 8.0, at + 4.0), Anchor::End, "axis", &plain(tick));
    }
    for tick in x.ticks(70.0) {
        let at = x.place(tick);
        svg.line((at, bottom), (at, bottom + 5.0), "base");
        svg.text((at, bottom + 20.0), Anchor::Middle, "axis", &plain(tick));
    }
    band(&mut svg, &sweep.low, &x, &y);
    if (least..=most).contains(&sweep.in_force) {
        let at = x.place(sweep.in_force);
        svg.line((at, top), (at, bottom), "now");
        let text = format!("in force: {}", plain(sweep.in_force));
        svg.text((at + 4.0, top - 6.0), Anchor::Start, "axis", &text);
    }
    let mut labels: Vec<(f64, &str, &str)> = Vec::new();
    for (class, words, values) in [
        ("high", "high", &sweep.high),
        ("medium", "at least medium", &sweep.medium),
        ("low", "at least low", &sweep.low),
    ] {
        let places: Vec<(f64, f64)> = values
            .iter()
            .map(|value| (x.place(value.limit), y.place(value.rate_per_1000)))
            .collect();
        svg.polyline(&places, class);
        if let Some((_, at)) = places.last() {
            labels.push((*at, class, words));
        }
    }
    // Names beside the ends of the lines, from below, each at least a line apart.
    labels.sort_by(|one, two| two.0.total_cmp(&one.0));
    let mut free = bottom + 4.0;
    for (at, class, words) in labels {
        let at = (at + 4.0).min(free);
        svg.polyline(&[(right + 8.0, at - 4.0), (right + 34.0, at - 4.0)], class);
        svg.text((right + 40.0, at), Anchor::Start, "axis", words);
        free = at - 15.0;
    }
    let text = format!("{}; shaded: interval of at least low", sweep.limit);
    svg.text((left, bottom + 44.0), Anchor::Start, "axis", &text);
    svg.text(
        (16.0, 42.0),
        Anchor::Start,
        "axis",
        "approaches with an event per 1,000 evaluable",
    );
    let description = format!(
        "Approaches with an event per 1,000 evaluable ones against {}, from {} to {}.",
        sweep.limit,
        plain(least),
        plain(most)
    );
    finish(svg, sweep, &description)
}

fn band(svg: &mut Svg, values: &[SweepValue], x: &Scale, y: &Scale) {
    let ends = values
        .iter()
        .filter_map(|value| Some((value.limit, value.interval?)));
    let upper: Vec<_> = ends
        .clone()
        .map(|(limit, (_, high))| (x.place(limit), y.place(high)))
        .collect();
    let lower = ends.map(|(limit, (low, _))| (x.place(limit), y.place(low)));
    let mut outline: Vec<(f64, f64)> = lower.collect();
    outline.reverse();
    outline.splice(0..0, upper);
    if outline.len() > 2 {
        svg.polygon(&outline, "interval");
    }
}

/// As few decimals as the number needs.
fn plain(number: f64) -> String {
    let decimals = (0..4).find(|decimals| {
        let scale = 10_f64.powi(*decimals);
        (number * scale - (number * scale).round()).abs() < 1e-6
    });
    words::decimals(number, usize::try_from(decimals.unwrap_or(4)).unwrap_or(4))
}

fn finish(svg: Svg, sweep: &SweepPicture, description: &str) -> String {
    let title = format!("{} against {}", sweep.title, sweep.limit);
    let body = svg.finish("sweep", &title, description);
    let styled = format!("</desc>\n{STYLE}");
    let body = body
        .replacen("<svg ", "<svg xmlns=\"http://www.w3.org/2000/svg\" ", 1)
        .replacen("</desc>\n", &styled, 1);
    body + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    fn values(rates: &[f64]) -> Vec<SweepValue> {
        let value = |(number, rate): (usize, &f64)| SweepValue {
            limit: 100.0 * f64::from(u8::try_from(number).unwrap()),
            rate_per_1000: *rate,
            interval: Some((rate * 0.8, rate * 1.2)),
        };
        rates.iter().enumerate().map(value).collect()
    }

    #[test]
    fn lines_fall_and_the_limit_in_force_is_marked() {
        let picture = SweepPicture {
            title: "High < low & \"so\"".to_owned(),
            limit: "above_ft".to_owned(),
            in_force: 100.0,
            low: values(&[40.0, 20.0, 10.0]),
            medium: values(&[20.0, 10.0, 5.0]),
            high: values(&[8.0, 4.0, 0.0]),
        };
        let svg = draw(&picture);
        assert!(svg.contains("in force: 100<"), "{svg}");
        assert!(svg.contains("High &lt; low &amp;"), "{svg}");
        // Three lines, and a piece of each beside its name.
        assert_eq!(svg.matches("<polyline").count(), 6);
        assert_eq!(svg.matches("<polygon").count(), 1);
        let beyond = SweepPicture {
            in_force: 900.0,
            ..picture
        };
        assert!(!draw(&beyond).contains("in force"));
    }

    #[test]
    fn nothing_to_show_is_said() {
        let picture = SweepPicture {
            title: "T".to_owned(),
            limit: "x".to_owned(),
            in_force: 1.0,
            low: Vec::new(),
            medium: Vec::new(),
            high: Vec::new(),
        };
        assert!(draw(&picture).contains("No rate can be shown"));
    }
}
