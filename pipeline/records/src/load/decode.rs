//! Reads the planned columns batch by batch and cuts them into flights, handed out one at a time. Their columns
//! are converted later: who reads a large file is one, who prepares its flights are many.

use arrow::array::{ArrayRef, RecordBatch};

use super::numbers::Known;
use super::plan::Plan;
use super::table_file::Batches;
use super::times::Times;
use super::{Fault, Opened, Run};

/// A week at 16 rows a second.
const MAX_FLIGHT_ROWS: usize = 7 * 86_400 * 16;

/// The rows of one flight as they were read: its times known, its columns not looked at yet.
pub(crate) struct Rows {
    /// As the file has it.
    pub(crate) flight_id: String,
    times: Times,
    /// One after the other, with all planned columns.
    batches: Vec<RecordBatch>,
}

impl Rows {
    /// Converts the columns.
    pub(crate) fn draft(self, plan: &Plan) -> Result<Draft, Fault> {
        let mut draft = Draft {
            flight_id: self.flight_id,
            times: self.times,
            known: vec![Known::default(); plan.channels.len()],
            unmatched: vec![0; plan.channels.len()],
        };
        let mut first_row = 0;
        for batch in &self.batches {
            for (i, channel) in plan.channels.iter().enumerate() {
                let name = &channel.entry.column;
                let read = draft.known[i].read(column(batch, name)?, channel, first_row);
                draft.unmatched[i] += read.map_err(|e| wrong(name, e))?;
            }
            first_row += batch.num_rows();
        }
        Ok(draft)
    }
}

/// The decoded columns of one flight; `known` and `unmatched` in the order of the plan's channels.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Draft {
    /// As the file has it.
    pub(crate) flight_id: String,
    pub(crate) times: Times,
    pub(crate) known: Vec<Known>,
    /// Entries that the map's `values` do not list or that are no numbers.
    pub(crate) unmatched: Vec<i64>,
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
    pub(crate) fn next(&mut self) -> Result<Option<Rows>, Fault> {
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
        let mut flight = Rows {
            flight_id: run.flight_id.clone(),
            times: Times::default(),
            batches: Vec::new(),
        };
        let time = &self.plan.time;
        while flight.times.seconds.len() < run.rows {
            let batch = self.rows()?.ok_or_else(changed)?;
            let rows = (run.rows - flight.times.seconds.len()).min(batch.num_rows());
            let now = batch.slice(0, rows);
            let times = flight.times.read(column(&now, &time.column)?, time);
            times.map_err(|e| wrong(&time.column, e))?;
            flight.batches.push(now);
            self.rest =
                (rows < batch.num_rows()).then(|| batch.slice(rows, batch.num_rows() - rows));
        }
        Ok(Some(flight))
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

fn column<'a>(batch: &'a RecordBatch, name: &str) -> Result<&'a ArrayRef, Fault> {
    batch.column_by_name(name).ok_or_else(|| {
        let detail = format!("column `{name}` is not in the file");
        Fault::new("unreadable file", detail)
    })
}

fn wrong(name: &str, error: String) -> Fault {
    Fault::new("wrong column type", format!("column `{name}`: {error}"))
}
