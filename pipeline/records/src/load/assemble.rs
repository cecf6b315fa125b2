//! Decoded columns to channels: time made increasing, the parts of a record brought to one clock, missing
//! entries left out, known lags taken off.

use super::Fault;
use super::common_time::{Span, common_time};
use super::decode::Draft;
use super::order::order;
use super::plan::Plan;
use super::times::{EXPECTED, Times};
use crate::fleet::Fleet;
use crate::flight::{Channel, FlightHeader, RawFlight};
use crate::rows::QualityRow;
use crate::timebase::interval_s;

/// Characters of a text that are shown.
const MAX_EXAMPLE: usize = 40;

/// What one file holds of a flight.
pub(crate) struct Part<'a> {
    pub(crate) draft: Draft,
    pub(crate) plan: &'a Plan,
    /// The file, where the flight lies in several.
    pub(crate) name: Option<&'a str>,
}

impl Part<'_> {
    /// Words about this part, saying which it is where there are others.
    fn told(&self, words: &str) -> String {
        match self.name {
            Some(name) => format!("{name}: {words}"),
            None => words.to_owned(),
        }
    }

    /// Rows in the order of their times, with all times in seconds.
    fn sorted(&self) -> Result<Sorted, Fault> {
        let same = |a: usize, b: usize| {
            let mut columns = self.draft.known.iter();
            columns.all(|known| known.at(a).map(f64::to_bits) == known.at(b).map(f64::to_bits))
        };
        let file_s = self.draft.times.unrolled();
        let order = order(&file_s, same).map_err(|fault| {
            let fault = example(fault, &self.draft.times, self.plan);
            Fault::new(fault.reason, self.told(&fault.detail))
        })?;
        Ok(Sorted {
            file_s,
            rows: order.rows,
            notes: order.notes,
        })
    }
}

struct Sorted {
    file_s: Vec<f64>,
    rows: Vec<usize>,
    notes: Vec<String>,
}

pub(super) fn assemble(
    mut parts: Vec<Part>,
    flight_id: &str,
    relative: &str,
    fleet: &Fleet,
) -> Result<RawFlight, Fault> {
    let sorted = parts
        .iter()
        .map(Part::sorted)
        .collect::<Result<Vec<_>, _>>()?;
    let span = |(part, sorted): (&Part, &Sorted)| {
        let at = |row: Option<&usize>| row.map_or(0.0, |&row| sorted.file_s[row]);
        Span {
            name: part.name.unwrap_or_default().to_owned(),
            form: part.draft.times.form,
            first_s: at(sorted.rows.first()),
            last_s: at(sorted.rows.last()),
        }
    };
    let spans: Vec<Span> = parts.iter().zip(&sorted).map(span).collect();
    let common = common_time(&spans)?;

    let mut notes: Vec<String> = Vec::new();
    for (part, sorted) in parts.iter().zip(&sorted) {
        notes.extend(sorted.notes.iter().map(|note| part.told(note)));
    }
    notes.extend(common.notes);
    let listed = fleet.flights.get(flight_id).cloned();
    let mut flight = RawFlight {
        file: relative.into(),
        header: listed.unwrap_or_else(|| FlightHeader {
            flight_id: flight_id.to_owned(),
            ..FlightHeader::default()
        }),
        ..RawFlight::default()
    };
    if !notes.is_empty() {
        let action = notes.join("; ");
        flight.quality.push(note(flight_id, "time_s", action));
    }
    for name in absent(&parts) {
        let action = "its column is not in the file".to_owned();
        flight.quality.push(silent(flight_id, name, action));
    }
    for ((part, sorted), origin_s) in parts.iter_mut().zip(&sorted).zip(common.origin_s) {
        channels(part, sorted, origin_s, common.start_s, &mut flight);
    }
    Ok(flight)
}

/// Parameters that a map has and no part holds, each once.
fn absent<'a>(parts: &'a [Part]) -> Vec<&'a str> {
    let held = |name: &str| {
        let mut channels = parts.iter().flat_map(|part| &part.plan.channels);
        channels.any(|channel| channel.name == name)
    };
    let all = parts.iter().flat_map(|part| &part.plan.absent);
    let mut absent: Vec<&str> = all.map(String::as_str).filter(|name| !held(name)).collect();
    absent.sort_unstable();
    absent.dedup();
    absent
}

/// Adds the channels of one part; the record begins at `start_s` after the part's origin.
fn channels(part: &mut Part, sorted: &Sorted, origin_s: f64, start_s: f64, flight: &mut RawFlight) {
    let flight_id = flight.header.flight_id.clone();
    let plan = part.plan;
    // Most records are in order, and nothing needs to move.
    let all = sorted.rows.len() == sorted.file_s.len();
    let in_place = all && sorted.rows.iter().enumerate().all(|(at, &row)| at == row);
    for (i, planned) in plan.channels.iter().enumerate() {
        let lag_s = origin_s + planned.entry.delay_s;
        let at_s = |row: usize| sorted.file_s[row] - lag_s;
        let known = std::mem::take(&mut part.draft.known[i]);
        let (mut time_s, value): (Vec<f64>, Vec<f64>) = if in_place {
            let rows = known.rows.iter();
            (rows.map(|&row| at_s(row as usize)).collect(), known.values)
        } else {
            let mut dense = vec![f64::NAN; sorted.file_s.len()];
            for (&row, &value) in known.rows.iter().zip(&known.values) {
                dense[row as usize] = value;
            }
            let rows = sorted.rows.iter().filter(|&&row| !dense[row].is_nan());
            rows.map(|&row| (at_s(row), dense[row])).unzip()
        };
        let unmatched = part.draft.unmatched[i];
        if unmatched > 0 {
            let action = format!("{unmatched} entries that are in no table of values left out");
            flight.quality.push(note(&flight_id, &planned.name, action));
        }
        if time_s.is_empty() {
            let action = "no value in the whole record".to_owned();
            let row = silent(&flight_id, &planned.name, action);
            flight.quality.push(row);
            continue;
        }
        if planned.entry.whole_record {
            time_s[0] = start_s;
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
