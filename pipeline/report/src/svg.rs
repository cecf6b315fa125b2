//! The shapes our pictures are made of, each with a class, no colour of its own.
//!
//! The crate `svg` writes elements and escapes text. Why not a plotting library: the pictures must follow
//! the reader's light or dark setting and the printer, so colours have to come from the page's style sheet
//! through classes, and each picture needs a title, a description and text that a screen reader and a search
//! can find. `plotters`, which draws single approaches, writes its colours into every element and offers
//! neither titles nor classes.
//!
//! Coordinates are written with one decimal and attributes in alphabetical order, so equal input gives equal
//! bytes.

use svg::node::element::Element;
use svg::node::{Node, Text};

/// Where a text hangs on its point.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// A picture being drawn; y grows downwards.
#[derive(Debug)]
pub(crate) struct Svg {
    width: f64,
    height: f64,
    body: Vec<Element>,
}

impl Svg {
    pub(crate) fn new(width: f64, height: f64) -> Self {
        Self {
            width,
            height,
            body: Vec::new(),
        }
    }

    pub(crate) fn line(&mut self, from: (f64, f64), to: (f64, f64), class: &str) {
        let ends = [("x1", from.0), ("y1", from.1), ("x2", to.0), ("y2", to.1)];
        self.body.push(shape("line", class, &ends));
    }

    /// A rectangle by its corner and size; a size below zero is drawn as none.
    pub(crate) fn rect(&mut self, corner: (f64, f64), size: (f64, f64), class: &str) {
        let numbers = [
            ("x", corner.0),
            ("y", corner.1),
            ("width", size.0.max(0.0)),
            ("height", size.1.max(0.0)),
        ];
        self.body.push(shape("rect", class, &numbers));
    }

    pub(crate) fn circle(&mut self, at: (f64, f64), radius: f64, class: &str) {
        let numbers = [("cx", at.0), ("cy", at.1), ("r", radius)];
        self.body.push(shape("circle", class, &numbers));
    }

    /// A square on its corner.
    pub(crate) fn diamond(&mut self, at: (f64, f64), radius: f64, class: &str) {
        let (x, y) = at;
        self.polygon(
            &[
                (x, y - radius),
                (x + radius, y),
                (x, y + radius),
                (x - radius, y),
            ],
            class,
        );
    }

    /// An arrow head pointing right, its tip at `at`: "goes on beyond the picture".
    pub(crate) fn arrow_right(&mut self, at: (f64, f64), class: &str) {
        let (x, y) = at;
        self.polygon(&[(x, y), (x - 7.0, y - 4.0), (x - 7.0, y + 4.0)], class);
    }

    pub(crate) fn polygon(&mut self, points: &[(f64, f64)], class: &str) {
        self.points("polygon", points, class);
    }

    pub(crate) fn polyline(&mut self, points: &[(f64, f64)], class: &str) {
        self.points("polyline", points, class);
    }

    fn points(&mut self, name: &str, points: &[(f64, f64)], class: &str) {
        let mut element = shape(name, class, &[]);
        element.assign("points", list(points));
        self.body.push(element);
    }

    pub(crate) fn text(&mut self, at: (f64, f64), anchor: Anchor, class: &str, text: &str) {
        let mut element = shape("text", class, &[("x", at.0), ("y", at.1)]);
        element.assign(
            "text-anchor",
            match anchor {
                Anchor::Start => "start",
                Anchor::Middle => "middle",
                Anchor::End => "end",
            },
        );
        element.append(Text::new(text));
        self.body.push(element);
    }

    /// A text on a blank ground, for words that stand across grid lines. The ground is as wide as
    /// the text in a wide font; what is too wide only hides a little more grid.
    #[allow(clippy::cast_precision_loss)] // a few words
    pub(crate) fn text_on_blank(&mut self, at: (f64, f64), class: &str, text: &str) {
        let width = 6.6 * text.chars().count() as f64 + 8.0;
        self.rect((at.0 - 4.0, at.1 - 12.0), (width, 17.0), "blank");
        self.text(at, Anchor::Start, class, text);
    }

    /// The finished element. `id` must be unique in the page and made of our own letters only.
    pub(crate) fn finish(mut self, id: &str, title: &str, description: &str) -> String {
        let words = [("title", title), ("desc", description)].map(|(name, text)| {
            let mut element = Element::new(name);
            element.assign("id", format!("{id}-{name}"));
            element.append(Text::new(text));
            element
        });
        self.body.splice(0..0, words);
        let mut element = self.whole();
        element.assign("aria-labelledby", format!("{id}-title {id}-desc"));
        element.to_string()
    }

    /// The finished element of a picture that stands in a line of figures that say the same: one phrase for
    /// those who do not see it.
    pub(crate) fn finish_small(self, label: &str) -> String {
        let mut element = self.whole();
        element.assign("aria-label", label);
        element.assign("class", "small");
        element.to_string()
    }

    fn whole(self) -> Element {
        let mut element = Element::new("svg");
        element.assign("role", "img");
        element.assign(
            "viewBox",
            format!("0 0 {} {}", n(self.width), n(self.height)),
        );
        for child in self.body {
            element.append(child);
        }
        element
    }
}

fn shape(name: &str, class: &str, numbers: &[(&str, f64)]) -> Element {
    let mut element = Element::new(name);
    element.assign("class", class);
    for (name, number) in numbers {
        element.assign(*name, n(*number));
    }
    element
}

/// Shortens a label to `max` characters; the table beside the picture has it whole.
pub(crate) fn shortened(text: &str, max: usize) -> String {
    if text.chars().count() <= max {
        return text.to_owned();
    }
    let mut out: String = text.chars().take(max.saturating_sub(1)).collect();
    out.push('\u{2026}');
    out
}

fn list(points: &[(f64, f64)]) -> String {
    let parts: Vec<String> = points
        .iter()
        .map(|(x, y)| format!("{},{}", n(*x), n(*y)))
        .collect();
    parts.join(" ")
}

/// One decimal, no minus zero. The input check and the scales keep everything finite.
fn n(value: f64) -> String {
    debug_assert!(value.is_finite(), "coordinate {value}");
    let text = format!("{value:.1}");
    if text == "-0.0" {
        "0.0".to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_escaped_and_zero_has_no_sign() {
        let mut svg = Svg::new(10.0, 10.0);
        svg.text((-0.01, 1.0), Anchor::End, "a", "<script>&\"'");
        let out = svg.finish("p", "<t>", "d");
        assert!(out.contains(r#"x="0.0""#), "{out}");
        assert!(out.contains("&lt;script&gt;&amp;\"'</text>"), "{out}");
        assert!(out.contains("&lt;t&gt;"), "{out}");
    }

    #[test]
    fn long_labels_are_cut_at_characters() {
        assert_eq!(shortened("abc", 3), "abc");
        assert_eq!(shortened("äöüß", 3), "äö\u{2026}");
    }
}
