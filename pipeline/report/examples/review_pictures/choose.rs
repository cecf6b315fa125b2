//! Which approach stands for a measure: a rule, never a name.
//!
//! Of the line approaches that landed, from which nothing was cleaned away and where the measure is known and
//! not zero, it is the middle one of the tenth in which the measure stands out most. That shows what is
//! measured without showing the worst of the fleet. Equal ones are taken by key.

use crate::fault::Fault;
use crate::review::Review;

/// Where a measure stands out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum End {
    High,
    Low,
}

/// The row of the approach that stands for `measure`, and its value.
pub(crate) fn choose(review: &Review, measure: &str, end: End) -> Result<(usize, f64), Fault> {
    let values = review.approaches.numbers(measure)?;
    let known = candidates(review, "landing")?
        .into_iter()
        .filter_map(|k| values[k].filter(|v| *v != 0.0).map(|v| (k, v)));
    middle_of_tenth(review, known.collect(), end)
        .ok_or_else(|| Fault::new(format!("no approach of the fleet has a {measure} to show")))
}

/// Line approaches with this outcome from which nothing was cleaned away.
pub(crate) fn candidates(review: &Review, outcome: &str) -> Result<Vec<usize>, Fault> {
    let outcomes = review.approaches.words("outcome")?;
    let cleaned = review.approaches.words("cleaned")?;
    let rows = review.line()?.into_values().filter(|&k| {
        outcomes[k].as_deref() == Some(outcome) && cleaned[k].as_deref().is_none_or(str::is_empty)
    });
    Ok(rows.collect())
}

/// The middle one of the tenth that stands out most.
pub(crate) fn middle_of_tenth(
    review: &Review,
    mut known: Vec<(usize, f64)>,
    end: End,
) -> Option<(usize, f64)> {
    known.sort_by(|a, b| {
        let order = a.1.total_cmp(&b.1);
        let order = if end == End::High {
            order.reverse()
        } else {
            order
        };
        order.then_with(|| review.key(a.0).cmp(&review.key(b.0)))
    });
    let tenth = known.len().div_ceil(10);
    known.get(tenth.saturating_sub(1) / 2).copied()
}
