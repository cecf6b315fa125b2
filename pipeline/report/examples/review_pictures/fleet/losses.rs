//! What each configuration loses, measured and by the type's file.

use std::collections::BTreeSet;

use super::{LINE, Line, list};
use crate::fault::Fault;
use crate::frame::{FOOT, Frame, HEAD};
use crate::review::Review;
use crate::words::decimals;

const CONFIGURATIONS: [&str; 4] = ["clean", "flap", "speedbrake", "gear"];

pub(crate) fn draw(review: &Review) -> Result<String, Fault> {
    let table = review.share("loss_rates")?;
    let (types, own) = (
        table.words("aircraft_type")?,
        table.numbers("table_ft_per_nm")?,
    );
    let (median, low, high, count) = (
        table.numbers("median_ft_per_nm")?,
        table.numbers("median_low")?,
        table.numbers("median_high")?,
        table.numbers("approaches")?,
    );
    let names: BTreeSet<&str> = types.iter().flatten().map(String::as_str).collect();
    let mut lists = Vec::new();
    for name in &names {
        let mut lines = Vec::new();
        for configuration in CONFIGURATIONS {
            let wanted = [("aircraft_type", *name), ("configuration", configuration)];
            for row in table.rows_with(&wanted)? {
                lines.push(Line {
                    name: configuration.to_owned(),
                    value: median[row],
                    interval: low[row].zip(high[row]),
                    beside: own[row],
                    says: match count[row].filter(|_| median[row].is_some()) {
                        Some(count) => format!("{} approaches", decimals(count, 0)),
                        None => "withheld".to_owned(),
                    },
                });
            }
        }
        lists.push(((*name).to_owned(), lines));
    }
    let lines: usize = lists.iter().map(|(_, lines)| lines.len() + 1).sum();
    let ends = lists.iter().flat_map(|(_, lines)| {
        lines
            .iter()
            .flat_map(|line| [line.value, line.beside])
            .flatten()
    });
    let (least, most) = ends.fold((f64::INFINITY, 0.0), |(least, most): (f64, f64), value| {
        (least.min(value), most.max(value))
    });
    if !least.is_finite() {
        return Err(Fault::new("no loss was measured"));
    }
    let mut frame = Frame::new(
        HEAD + lines as f64 * LINE + lists.len() as f64 * 6.0 + 12.0 + FOOT,
        (least - 25.0, most + 0.3 * (most - least)),
        "What each configuration loses at idle",
        "Dot: median of the fleet's approaches, with its interval. Bar across: the type's file. Invented demo fleet.",
    );
    for (name, lines) in &lists {
        list(&mut frame, name, lines);
    }
    // The axis stands close below the last panel; a list needs its own room.
    frame.room(26.0);
    frame.finish("loss of energy height, ft for each NM of air", "")
}
