//! Decoded columns to channels: time made increasing, missing entries left out, known lags taken
//! off.

use super::Fault;
use super::decode::Draft;
use super::order::order;
use super::plan::Plan;
use super::times::{EXPECTED, Form, Times};
use crate::fleet::Fleet;
use crate::flight::{Channel, FlightHeader, RawFlight};
use crate::rows::QualityRow;
use crate::timebase::interval_s;

/// Times beyond this are a clock's, not a record's: a week.
const CLOCK_FROM_S: f64 = 604_800.0;
/// Characters of a text that are shown.
const MAX_EXAMPLE: usize = 40;

pub(super) fn assemble(
    draft: Draft,
    flight_id: &str,
    plan: &Plan,
    relative: &str,
    fleet: &Fleet,
) -> Result<RawFlight, Fault> {
    // Unknown is like unknown here, so compare the bits.
    let same = |a: usize, b: usize| {
        let mut columns = draft.value.iter();
        columns.all(|value| value[a].to_bits() == value[b].to_bits())
    };
    let file_s = draft.times.unrolled();
    let order = order(&file_s, same).map_err(|fault| example(fault, &draft.times, plan))?;
    let rows = &order.rows;
    let start_s = rows.first().map_or(0.0, |&row| file_s[row]);
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
    if !order.notes.is_empty() {
        let action = order.notes.join("; ");
        flight.quality.push(note(flight_id, "time_s", action));
    }
    for name in &plan.absent {
        let action = "its column is not in the file".to_owned();
        flight.quality.push(silent(flight_id, name, action));
    }
    let clock = matches!(draft.times.form, Some(Form::Moment | Form::Clock));
    let origin_s = if clock || start_s.abs() > CLOCK_FROM_S {
        start_s
    } else {
        0.0
    };
    let first_s = start_s - origin_s;
    for (i, planned) in plan.channels.iter().enumerate() {
        let value = &draft.value[i];
        let known = rows.iter().copied().filter(|&row| !value[row].is_nan());
        let (mut time_s, value): (Vec<f64>, Vec<f64>) = known
            .map(|row| (file_s[row] - origin_s - planned.entry.delay_s, value[row]))
            .unzip();
        if draft.unmatched[i] > 0 {
            let action = format!(
                "{} entries that are in no table of values left out",
                draft.unmatched[i]
            );
            flight.quality.push(note(flight_id, &planned.name, action));
        }
        if time_s.is_empty() {
            let action = "no value in the whole record".to_owned();
            let row = silent(flight_id, &planned.name, action);
            flight.quality.push(row);
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

/// Shows the first time that could not be read with a fault of the time column.
fn example(fault: Fault, times: &Times, plan: &Plan) -> Fault {
    let Some(text) = &times.unreadable else {
        return fault;
    };
    let shown: String = text.chars().take(MAX_EXAMPLE).collect();
    let detail = format!(
        "{}; column `{}` holds `{shown}`, expected {EXPECTED}, and one form in all rows",
        fault.detail, plan.time.column
    );
    Fault::new(fault.reason, detail)
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

/// A note on a parameter of which nothing is known.
fn silent(flight_id: &str, parameter: &str, action: String) -> QualityRow {
    QualityRow {
        coverage: 0.0,
        ..note(flight_id, parameter, action)
    }
}
