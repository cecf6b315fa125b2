//! Reads the planned columns batch by batch and cuts them into flights.

use arrow::array::RecordBatch;

use super::numbers::{self, Numbers};
use super::plan::Plan;
use super::times::Times;
use super::{Fault, Opened, Run};

/// A week at 16 rows a second.
const MAX_FLIGHT_ROWS: usize = 7 * 86_400 * 16;

/// The decoded columns of one flight; `value` and `unmatched` in the order of the plan's channels.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Draft {
    /// As the file has it.
    pub(crate) flight_id: String,
    pub(crate) times: Times,
    pub(crate) value: Vec<Vec<f64>>,
    /// Entries that the map's `values` do not list or that are no numbers.
    pub(crate) unmatched: Vec<i64>,
}

impl Draft {
    fn new(flight_id: &str, channels: usize) -> Self {
        Self {
            flight_id: flight_id.to_owned(),
            times: Times::default(),
            value: vec![Vec::new(); channels],
            unmatched: vec![0; channels],
        }
    }
}

/// Decodes a file whose rows are cut as `runs` say, one draft after the other into `sink`.
///
/// The outer result is the file's, the inner one the sink's.
pub(crate) fn drafts<E>(
    opened: Opened,
    plan: &Plan,
    runs: &[Run],
    sink: &mut dyn FnMut(Draft) -> Result<(), E>,
) -> Result<Result<(), E>, Fault> {
    let unreadable = |e: String| Fault::new("unreadable file", e);
    if let Some(run) = runs.iter().find(|run| run.rows > MAX_FLIGHT_ROWS) {
        let detail = format!(
            "a flight of {} rows, at most {MAX_FLIGHT_ROWS} are read; where the file holds several \
             flights, give it a flight_id column",
            run.rows
        );
        return Err(Fault::new("flight too long", detail));
    }
    let names = plan.channels.iter().map(|c| c.entry.column.as_str());
    let names: Vec<&str> = names.chain([plan.time.column.as_str()]).collect();
    let mut batches = opened.read(&names).map_err(unreadable)?;
    let mut runs = runs.iter();
    let mut run = runs.next();
    let mut draft = run.map(|run| Draft::new(&run.flight_id, plan.channels.len()));
    while let Some(batch) = batches.next().map_err(unreadable)? {
        let mut from = 0;
        while from < batch.num_rows() {
            let (Some(current), Some(open)) = (run, draft.as_mut()) else {
                return Err(unreadable("the file changed while it was read".to_owned()));
            };
            let rows = (current.rows - open.times.seconds.len()).min(batch.num_rows() - from);
            append(open, &batch.slice(from, rows), plan)?;
            from += rows;
            if open.times.seconds.len() == current.rows {
                run = runs.next();
                let next = run.map(|run| Draft::new(&run.flight_id, plan.channels.len()));
                if let Some(done) = std::mem::replace(&mut draft, next)
                    && let Err(error) = sink(done)
                {
                    return Ok(Err(error));
                }
            }
        }
    }
    Ok(Ok(()))
}

fn append(draft: &mut Draft, batch: &RecordBatch, plan: &Plan) -> Result<(), Fault> {
    let column = |name: &str| {
        batch.column_by_name(name).ok_or_else(|| {
            let detail = format!("column `{name}` is not in the file");
            Fault::new("unreadable file", detail)
        })
    };
    let wrong =
        |name: &str, e: String| Fault::new("wrong column type", format!("column `{name}`: {e}"));
    let time = &plan.time;
    draft
        .times
        .read(column(&time.column)?, time)
        .map_err(|e| wrong(&time.column, e))?;
    for (i, channel) in plan.channels.iter().enumerate() {
        let name = &channel.entry.column;
        let Numbers { value, unmatched } =
            numbers::values(column(name)?, channel).map_err(|e| wrong(name, e))?;
        draft.value[i].extend(value);
        draft.unmatched[i] += unmatched;
    }
    Ok(())
}
