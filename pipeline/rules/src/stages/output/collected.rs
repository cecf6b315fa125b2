//! What a review takes out of the store: rows where there are few of an approach, and of the large tables what the
//! summaries need of them.

use std::collections::BTreeMap;
use std::path::PathBuf;

use records::fleet::{InterventionRow, VerdictRow};
use records::rows::{ApproachRow, ArrivalRow, CheckpointRow, QuarantineRow};
use serde::de::DeserializeOwned;

use super::super::load::{FlightRow, standing_refusals};
use super::super::robust::Shares;
use crate::rows::{EventRow, RobustnessRow, SuspectRow};
use crate::store::{Store, StoreError, read_rows};
use crate::summarise::{
    Checkpoints, FlownCounts, Fold, Gates, LossTable, Losses, Measured, Moves, Places, Qualities,
    add_rows, fold, reclassify,
};

/// Everything a review needs of a store but the samples, in the order of the tables.
#[derive(Debug, Default)]
pub struct Collected {
    /// Flights that were prepared.
    pub flights: Vec<FlightRow>,
    /// One row an approach.
    pub approaches: Vec<ApproachRow>,
    /// One row an event.
    pub events: Vec<EventRow>,
    /// One row an event that only samples show which were made unknown.
    pub suspects: Vec<SuspectRow>,
    /// One row a verdict that was reached again on perturbed samples.
    pub robustness: Vec<RobustnessRow>,
    /// One row an approach: how it came in.
    pub arrivals: Vec<ArrivalRow>,
    /// One row a refused input.
    pub quarantine: Vec<QuarantineRow>,
    /// Flights flown, received and used, by type and month.
    pub flown: Vec<FlownCounts>,
    /// What the operator changed, in the order of months.
    pub interventions: Vec<InterventionRow>,
    /// What people who looked at events say of them.
    pub verdicts: Vec<VerdictRow>,
    /// What every rule says of every approach.
    pub measured: Measured,
    /// How every approach met every criterion.
    pub gates: Gates,
    /// Energy at the checkpoints.
    pub checkpoints: Checkpoints,
    /// Moves of levers that bring drag.
    pub lever_moves: Moves,
    /// What approaches lost in each configuration.
    pub losses: Losses,
    /// How well parameters were recorded.
    pub quality: Qualities,
    pub(super) stored: Stored,
}

/// The files of the large tables, which are written from there.
#[derive(Debug, Default)]
pub(super) struct Stored {
    root: PathBuf,
    files: BTreeMap<&'static str, Vec<String>>,
    /// Whether there are rows of approaches that are not reviewed.
    pub(super) some_left_out: bool,
    /// The loss rates by which checkpoints are put into classes again.
    pub(super) rates: Option<LossTable>,
}

impl Stored {
    /// Tables that are written file by file.
    const TABLES: [&'static str; 7] = [
        "measurements",
        "gates",
        "quality",
        "checkpoints",
        "lever_moves",
        "losses",
        "headers",
    ];

    fn of(store: &Store, number: u64) -> Self {
        let files = |table: &'static str| (table, store.files_at(table, number));
        Self {
            root: store.root().to_owned(),
            files: Self::TABLES.into_iter().map(files).collect(),
            ..Self::default()
        }
    }

    /// The files of a table.
    pub(super) fn paths(&self, table: &str) -> Vec<PathBuf> {
        let files = self.files.get(table).into_iter().flatten();
        files.map(|file| self.root.join(file)).collect()
    }
}

