//! One flight from raw channels to approaches with all their columns.
//!
//! Segmentation works at the recorder's own rate; only the approaches are resampled.

mod columns;
mod headers;
mod row;
mod uncleaned;

use crate::airfield::{Landed, glide_path_dots, localizer_dots, match_runway};
use crate::approach::{self, Arrival, Level, Outcome, Signals};
use crate::derive::Columns;
use crate::energy::{Story, story};
use crate::fleet::Fleet;
use crate::flight::RawFlight;
use crate::habits;
use crate::quality::{self, Findings};
use crate::rows::{ApproachRow, HeaderRow, QualityRow, QuarantineRow};

pub use headers::without_record;
use uncleaned::Before;

/// One approach: its row and its samples.
#[derive(Debug, Clone, PartialEq)]
pub struct PreparedApproach {
    /// The row of the `approaches` table.
    pub row: ApproachRow,
    /// Recorded and derived columns on the base grid.
    pub columns: Columns,
    /// The same samples as they were before quality made values unknown; none where that changes
    /// nothing. Only to be looked at: no result rests on it.
    pub uncleaned: Option<Columns>,
    /// Checkpoints, lever moves and losses.
    pub story: Story,
}

/// One flight, ready to be stored.
#[derive(Debug, Clone, PartialEq)]
pub struct PreparedFlight {
    /// File it came from, relative to the fleet folder.
    pub file: String,
    /// Opaque id.
    pub flight_id: String,
    /// In flight order; empty where the record holds no approach.
    pub approaches: Vec<PreparedApproach>,
    /// One row per parameter, in name order.
    pub quality: Vec<QualityRow>,
    /// Where flight list and record disagree; empty for most flights.
    pub headers: Vec<HeaderRow>,
}

/// A roll or a missed approach is stored for this long.
const AFTER_S: f64 = 60.0;

/// Everything decided about one approach before it is resampled.
struct Plan<'a> {
    arrival: Arrival,
    landed: Option<Landed<'a>>,
    level: Option<Level>,
    initiation: Option<approach::Initiation>,
    start_s: f64,
    /// Touchdown or go-around initiation.
    end_s: f64,
    /// From here samples belong to the missed approach.
    missed_s: Option<f64>,
    /// Last moment that is stored.
    stored_to_s: f64,
}

/// Cleans one flight, finds its approaches and computes their columns.
///
/// # Errors
/// A flight without a single known pressure altitude is returned as a quarantine row: nothing can
/// be said about where it approached, landed or went around.
pub fn prepare(mut raw: RawFlight, fleet: &Fleet) -> Result<PreparedFlight, QuarantineRow> {
    let aircraft = fleet.aircraft_of(&raw.header);
    let mut before = Before::of(&raw);
    let mut findings = quality::clean(&mut raw, &fleet.catalogue, aircraft, &fleet.limits);
    findings.refused().for_each(|(name, _)| before.forget(name));
    let signals = Signals::of(&raw);
    if signals.altitude.is_empty() {
        return Err(no_altitude(&raw, &findings));
    }
    let (plans, doubt) = plan(&raw, &signals, fleet);
    needles(&mut raw, &signals, &plans, &mut findings);
    let mut quality = findings.report(&mut raw);
    if let Some(action) = doubt.clone() {
        quality::note(&mut quality, &raw.header.flight_id, "qnh_hpa", action);
    }
    let uncleaned = before.uncleaned(&raw, fleet);
    let approaches: Vec<PreparedApproach> = plans
        .iter()
        .enumerate()
        .map(|(i, plan)| {
            let columns = columns::columns(&raw, &signals, fleet, plan);
            let mut row = row::row(&raw, &signals, fleet, plan, i as i32 + 1, &columns);
            habits::fill(&mut row, &columns);
            let uncleaned = uncleaned.approach(&columns, &raw, fleet, plan);
            if let Some((names, _)) = &uncleaned {
                row.cleaned = names.join(",");
                row.n_uncleaned = row.n_samples;
            }
            let aircraft = fleet.aircraft_of(&raw.header);
            let key = (row.flight_id.as_str(), row.approach_no);
            let story = story(key, &columns, aircraft, &columns::frame(plan));
            row.gear_called_nm = story.gear_called_nm();
            PreparedApproach {
                story,
                row,
                columns,
                uncleaned: uncleaned.map(|(_, columns)| columns),
            }
        })
        .collect();
    let headers = headers::headers(&raw, fleet, &approaches, doubt.as_deref());
    Ok(PreparedFlight {
        file: raw.file.display().to_string(),
        flight_id: raw.header.flight_id,
        approaches,
        quality,
        headers,
    })
}

