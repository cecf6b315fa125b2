//! What a store holds of one approach, put together for its page.

use arrow::array::RecordBatch;
use records::energy::{ON_PROFILE_FT, SPEEDBRAKE_OUT};
use records::rows::{ApproachRow, ArrivalRow, CheckpointRow, LeverMoveRow};
use report::retrace::{Event, Gate, Retrace as Page};
use rules::rows::{EventRow, GateRow, MeasurementRow};
use rules::store::{FoundApproach, Store, approaches_of_flight, read_approach, rows_of_approaches};

use super::checkpoints::{checkpoints, moves};
use super::columns::series;
use super::measures::measures;
use crate::failure::Failure;

/// The approach asked for.
pub(super) fn approach(
    store: &Store,
    flight_id: &str,
    number: Option<i32>,
) -> Result<FoundApproach, Failure> {
    let mut all = approaches_of_flight(store, flight_id).map_err(Failure::plain)?;
    if all.is_empty() {
        return Err(Failure::text(format!(
            "the store has no approach of flight `{flight_id}`: expected an id as in \
             restricted/tables/approaches.csv; if the flight was given to a review, look for it in \
             restricted/tables/quarantine.csv"
        )));
    }
    let numbers: Vec<String> = all.iter().map(|a| a.row.approach_no.to_string()).collect();
    let numbers = numbers.join(", ");
    let index = match number {
        None if all.len() == 1 => 0,
        None => {
            return Err(Failure::text(format!(
                "flight `{flight_id}` has approaches {numbers}: say which by its number after the flight id"
            )));
        }
        Some(number) => all
            .iter()
            .position(|a| a.row.approach_no == number)
            .ok_or_else(|| {
                Failure::text(format!(
                    "flight `{flight_id}` has no approach {number}: expected one of {numbers}"
                ))
            })?,
    };
    Ok(all.swap_remove(index))
}

/// Everything its page shows, by the newest state of the store.
pub(super) fn page(store: &Store, approach: &FoundApproach) -> Result<Page, Failure> {
    let row = &approach.row;
    let own =
        |flight_id: &str, number: i32| flight_id == row.flight_id && number == row.approach_no;
    let batch = read_approach(store, approach).map_err(Failure::plain)?;
    let stored = Stored::read(store, store.number(), &own)?;
    Ok(stored.page(row, &batch, store.number()))
}

/// What the tables of a store hold of some approaches, besides their rows.
#[derive(Default)]
pub(in crate::commands) struct Stored {
    verdicts: Vec<MeasurementRow>,
    events: Vec<EventRow>,
    gates: Vec<GateRow>,
    checkpoints: Vec<CheckpointRow>,
    moves: Vec<LeverMoveRow>,
    arrivals: Vec<ArrivalRow>,
}

impl Stored {
    /// Reads what there is after run `number` of the approaches for which `own` says so.
    pub(in crate::commands) fn read(
        store: &Store,
        number: u64,
        own: &dyn Fn(&str, i32) -> bool,
    ) -> Result<Self, Failure> {
        macro_rules! table {
            ($name:literal) => {
                rows_of_approaches(store, $name, number, own).map_err(Failure::plain)?
            };
        }
        Ok(Self {
            verdicts: table!("measurements"),
            events: table!("events"),
            gates: table!("gates"),
            checkpoints: table!("checkpoints"),
            moves: table!("lever_moves"),
            arrivals: table!("arrivals"),
        })
    }

    /// The page of one of these approaches: its row, its samples, and the run it is of.
    pub(in crate::commands) fn page(
        &self,
        row: &ApproachRow,
        samples: &RecordBatch,
        number: u64,
    ) -> Page {
        macro_rules! own {
            ($rows:ident) => {{
                let own = self.$rows.iter().filter(|one| {
                    one.flight_id == row.flight_id && one.approach_no == row.approach_no
                });
                own.cloned().collect::<Vec<_>>()
            }};
        }
        let (mut events, mut gates, verdicts) = (own!(events), own!(gates), own!(verdicts));
        // In the order of the flight, those without a moment last; stable, so that equal ones stay as stored.
        let first = |e: &EventRow| e.start_s.or(e.worst_s).unwrap_or(f64::INFINITY);
        events.sort_by(|a, b| {
            first(a)
                .total_cmp(&first(b))
                .then_with(|| a.rule.cmp(&b.rule))
        });
        gates.sort_by(|a, b| {
            let order = a.rule.cmp(&b.rule);
            order.then(b.gate_value.total_cmp(&a.gate_value))
        });
        let mut not_evaluable: Vec<String> = verdicts
            .iter()
            .filter(|verdict| verdict.status == "not_evaluable")
            .map(|verdict| verdict.rule.clone())
            .collect();
        not_evaluable.sort();
        Page {
            flight_id: row.flight_id.clone(),
            approach_no: row.approach_no,
            facts: facts(row, number),
            checkpoints: checkpoints(&own!(checkpoints)),
            moves: moves(own!(moves), row.end_s),
            series: series(samples, row.end_s),
            measures: measures(row, own!(arrivals).first()),
            gates: gates.into_iter().map(gate).collect(),
            events: events.into_iter().map(event).collect(),
            not_evaluable,
            judged: !verdicts.is_empty(),
            band_ft: ON_PROFILE_FT,
            speedbrake_out: SPEEDBRAKE_OUT,
        }
    }
}

fn facts(row: &ApproachRow, run: u64) -> Vec<(String, String)> {
    let text = |value: &Option<String>| value.clone().unwrap_or_else(|| "unknown".to_owned());
    let figure = |value: Option<f64>, places: usize| {
        value.map_or_else(|| "unknown".to_owned(), |v| format!("{v:.places$}"))
    };
    [
        ("Aircraft type", text(&row.aircraft_type)),
        ("Month", text(&row.month)),
        ("Airport", text(&row.airport)),
        ("Runway", text(&row.runway)),
        ("Approach", row.approach_kind.replace('_', " ")),
        ("Outcome", row.outcome.replace('_', " ")),
        ("Mass / max landing", figure(row.mass_ratio, 2)),
        ("Run of the store", run.to_string()),
    ]
    .into_iter()
    .map(|(label, value)| (label.to_owned(), value))
    .collect()
}

fn gate(row: GateRow) -> Gate {
    let name = match (row.gate_ft, row.gate_column.as_str()) {
        (Some(ft), _) => format!("{ft:.0} ft"),
        (None, "distance_to_threshold_nm") => format!("{} NM", row.gate_value),
        (None, column) => format!("{} {}", column.replace('_', " "), row.gate_value),
    };
    Gate {
        name,
        rule: row.rule,
        criterion: row.criterion,
        time_s: row.gate_s,
        value: row.value,
        lower: row.lower,
        upper: row.upper,
        passed: row.passed.filter(|_| row.applies != Some(false)),
    }
}

fn event(row: EventRow) -> Event {
    Event {
        rule: row.rule,
        level: row.level,
        start_s: row.start_s,
        end_s: row.end_s,
        worst_s: row.worst_s,
        worst: row.worst,
        unit: row.worst_unit,
        partial: row.partial,
    }
}
