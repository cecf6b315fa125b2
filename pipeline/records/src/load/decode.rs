//! Reads the planned columns batch by batch and cuts them into flights, handed out one at a time.

use arrow::array::RecordBatch;

use super::numbers::{self, Numbers};
use super::plan::Plan;
use super::table_file::Batches;
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

/// The flights of a file whose rows are cut as `runs` say, one after the other.
pub(crate) struct Drafts<'a> {
    batches: Batches,
    plan: &'a Plan,
    runs: std::slice::Iter<'a, Run>,
    /// Decoded rows that were not handed out yet.
    rest: Option<RecordBatch>,
}

impl<'a> Drafts<'a> {
    pub(crate) fn new(opened: Opened, plan: &'a Plan, runs: &'a [Run]) -> Result<Self, Fault> {
        if let Some(run) = runs.iter().find(|run| run.rows > MAX_FLIGHT_ROWS) {
            let detail = format!(
                "a flight of {} rows, at most {MAX_FLIGHT_ROWS} are read; where the file holds \
                 several flights, give it a flight_id column",
                run.rows
            );
            return Err(Fault::new("flight too long", detail));
        }
        let names = plan.channels.iter().map(|c| c.entry.column.as_str());
        let names: Vec<&str> = names.chain([plan.time.column.as_str()]).collect();
        Ok(Self {
            batches: opened.read(&names).map_err(unreadable)?,
            plan,
            runs: runs.iter(),
            rest: None,
        })
    }

    /// The next flight; none after the last.
    pub(crate) fn next(&mut self) -> Result<Option<Draft>, Fault> {
        let changed = || unreadable("the file changed while it was read".to_owned());
        let Some(run) = self.runs.next() else {
            return match self.rows()? {
                None => Ok(None),
                Some(_) => Err(changed()),
            };
        };
        if run.rows == 0 {
            return Err(Fault::new("empty file", "the file holds no rows"));
        }
        let mut draft = Draft::new(&run.flight_id, self.plan.channels.len());
        while draft.times.seconds.len() < run.rows {
            let batch = self.rows()?.ok_or_else(changed)?;
            let rows = (run.rows - draft.times.seconds.len()).min(batch.num_rows());
            append(&mut draft, &batch.slice(0, rows), self.plan)?;
            self.rest =
                (rows < batch.num_rows()).then(|| batch.slice(rows, batch.num_rows() - rows));
        }
        Ok(Some(draft))
    }

    /// Some rows that were not handed out yet; none at the end of the file.
    fn rows(&mut self) -> Result<Option<RecordBatch>, Fault> {
        if let Some(rest) = self.rest.take() {
            return Ok(Some(rest));
        }
        while let Some(batch) = self.batches.next().map_err(unreadable)? {
            if batch.num_rows() > 0 {
                return Ok(Some(batch));
            }
        }
        Ok(None)
    }
}

fn unreadable(error: String) -> Fault {
    Fault::new("unreadable file", error)
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