/// Reads a store as of run `number`, up to and with the month `until` where one is given; approaches without a
/// month stay, as they are in no trend.
///
/// # Errors
/// A file of the store is missing or damaged.
pub fn collect(store: &Store, number: u64, until: Option<&str>) -> Result<Collected, StoreError> {
    fn rows<T: DeserializeOwned>(
        store: &Store,
        table: &str,
        number: u64,
    ) -> Result<Vec<T>, StoreError> {
        read_rows(store.root(), &store.files_at(table, number))
    }
    let mut approaches: Vec<ApproachRow> = rows(store, "approaches", number)?;
    if let Some(until) = until {
        approaches.retain(|row| row.month.as_deref().is_none_or(|own| own <= until));
    }
    approaches.sort_by(|a, b| (&a.flight_id, a.approach_no).cmp(&(&b.flight_id, b.approach_no)));
    let places = Places::new(&approaches);
    let (measured, rest) = rayon::join(
        || fold::<Measured>(store, number, &places),
        || {
            Ok::<_, StoreError>(Collected {
                flights: rows(store, "flights", number)?,
                events: rows(store, "events", number)?,
                suspects: rows(store, "suspect", number)?,
                robustness: rows(store, "robustness", number)?,
                arrivals: rows(store, "arrivals", number)?,
                quarantine: standing_refusals(store, number)?,
                flown: rows(store, "flown_counts", number)?,
                interventions: rows(store, "interventions", number)?,
                verdicts: rows(store, "verdicts", number)?,
                gates: fold(store, number, &places)?,
                checkpoints: fold(store, number, &places)?,
                lever_moves: fold(store, number, &places)?,
                losses: fold(store, number, &places)?,
                quality: fold(store, number, &places)?,
                stored: Stored::of(store, number),
                ..Collected::default()
            })
        },
    );
    let mut all = rest?;
    all.measured = measured?;
    if until.is_some() {
        all.stored.some_left_out = true;
        let is_kept = |flight: &str, number: i32| places.row(flight, number).is_some();
        all.events
            .retain(|row| is_kept(&row.flight_id, row.approach_no));
        all.suspects
            .retain(|row| is_kept(&row.flight_id, row.approach_no));
        all.robustness
            .retain(|row| is_kept(&row.flight_id, row.approach_no));
        all.arrivals
            .retain(|row| is_kept(&row.flight_id, row.approach_no));
    }
    all.sort();
    all.approaches = approaches;
    Ok(all)
}

impl Collected {
    fn sort(&mut self) {
        self.flights.sort_by(|a, b| a.flight_id.cmp(&b.flight_id));
        // Stable: events of one rule and approach come from one file, in time.
        self.events.sort_by(|a, b| {
            (&a.flight_id, a.approach_no, &a.rule).cmp(&(&b.flight_id, b.approach_no, &b.rule))
        });
        self.suspects.sort_by(|a, b| {
            (&a.flight_id, a.approach_no, &a.rule).cmp(&(&b.flight_id, b.approach_no, &b.rule))
        });
        self.robustness.sort_by(|a, b| {
            let key =
                |row: &RobustnessRow| (row.flight_id.clone(), row.approach_no, row.rule.clone());
            let start = |row: &RobustnessRow| row.start_s.unwrap_or(f64::MAX);
            (key(a), &a.verdict)
                .cmp(&(key(b), &b.verdict))
                .then_with(|| start(a).total_cmp(&start(b)))
                .then_with(|| a.criterion.cmp(&b.criterion))
        });
        let shares = Shares::new(&self.robustness);
        for event in &mut self.events {
            event.robustness = shares.of_event(event);
        }
        self.arrivals
            .sort_by(|a, b| (&a.flight_id, a.approach_no).cmp(&(&b.flight_id, b.approach_no)));
        self.quarantine.sort_by(|a, b| {
            (&a.file, &a.flight_id, &a.stage).cmp(&(&b.file, &b.flight_id, &b.stage))
        });
    }

    /// Puts every checkpoint into the class that these loss rates make of it, here and in the table.
    ///
    /// # Errors
    /// A file of the store is missing or damaged.
    pub fn reclassify(&mut self, rates: LossTable) -> Result<(), StoreError> {
        let places = Places::new(&self.approaches);
        let mut checkpoints = Checkpoints::default();
        for file in self
            .stored
            .files
            .get(Checkpoints::TABLE)
            .into_iter()
            .flatten()
        {
            let mut rows: Vec<CheckpointRow> =
                read_rows(&self.stored.root, std::slice::from_ref(file))?;
            reclassify(&mut rows, &places, &rates);
            add_rows(&mut checkpoints, &rows, &places)?;
        }
        checkpoints.finish();
        self.checkpoints = checkpoints;
        self.stored.rates = Some(rates);
        Ok(())
    }
}
