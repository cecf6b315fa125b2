//! `against`: what is flagged now and was not in the review before, and the other way round.
//!
//! Whoever held the last review in their hands asks first what is new. Both sides are read off the tables that
//! may be passed round, so that nothing comes to light here that one of them withholds, and a `share` folder
//! is enough. Nothing is counted and nothing tested here.

mod cause;
mod error;
mod figures;
mod marks;
mod read;
mod rows;
mod told;

pub use error::AgainstError;
pub use marks::{RuleMark, RunMarks};
pub use read::{Reviewed, read_review};
pub use rows::{AgainstRow, Tables};

use std::collections::BTreeSet;

use cause::Ground;
use told::{Told, told};

/// Topics are flagged as long as they are among so many.
pub const FIRST_TOPICS: i64 = 5;

/// A flag that both reviews have, and alike.
pub const UNCHANGED: &str = "unchanged";

/// Refuses a review that is of a later month than `month`, the latest of the review being written.
///
/// # Errors
/// The review before has no month, or a later one than this.
pub fn not_newer(before: &Reviewed, month: Option<&str>) -> Result<(), AgainstError> {
    let path = || before.path.clone();
    let Some(then) = before.tables().latest_month() else {
        return Err(AgainstError::NoMonth { path: path() });
    };
    match month {
        Some(now) if now < then.as_str() => Err(AgainstError::Newer {
            path: path(),
            then,
            now: now.to_owned(),
        }),
        _ => Ok(()),
    }
}

/// What is new, gone, changed or as it was: a row for each flag that one of two reviews has.
///
/// # Errors
/// The reviews are of different fleets.
pub fn against(
    before: &Reviewed,
    marks: &RunMarks,
    now: &Tables<'_>,
) -> Result<Vec<AgainstRow>, AgainstError> {
    let then = before.tables();
    same_fleet(before, marks, &then, now)?;
    let ground = Ground::new((&before.marks, &then), (marks, now));
    let (past, present) = (told(&then), told(now));
    let flagged = |told: &Told| told.flag.is_some();
    let keys: BTreeSet<_> = past
        .iter()
        .chain(&present)
        .filter(|(_, told)| flagged(told))
        .map(|(key, _)| key)
        .collect();
    let rows = keys.into_iter().map(|key| {
        let (past, present) = (past.get(key), present.get(key));
        let mark = mark(past, present);
        let cause = (mark != UNCHANGED).then(|| ground.cause(key, past, present));
        AgainstRow::new(mark, key, past, present, cause)
    });
    Ok(rows.collect())
}

fn mark(past: Option<&Told>, present: Option<&Told>) -> &'static str {
    let flag = |told: Option<&Told>| told.and_then(|told| told.flag.clone());
    match (flag(past), flag(present)) {
        (None, _) => "new",
        (_, None) => "gone",
        (past, present) if past == present => UNCHANGED,
        _ => "changed",
    }
}

/// Refuses two fleets that have no place and no type in common, or not even a rule where none has a name.
fn same_fleet(
    before: &Reviewed,
    marks: &RunMarks,
    then: &Tables<'_>,
    now: &Tables<'_>,
) -> Result<(), AgainstError> {
    let (past, present) = (then.named_groups(), now.named_groups());
    let is_named = !past.is_empty() && !present.is_empty();
    let has_group = past.intersection(&present).next().is_some();
    let has_rule = marks
        .rules
        .keys()
        .any(|rule| before.marks.rules.contains_key(rule));
    if has_group || (!is_named && has_rule) {
        return Ok(());
    }
    Err(AgainstError::AnotherFleet {
        path: before.path.clone(),
        what: if is_named {
            "no aircraft type and no airport"
        } else {
            "no rule and no group"
        },
    })
}

#[cfg(test)]
mod tests;
