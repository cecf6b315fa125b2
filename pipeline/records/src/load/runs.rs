//! Where one flight ends and the next begins in a file of many.

use std::collections::BTreeMap;

use arrow::array::AsArray;
use arrow::compute::cast;
use arrow::datatypes::DataType;

use super::{Fault, Opened, Plan, Source};

/// Consecutive rows of one flight.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Run {
    pub(crate) flight_id: String,
    pub(crate) rows: usize,
}

/// The flights of a file in its order, read from the id column alone; one flight with the file's
/// name where there is no such column.
///
/// The second list names the ids that come back after another flight: all their rows stand in the
/// first list too, and are to be skipped.
pub(crate) fn runs(
    opened: Opened,
    plan: &Plan,
    source: &Source,
) -> Result<(Vec<Run>, Vec<String>), Fault> {
    let Some(column) = plan.flight_id.as_deref() else {
        let rows = match opened.known_rows() {
            Some(rows) => rows,
            None => counted(opened).map_err(|e| Fault::new("unreadable file", e))?,
        };
        let flight_id = source.stem();
        return Ok((vec![Run { flight_id, rows }], Vec::new()));
    };
    let unreadable = |e: String| Fault::new("unreadable file", e);
    let mut batches = opened.read(&[column]).map_err(unreadable)?;
    let unreadable = |e: String| Fault::new("unreadable file", format!("column `{column}`: {e}"));
    let mut rows = 0_usize;
    let mut runs: Vec<Run> = Vec::new();
    while let Some(batch) = batches
        .next()
        .map_err(|e| Fault::new("unreadable file", e))?
    {
        let texts =
            cast(batch.column(0), &DataType::Utf8).map_err(|e| unreadable(e.to_string()))?;
        for text in texts.as_string::<i32>() {
            rows += 1;
            let Some(text) = text else {
                return Err(unreadable(format!(
                    "row {rows} has no flight id; fill the column"
                )));
            };
            match runs.last_mut() {
                Some(run) if run.flight_id == text => run.rows += 1,
                _ => runs.push(Run {
                    flight_id: text.to_owned(),
                    rows: 1,
                }),
            }
        }
    }
    if runs.is_empty() {
        let detail = "the file has columns and no row; write it again, or remove it".to_owned();
        return Err(Fault::new("no rows", detail));
    }
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    for run in &runs {
        *seen.entry(&run.flight_id).or_default() += 1;
    }
    let back = seen
        .into_iter()
        .filter(|(_, n)| *n > 1)
        .map(|(id, _)| id.to_owned())
        .collect();
    Ok((runs, back))
}

/// Rows of a file that does not tell their number.
fn counted(opened: Opened) -> Result<usize, String> {
    let mut batches = opened.read(&[])?;
    let mut rows = 0;
    while let Some(batch) = batches.next()? {
        rows += batch.num_rows();
    }
    Ok(rows)
}
