//! Which column is the time, in which unit; which names the flight.

use super::grid::median;
use super::look::{Column, Look};
use super::names::Name;
use super::{Confidence, Proposal};

/// The time of every row in seconds, and what is proposed for it.
pub(super) fn time(look: &Look, names: &[Name]) -> Option<(usize, Vec<f64>, Proposal)> {
    let mut best: Option<(u32, usize, f64)> = None;
    for (i, column) in look.columns.iter().enumerate() {
        let named = names[i].has("time") || column.name == "time_s";
        let Some(step) = step(column, look) else {
            continue;
        };
        let score = u32::from(named) * 2
            + u32::from(column.is_time)
            + u32::from(named && names[i].unknown.is_empty());
        if best.is_none_or(|(most, ..)| score > most) {
            best = Some((score, i, step));
        }
    }
    let (score, at, step) = best?;
    let (column, name) = (&look.columns[at], &names[at]);
    let mut keys = Vec::new();
    let (factor, confidence, why);
    if column.is_time {
        factor = 1.0;
        confidence = Confidence::High;
        why = "dates or times of day that run on".to_owned();
    } else {
        let by_name = name.unit("s");
        // Recorders write at 100 Hz to once in ten seconds, by judgement.
        let by_step = match step {
            s if s <= 10.0 => "s",
            s if s <= 1e4 => "ms",
            s if s <= 1e7 => "us",
            _ => "ns",
        };
        let named = |unit: &str| crate::load::units::conversion(unit, "s").map_or(1.0, |c| c.0);
        let unit = by_name
            .filter(|u| (0.005..=20.0).contains(&(step * named(u))))
            .unwrap_or(by_step);
        factor = named(unit);
        confidence = if score >= 2 && by_name == Some(unit) {
            Confidence::High
        } else {
            Confidence::Likely
        };
        why = format!(
            "it rises by {step} from row to row{}",
            if by_name == Some(unit) {
                ", and the name says the unit"
            } else {
                "; the unit is told by that step"
            }
        );
        if unit != "s" {
            keys.push(("unit", format!("\"{unit}\"")));
        }
    }
    let seconds = column.values.iter().map(|v| v * factor).collect();
    let proposal = Proposal {
        parameter: "time_s".into(),
        column: column.name.clone(),
        keys,
        confidence,
        reasons: vec![why],
    };
    Some((at, seconds, proposal))
}

/// Median step of a column that rises from row to row.
fn step(column: &Column, look: &Look) -> Option<f64> {
    let known: Vec<f64> = column
        .values
        .iter()
        .copied()
        .filter(|v| v.is_finite())
        .collect();
    if known.len() < 10 || known.len() * 20 < look.rows * 19 {
        return None;
    }
    let steps: Vec<f64> = known.windows(2).map(|w| w[1] - w[0]).collect();
    let rising = steps.iter().filter(|s| **s >= 0.0).count() * 100 >= steps.len() * 97;
    let step = median(steps.iter().copied().filter(|s| *s > 0.0).collect())?;
    let even = steps
        .iter()
        .filter(|s| (**s / step - 1.0).abs() < 0.3)
        .count()
        * 2
        > steps.len();
    (rising && even && step > 0.0).then_some(step)
}

/// The column that says which flight a row belongs to.
pub(super) fn flight_id(look: &Look, names: &[Name], optional: bool) -> Option<Proposal> {
    let i = look.columns.iter().enumerate().position(|(i, column)| {
        let words = &names[i];
        words.has("flight")
            && words.unknown.is_empty()
            && (column.filled == look.rows || optional)
            && column.filled > 0
            && words.concepts.iter().all(|c| ["flight", "id"].contains(c))
            && column.data_type != "Float64"
    })?;
    let keys = if optional {
        vec![("optional", "true".to_owned())]
    } else {
        Vec::new()
    };
    Some(Proposal {
        parameter: "flight_id".into(),
        column: look.columns[i].name.clone(),
        keys,
        confidence: Confidence::High,
        reasons: vec!["it names the flight of a row".into()],
    })
}
