//! Decoded columns to channels: time made increasing, missing entries left out, known lags taken
//! off.

use super::Fault;
use super::decode::Draft;
use super::plan::Plan;
use crate::fleet::Fleet;
use crate::flight::{Channel, FlightHeader, RawFlight};
use crate::rows::QualityRow;
use crate::timebase::interval_s;

/// Times beyond this are a clock's, not a record's: a week.
const CLOCK_FROM_S: f64 = 604_800.0;
/// Rows with unusable time that are dropped and counted; more, and the record is refused.
const MAX_BAD_SHARE: f64 = 0.05;

pub(super) fn assemble(
    draft: Draft,
    flight_id: &str,
    plan: &Plan,
    relative: &str,
    fleet: &Fleet,
) -> Result<RawFlight, Fault> {
    let (rows, start_s) = usable_rows(&draft.time_s)?;
    let header = fleet
        .flights
        .get(flight_id)
        .cloned()
        .unwrap_or_else(|| FlightHeader {
            flight_id: flight_id.to_owned(),
            ..FlightHeader::default()
        });
    let mut flight = RawFlight {
        file: relative.into(),
        header,
        ..RawFlight::default()
    };
    let dropped = draft.time_s.len() - rows.len();
    if dropped > 0 {
        let action = format!("{dropped} rows with repeated, backward or missing time dropped");
        flight.quality.push(note(flight_id, "time_s", action));
    }
    let origin_s = if start_s.abs() > CLOCK_FROM_S {
        start_s
    } else {
        0.0
    };
    let first_s = start_s - origin_s;
    for (i, planned) in plan.channels.iter().enumerate() {
        let value = &draft.value[i];
        let known = rows.iter().copied().filter(|&row| !value[row].is_nan());
        let (mut time_s, value): (Vec<f64>, Vec<f64>) = known
            .map(|row| {
                (
                    draft.time_s[row] - origin_s - planned.entry.delay_s,
                    value[row],
                )
            })
            .unzip();
        if draft.unmatched[i] > 0 {
            let action = format!(
                "{} entries that are in no table of values left out",
                draft.unmatched[i]
            );
            flight.quality.push(note(flight_id, &planned.name, action));
        }
        if time_s.is_empty() {
            continue;
        }
        if planned.entry.whole_record {
            time_s[0] = first_s;
        }
        let interval_s = interval_s(&time_s, &value);
        let channel = Channel {
            time_s,
            value,
            interval_s,
            holds: planned.entry.on_change,
        };
        flight.channels.insert(planned.name.clone(), channel);
    }
    Ok(flight)
}

/// Rows whose time is later than all before, and the first time.
fn usable_rows(time_s: &[f64]) -> Result<(Vec<usize>, f64), Fault> {
    let mut rows = Vec::with_capacity(time_s.len());
    let mut last = f64::NEG_INFINITY;
    let mut first_bad = None;
    for (row, &time) in time_s.iter().enumerate() {
        if time.is_finite() && time > last {
            rows.push(row);
            last = time;
        } else if first_bad.is_none() {
            first_bad = Some(row);
        }
    }
    let bad = time_s.len() - rows.len();
    match (rows.first(), first_bad) {
        (None, _) => Err(Fault::new(
            "no usable time",
            "no row has a time; check the time column",
        )),
        (_, Some(row)) if bad as f64 > MAX_BAD_SHARE * time_s.len() as f64 => {
            let detail = format!(
                "{bad} of {} rows have a time that repeats, goes back or is missing, the first is \
                 row {}; sort the record by time, one row a moment",
                time_s.len(),
                row + 1
            );
            Err(Fault::new("time does not increase", detail))
        }
        (Some(&first), _) => Ok((rows, time_s[first])),
    }
}

fn note(flight_id: &str, parameter: &str, action: String) -> QualityRow {
    QualityRow {
        flight_id: flight_id.to_owned(),
        parameter: parameter.to_owned(),
        coverage: 1.0,
        action,
        ..QualityRow::default()
    }
}
