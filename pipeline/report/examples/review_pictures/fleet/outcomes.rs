//! What share ended unstable, by energy class at a checkpoint.

use super::{LINE, Line, list};
use crate::fault::Fault;
use crate::frame::{FOOT, Frame, HEAD};
use crate::review::Review;
use crate::words::{checkpoint, decimals};

const CHECKPOINTS: [&str; 4] = ["20nm", "10nm", "5nm", "3nm"];
/// Least energy first.
const CLASSES: [(&str, &str); 6] = [
    ("low", "low"),
    ("on_profile", "on profile"),
    ("clean", "clean"),
    ("drag", "drag"),
    ("gear", "gear"),
    ("beyond", "beyond"),
];

pub(crate) fn draw(review: &Review) -> Result<String, Fault> {
    let table = review.share("energy_outcomes")?;
    let (share, low, high, count) = (
        table.numbers("unstable_share")?,
        table.numbers("ci_low")?,
        table.numbers("ci_high")?,
        table.numbers("approaches")?,
    );
    let mut lists = Vec::new();
    for name in CHECKPOINTS {
        let mut lines = Vec::new();
        for (class, word) in CLASSES {
            let wanted = [
                ("group_kind", "fleet"),
                ("routing", "all"),
                ("checkpoint", name),
                ("energy_class", class),
            ];
            for row in table.rows_with(&wanted)? {
                let shown = share[row].is_some();
                lines.push(Line {
                    name: word.to_owned(),
                    value: share[row].map(|share| share * 100.0),
                    interval: low[row]
                        .zip(high[row])
                        .map(|(low, high)| (low * 100.0, high * 100.0)),
                    beside: None,
                    says: match count[row].filter(|_| shown) {
                        Some(count) => format!("{} approaches", decimals(count, 0)),
                        None => "withheld".to_owned(),
                    },
                });
            }
        }
        lists.push((checkpoint(name), lines));
    }
    let lines: usize = lists.iter().map(|(_, lines)| lines.len() + 1).sum();
    let most = lists
        .iter()
        .flat_map(|(_, lines)| lines.iter().filter_map(|line| line.interval))
        .fold(0.0, |most: f64, (_, high)| most.max(high));
    let mut frame = Frame::new(
        HEAD + lines as f64 * LINE + lists.len() as f64 * 6.0 + 12.0 + FOOT,
        (0.0, (most * 1.35).min(135.0)),
        "Approaches that ended unstable, by energy class on the way",
        "Invented demo fleet. A prediction, not a cause.",
    );
    for (name, lines) in &lists {
        list(&mut frame, &format!("at {name}"), lines);
    }
    // The axis stands close below the last panel; a list needs its own room.
    frame.room(26.0);
    frame.finish(
        "unstable at the governing gate, % of the approaches in the class, with 95 % interval",
        "Least energy first.",
    )
}
