//! A small SVG layer: a handful of shapes, each with a class, no colour of its own.
//!
//! Why not a plotting library: the pictures must follow the reader's light or dark setting and the
//! printer, so colours have to come from the page's style sheet through classes, and each picture
//! needs a title, a description and text that a screen reader and a search can find. `plotters`
//! writes its colours into every element and offers neither titles nor classes.
//!
//! Coordinates are written with one decimal, so equal input gives equal bytes.

use std::fmt::Write as _;

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
    body: String,
}

impl Svg {
    pub(crate) fn new(width: f64, height: f64) -> Self {
        Self {
            width,
            height,
            body: String::new(),
        }
    }

    pub(crate) fn line(&mut self, from: (f64, f64), to: (f64, f64), class: &str) {
        let (x1, y1, x2, y2) = (n(from.0), n(from.1), n(to.0), n(to.1));
        self.push(format_args!(
            r#"<line class="{class}" x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}"/>"#
        ));
    }

    /// A rectangle by its corner and size; a size below zero is drawn as none.
    pub(crate) fn rect(&mut self, corner: (f64, f64), size: (f64, f64), class: &str) {
        let (x, y, w, h) = (
            n(corner.0),
            n(corner.1),
            n(size.0.max(0.0)),
            n(size.1.max(0.0)),
        );
        self.push(format_args!(
            r#"<rect class="{class}" x="{x}" y="{y}" width="{w}" height="{h}"/>"#
        ));
    }

    pub(crate) fn circle(&mut self, at: (f64, f64), radius: f64, class: &str) {
        let (x, y, r) = (n(at.0), n(at.1), n(radius));
        self.push(format_args!(
            r#"<circle class="{class}" cx="{x}" cy="{y}" r="{r}"/>"#
        ));
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
        let points = list(points);
        self.push(format_args!(
            r#"<polygon class="{class}" points="{points}"/>"#
        ));
    }

    pub(crate) fn polyline(&mut self, points: &[(f64, f64)], class: &str) {
        let points = list(points);
        self.push(format_args!(
            r#"<polyline class="{class}" points="{points}"/>"#
        ));
    }

    pub(crate) fn text(&mut self, at: (f64, f64), anchor: Anchor, class: &str, text: &str) {
        let (x, y) = (n(at.0), n(at.1));
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let text = escape(text);
        self.push(format_args!(
            r#"<text class="{class}" x="{x}" y="{y}" text-anchor="{anchor}">{text}</text>"#
        ));
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
    pub(crate) fn finish(self, id: &str, title: &str, description: &str) -> String {
        let (width, height) = (n(self.width), n(self.height));
        let (title, description) = (escape(title), escape(description));
        format!(
            "<svg viewBox=\"0 0 {width} {height}\" role=\"img\" \
             aria-labelledby=\"{id}-title {id}-desc\">\n\
             <title id=\"{id}-title\">{title}</title>\n\
             <desc id=\"{id}-desc\">{description}</desc>\n{}</svg>",
            self.body
        )
    }

    fn push(&mut self, element: std::fmt::Arguments<'_>) {
        // Writing to a string cannot fail.
        let _ = writeln!(self.body, "{element}");
    }
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

fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#x27;"),
            c => out.push(c),
        }
    }
    out
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
        assert!(out.contains("&lt;script&gt;&amp;&quot;&#x27;"), "{out}");
        assert!(out.contains("&lt;t&gt;"), "{out}");
    }

    #[test]
    fn long_labels_are_cut_at_characters() {
        assert_eq!(shortened("abc", 3), "abc");
        assert_eq!(shortened("äöüß", 3), "äö\u{2026}");
    }
}
