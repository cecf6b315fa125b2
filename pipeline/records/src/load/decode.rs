//! Reads the planned columns batch by batch and cuts them into flights.

use arrow::array::RecordBatch;
use parquet::arrow::ProjectionMask;

use super::numbers::{self, Numbers};
use super::parquet_file::next_batch;
use super::plan::Plan;
use super::{Fault, Opened, Run};

const BATCH_ROWS: usize = 16_384;
/// A week at 16 rows a second.
const MAX_FLIGHT_ROWS: usize = 7 * 86_400 * 16;

/// The decoded columns of one flight; `value` and `unmatched` in the order of the plan's channels.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Draft {
    /// As the file has it.
    pub(crate) flight_id: String,
    pub(crate) time_s: Vec<f64>,
    pub(crate) value: Vec<Vec<f64>>,
    /// Entries that the map's `values` do not list or that are no numbers.
    pub(crate) unmatched: Vec<i64>,
}

impl Draft {
    fn new(flight_id: &str, channels: usize) -> Self {
        Self {
            flight_id: flight_id.to_owned(),
            time_s: Vec::new(),
            value: vec![Vec::new(); channels],
            unmatched: vec![0; channels],
        }
    }
}

/// Decodes a file whose rows are cut as `runs` say, one draft after the other into `sink`.
///
/// The outer result is the file's, the inner one the sink's.
pub(crate) fn drafts<E>(
    builder: Opened,
    plan: &Plan,
    runs: &[Run],
    sink: &mut dyn FnMut(Draft) -> Result<(), E>,
) -> Result<Result<(), E>, Fault> {
    let unreadable = |e: String| Fault::new("unreadable file", e);
    let names = plan
        .channels
        .iter()
        .map(|c| c.entry.column.as_str())
        .chain([plan.time.column.as_str()]);
    let indices: Vec<usize> = names
        .filter_map(|name| builder.schema().index_of(name).ok())
        .collect();
    let mask = ProjectionMask::roots(builder.parquet_schema(), indices);
    let mut reader = builder
        .with_projection(mask)
        .with_batch_size(BATCH_ROWS)
        .build()
        .map_err(|e| unreadable(e.to_string()))?;
    if let Some(run) = runs.iter().find(|run| run.rows > MAX_FLIGHT_ROWS) {
        let detail = format!(
            "a flight of {} rows, at most {MAX_FLIGHT_ROWS} are read; where the file holds several \
             flights, give it a flight_id column",
            run.rows
        );
        return Err(Fault::new("flight too long", detail));
    }
    let mut runs = runs.iter();
    let mut run = runs.next();
    let mut draft = run.map(|run| Draft::new(&run.flight_id, plan.channels.len()));
    while let Some(batch) = next_batch(&mut reader).map_err(unreadable)? {
        let mut from = 0;
        while from < batch.num_rows() {
            let (Some(current), Some(open)) = (run, draft.as_mut()) else {
                return Err(unreadable("the file changed while it was read".to_owned()));
            };
            let rows = (current.rows - open.time_s.len()).min(batch.num_rows() - from);
            append(open, &batch.slice(from, rows), plan).map_err(unreadable)?;
            from += rows;
            if open.time_s.len() == current.rows {
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

fn append(draft: &mut Draft, batch: &RecordBatch, plan: &Plan) -> Result<(), String> {
    let column = |name: &str| {
        batch
            .column_by_name(name)
            .ok_or_else(|| format!("column `{name}` is not in the file"))
    };
    let named = |name: &str, e: String| format!("column `{name}`: {e}");
    let time = &plan.time;
    let times = numbers::times(column(&time.column)?, time);
    draft
        .time_s
        .extend(times.map_err(|e| named(&time.column, e))?);
    for (i, channel) in plan.channels.iter().enumerate() {
        let name = &channel.entry.column;
        let Numbers { value, unmatched } =
            numbers::values(column(name)?, channel).map_err(|e| named(name, e))?;
        draft.value[i].extend(value);
        draft.unmatched[i] += unmatched;
    }
    Ok(())
}
