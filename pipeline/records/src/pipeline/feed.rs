//! Turns one file into jobs: itself where it holds one flight, else its flights one by one.

use std::sync::Arc;

use crate::fleet::Fleet;
use crate::load::{self, Draft, Fault, Plan, Run, Source, parquet_file};
use crate::rows::QuarantineRow;

/// One piece of work for one thread.
pub(super) enum Job<'a> {
    /// Read and prepare a file of one flight.
    File(Source<'a>),
    /// Prepare a flight that was cut out of a larger file.
    Draft {
        /// The larger file.
        source: Source<'a>,
        /// Its decoded columns.
        draft: Draft,
        /// What they are.
        plan: Arc<Plan>,
    },
    /// Nothing to do but to say so.
    Refused(Source<'a>, QuarantineRow),
}

impl<'a> Job<'a> {
    pub(super) fn source(&self) -> Source<'a> {
        match self {
            Self::File(source) | Self::Refused(source, _) | Self::Draft { source, .. } => *source,
        }
    }
}

/// One file of a fleet.
pub(super) struct Feed<'a> {
    pub(super) fleet: &'a Fleet,
    pub(super) source: Source<'a>,
}

impl<'a> Feed<'a> {
    /// Hands the jobs of this file to `take`; returns what `take` returns.
    pub(super) fn jobs<E>(self, take: &mut dyn FnMut(Job<'a>) -> Result<(), E>) -> Result<(), E> {
        let source = self.source;
        match self.cut(take) {
            Ok(taken) => taken,
            Err(row) => take(Job::Refused(source, row)),
        }
    }

    fn cut<E>(
        &self,
        take: &mut dyn FnMut(Job<'a>) -> Result<(), E>,
    ) -> Result<Result<(), E>, QuarantineRow> {
        let source = self.source;
        let open = || {
            parquet_file::open(source.path)
                .map_err(|detail| source.refuse("read", Fault::new("unreadable file", detail)))
        };
        let builder = open()?;
        let plan = load::plan(builder.schema(), self.fleet).map_err(|f| source.refuse("map", f))?;
        let Some(column) = plan.flight_id.as_deref() else {
            return Ok(take(Job::File(source)));
        };
        let (runs, back) =
            load::runs(builder, column).map_err(|fault| source.refuse("read", fault))?;
        for flight_id in &back {
            if let Err(error) = take(Job::Refused(source, self.unsorted(flight_id)?)) {
                return Ok(Err(error));
            }
        }
        let plan = Arc::new(plan);
        let mut cut = |draft: Draft| {
            if back.contains(&draft.flight_id) {
                return Ok(());
            }
            take(Job::Draft {
                source,
                draft,
                plan: Arc::clone(&plan),
            })
        };
        self.drafts(&runs, &plan, open, &mut cut)
    }

    fn drafts<E>(
        &self,
        runs: &[Run],
        plan: &Plan,
        open: impl Fn() -> Result<load::Opened, QuarantineRow>,
        cut: &mut dyn FnMut(Draft) -> Result<(), E>,
    ) -> Result<Result<(), E>, QuarantineRow> {
        load::drafts(open()?, plan, runs, cut).map_err(|fault| self.source.refuse("read", fault))
    }

    fn unsorted(&self, flight_id: &str) -> Result<QuarantineRow, QuarantineRow> {
        let detail = "the rows of this flight do not stand together; sort the file by flight_id";
        let row = self
            .source
            .refuse("read", Fault::new("flight in pieces", detail));
        match self.fleet.privacy.id(flight_id) {
            Ok(id) => Ok(QuarantineRow {
                flight_id: Some(id),
                ..row
            }),
            Err(e) => Err(self
                .source
                .refuse("read", Fault::new("no privacy key", e.to_string()))),
        }
    }
}