fn no_altitude(raw: &RawFlight, findings: &Findings<'_>) -> QuarantineRow {
    let name = "pressure_altitude_ft";
    let mut refused = findings.refused().filter(|refused| refused.0 == name);
    let detail = match (raw.channels.get(name), refused.next()) {
        (_, Some((_, reason))) => format!("{name} was {reason}"),
        (None, None) => "expected a channel pressure_altitude_ft, the record has none: \
                 map the column that holds it"
            .to_owned(),
        (Some(channel), None) => format!(
            "expected known values of pressure_altitude_ft, all {} samples are missing or \
             implausible: check its unit and its `missing` values in the parameter map",
            channel.value.len()
        ),
    };
    QuarantineRow {
        file: raw.file.display().to_string(),
        flight_id: Some(raw.header.flight_id.clone()),
        stage: "prepare".to_owned(),
        reason: "no altitude".to_owned(),
        detail,
    }
}

/// Compares needles with where in their beams the aircraft was.
fn needles(
    raw: &mut RawFlight,
    signals: &Signals,
    plans: &[Plan<'_>],
    findings: &mut Findings<'_>,
) {
    for plan in plans {
        let Some(landed) = &plan.landed else { continue };
        let at = |t: f64| {
            let fix = signals
                .track
                .at(t)
                .filter(|_| (plan.start_s..=plan.end_s).contains(&t))?;
            Some(landed.frame.place(fix.latitude_deg, fix.longitude_deg))
        };
        let aside = |t: f64| localizer_dots(landed.end, at(t)?);
        findings.needle(raw, "localizer_dev_dots", &aside);
        let above = |t: f64| {
            let height_ft = signals.altitude.linear(t)? - plan.level?.zero_ft;
            glide_path_dots(landed.end, at(t)?, height_ft)
        };
        findings.needle(raw, "glide_path_dev_dots", &above);
    }
}

/// What is decided about the approaches, and what speaks against the flight list's pressure setting.
fn plan<'a>(
    raw: &RawFlight,
    signals: &Signals,
    fleet: &'a Fleet,
) -> (Vec<Plan<'a>>, Option<String>) {
    let training = raw.header.flight_purpose.as_deref() == Some("training");
    let lows = approach::low_points(signals, &fleet.runways);
    let arrivals = approach::arrivals(signals, lows, training);
    let landed: Vec<Option<Landed<'a>>> = arrivals
        .iter()
        .map(|arrival| {
            let contact_s = arrival.low.contact.map(|c| c.time_s);
            match_runway(&fleet.runways, &signals.track, arrival.low.low_s, contact_s)
        })
        .collect();
    let levels = approach::levels(signals, &arrivals, &landed);
    let doubt = approach::contradiction(signals, &arrivals, &landed, &levels);
    let record_end_s = record_end_s(raw);
    let mut plans: Vec<Plan<'a>> = arrivals
        .into_iter()
        .zip(landed)
        .zip(levels)
        .map(|((arrival, landed), level)| one(signals, arrival, landed, level, record_end_s))
        .collect();
    // What is stored of a missed approach ends where the next approach begins.
    for i in 1..plans.len() {
        let next_s = plans[i].start_s;
        let before = &mut plans[i - 1];
        before.stored_to_s = before.stored_to_s.min(next_s - 1e-3).max(before.end_s);
    }
    (plans, doubt)
}

fn record_end_s(raw: &RawFlight) -> f64 {
    raw.channels
        .values()
        .filter_map(|c| c.time_s.last().copied())
        .fold(f64::NEG_INFINITY, f64::max)
}

fn one<'a>(
    signals: &Signals,
    arrival: Arrival,
    landed: Option<Landed<'a>>,
    level: Option<Level>,
    record_end_s: f64,
) -> Plan<'a> {
    let low = arrival.low;
    let zero_ft = level.map_or(low.low_ft, |l| l.zero_ft);
    let start_s = approach::start_s(&signals.altitude, &low, zero_ft);
    let contact_s = low.contact.map(|c| c.time_s);
    let initiation = arrival
        .outcome
        .went_around()
        .then(|| approach::initiation(signals, &low));
    let (end_s, missed_s, stored_to_s) = match (arrival.outcome, initiation) {
        (Outcome::Incomplete, _) => (record_end_s, None, record_end_s),
        (_, Some(begun)) => {
            let missed_s = contact_s.map_or(begun.time_s, |c| begun.time_s.max(c));
            (
                contact_s.map_or(begun.time_s, |c| begun.time_s.min(c)),
                Some(missed_s),
                missed_s + AFTER_S,
            )
        }
        (_, None) => {
            let down_s = contact_s.unwrap_or_else(|| approach::level_s(signals, &low));
            let rolled_s = signals
                .ground_speed
                .between(down_s, down_s + AFTER_S)
                .find(|s| s.1 < approach::ROLL_END_KT)
                .map_or(down_s + AFTER_S, |s| s.0);
            (down_s, None, rolled_s)
        }
    };
    Plan {
        start_s: start_s.min(end_s),
        end_s,
        missed_s,
        stored_to_s: stored_to_s.min(record_end_s),
        arrival,
        landed,
        level,
        initiation,
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may fail where it stands")]
mod tests;
