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

/// A flight of more values is refused: by judgement, 18 hours of 240 parameters at 16 Hz. A few bytes of a
/// compressed file can claim any number of rows, and a flight is in memory as a whole.
const MAX_FLIGHT_VALUES: usize = 250_000_000;
/// More flights in one file are refused, by judgement: a file where every row names another flight.
const MAX_FLIGHTS: usize = 1_000_000;

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
        let run = Run { flight_id, rows };
        check_size(&run, plan)?;
        return Ok((vec![run], Vec::new()));
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
            if runs.len() > MAX_FLIGHTS {
                let detail = format!(
                    "more than {MAX_FLIGHTS} changes of `{column}` in one file: sort the file by it, or map \
                     the column that names the flight"
                );
                return Err(Fault::new("too many flights", detail));
            }
        }
    }
    if runs.is_empty() {
        let detail = "the file has columns and no row; write it again, or remove it".to_owned();
        return Err(Fault::new("no rows", detail));
    }
    for run in &runs {
        check_size(run, plan)?;
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

fn check_size(run: &Run, plan: &Plan) -> Result<(), Fault> {
    let values = run.rows.saturating_mul(plan.channels.len() + 1);
    if values <= MAX_FLIGHT_VALUES {
        return Ok(());
    }
    let detail = format!(
        "one flight of {} rows of {} parameters, at most {MAX_FLIGHT_VALUES} values are read: a file of \
         many flights needs the column that names them (flight_id in the map)",
        run.rows,
        plan.channels.len()
    );
    Err(Fault::new("flight too large", detail))
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
