//! Pictures of the energy of a fleet, for `docs/energy.md`.

mod losses;
mod outcomes;

use crate::frame::Frame;
use crate::measures::Picture;
use crate::svg::Anchor;

/// Name of the file and what draws it.
pub(crate) const ALL: [(&str, Picture); 2] = [
    ("unstable-by-class", outcomes::draw),
    ("losses", losses::draw),
];

/// Height of one line of a list.
pub(crate) const LINE: f64 = 17.0;

/// One line of a list: a name at the left, a value with its interval on the axis, words at the right of it.
pub(crate) struct Line {
    pub(crate) name: String,
    /// None where it is withheld.
    pub(crate) value: Option<f64>,
    pub(crate) interval: Option<(f64, f64)>,
    /// A second value to hold it against.
    pub(crate) beside: Option<f64>,
    pub(crate) says: String,
}

/// Draws the lines under a heading, at the next free place of the picture.
pub(crate) fn list(frame: &mut Frame, heading: &str, lines: &[Line]) {
    let top = frame.room(LINE * (lines.len() as f64 + 1.0) + 6.0);
    frame
        .svg
        .text((12.0, top + 12.0), Anchor::Start, "strong", heading);
    for (k, line) in lines.iter().enumerate() {
        let y = top + LINE * (k as f64 + 1.0) + 8.0;
        frame
            .svg
            .text((24.0, y + 4.0), Anchor::Start, "axis", &line.name);
        let mut right = crate::frame::LEFT;
        if let Some((low, high)) = line.interval {
            let (a, b) = (frame.x.place(low), frame.x.place(high));
            frame.svg.line((a, y), (b, y), "interval");
            right = right.max(b);
        }
        if let Some(beside) = line.beside {
            let x = frame.x.place(beside);
            frame.svg.line((x, y - 6.0), (x, y + 6.0), "bracket");
            right = right.max(x);
        }
        if let Some(value) = line.value {
            let x = frame.x.place(value);
            frame.svg.circle((x, y), 4.0, "dot");
            right = right.max(x);
        }
        frame.svg.text(
            (right + 10.0, y + 4.0),
            Anchor::Start,
            "axis halo",
            &line.says,
        );
    }
}
