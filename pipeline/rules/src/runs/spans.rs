//! A batch cut into spans of consecutive samples of one group: done once, used for every `s`.

use arrow::array::{Array, BooleanArray, Int32Array};

use super::error::RunsError;

/// Neighbouring rows of a batch that are consecutive samples of one group.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Span {
    pub(super) group: usize,
    /// First row.
    pub(super) start: usize,
    /// One past the last row.
    pub(super) end: usize,
    /// Sample number of the first row.
    pub(super) k_first: i32,
}

/// Cuts a batch into spans; rows that `filter` does not pass are absent.
///
/// # Errors
/// When the sample number of a row that counts is null.
pub(super) fn spans(
    k: &Int32Array,
    groups: &[usize],
    filter: Option<&BooleanArray>,
) -> Result<Vec<Span>, RunsError> {
    // A null in a filter does not pass.
    let passes = filter.map(|f| match f.nulls() {
        Some(nulls) => f.values() & nulls.inner(),
        None => f.values().clone(),
    });
    let nulls = k.nulls().filter(|nulls| nulls.null_count() > 0);
    let mut spans: Vec<Span> = vec![];
    // The group and the sample number that would continue the open span.
    let mut next: Option<(usize, i32)> = None;
    for (row, (group, k)) in groups.iter().zip(k.values()).enumerate() {
        if passes.as_ref().is_some_and(|passes| !passes.value(row)) {
            next = None;
            continue;
        }
        if nulls.is_some_and(|nulls| nulls.is_null(row)) {
            return Err(RunsError::NullK { row });
        }
        match spans.last_mut() {
            Some(span) if next == Some((*group, *k)) => span.end = row + 1,
            _ => spans.push(Span {
                group: *group,
                start: row,
                end: row + 1,
                k_first: *k,
            }),
        }
        next = k.checked_add(1).map(|k| (*group, k));
    }
    Ok(spans)
}
