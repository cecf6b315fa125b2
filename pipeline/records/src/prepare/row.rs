//! The row of one approach in the `approaches` table.

use crate::approach::{self, Signals};
use crate::atmosphere::FT_PER_NM;
use crate::catalogue::Origin;
use crate::derive::{Columns, Segment};
use crate::fleet::Fleet;
use crate::flight::RawFlight;
use crate::habits;
use crate::rows::ApproachRow;

use super::Plan;

/// The wind of the final approach is taken below this.
const FINAL_FT: f64 = 1_000.0;

pub(super) fn row(
    raw: &RawFlight,
    signals: &Signals,
    fleet: &Fleet,
    plan: &Plan<'_>,
    approach_no: i32,
    columns: &Columns,
) -> ApproachRow {
    let header = &raw.header;
    let landed = plan.landed.as_ref();
    let low = &plan.arrival.low;
    let zero_ft = plan.level.map(|l| l.zero_ft);
    let touched = low
        .contact
        .filter(|c| c.evidence != approach::Evidence::Slow);
    let begun = plan.initiation;
    let at = |name: &str, t: f64| habits::at(columns, name, t);
    let crossing_s = landed
        .and_then(|l| l.crossing_s)
        .filter(|t| (plan.start_s..=plan.end_s).contains(t));
    ApproachRow {
        approach_key: approach_key(&header.flight_id, approach_no),
        flight_id: header.flight_id.clone(),
        approach_no,
        tail_id: header.tail_id.clone(),
        aircraft_type: header.aircraft_type.clone(),
        month: header.month.clone(),
        day_key: header.day_key.clone(),
        flight_purpose: header.flight_purpose.clone(),
        airport: landed.map(|l| l.end.airport.clone()),
        runway: landed.map(|l| l.end.ident.clone()),
        approach_kind: approach::approach_kind(raw, signals, &fleet.runways, landed, plan.end_s)
            .to_owned(),
        outcome: plan.arrival.outcome.as_str().to_owned(),
        start_s: plan.start_s,
        end_s: plan.end_s,
        lowest_height_ft: zero_ft.map(|zero| low.low_ft - zero),
        height_source: plan.level.map_or("none", |l| l.source).to_owned(),
        height_uncertainty_ft: plan.level.map(|l| l.uncertainty_ft),
        temperature_corrected: known(columns, "static_air_temp_c").next().is_some(),
        mass_ratio: known(columns, "mass_ratio").last().map(|s| s.1),
        headwind_kt: mean(final_headwind(columns)),
        path_angle_deg: landed.map(|l| l.end.glide_path_deg),
        touchdown_distance_ft: touched.and_then(|contact| {
            let fix = signals.track.at(contact.time_s)?;
            let (along, _) = landed?.frame.place(fix.latitude_deg, fix.longitude_deg);
            Some(-along * FT_PER_NM)
        }),
        touchdown_uncertainty_ft: touched.and_then(|c| approach::uncertainty_ft(signals, c)),
        touchdown_g: touched.and_then(|c| approach::touchdown_g(&signals.normal_accel, c)),
        touchdown_sink_fpm: touched.and_then(|c| approach::touchdown_sink_fpm(&signals.radio, c)),
        bounces: touched.and_then(|c| approach::bounces(signals, c)),
        threshold_height_ft: crossing_s.and_then(|t| at("height_geometric_ft", t)),
        threshold_cas_kt: crossing_s.and_then(|t| at("cas_kt", t)),
        stabilised_height_ft: None,
        stabilised: None,
        go_around_height_ft: begun
            .and_then(|b| Some(signals.altitude.linear(b.time_s)? - zero_ft?)),
        go_around_energy_excess_ft: begun.and_then(|b| at("energy_excess_ft", b.time_s)),
        go_around_from_low_point: begun.is_some_and(|b| b.from_low_point),
        start_distance_nm: columns
            .columns
            .get("distance_to_threshold_nm")
            .and_then(|d| d.first().copied())
            .filter(|d| !d.is_nan()),
        step_s: columns.grid.step_s,
        n_samples: columns.grid.n as i64,
        missing_columns: missing(fleet, columns),
        cleaned: String::new(),
        n_uncleaned: 0,
        // The habits are filled in from the columns.
        ..ApproachRow::default()
    }
}

/// First 63 bits of BLAKE3(flight_id, 0x00, approach_no as decimal text).
fn approach_key(flight_id: &str, approach_no: i32) -> i64 {
    let mut hasher = blake3::Hasher::new();
    hasher.update(flight_id.as_bytes());
    hasher.update(&[0]);
    hasher.update(approach_no.to_string().as_bytes());
    let hash = hasher.finalize();
    let first = hash.as_bytes()[..8]
        .iter()
        .fold(0_u64, |bits, &byte| (bits << 8) | u64::from(byte));
    (first >> 1) as i64
}

/// `(k, value)` of the known samples of a column in the approach segment.
fn known<'a>(columns: &'a Columns, name: &str) -> impl Iterator<Item = (usize, f64)> + 'a {
    columns
        .columns
        .get(name)
        .into_iter()
        .flatten()
        .copied()
        .enumerate()
        .filter(|&(k, v)| !v.is_nan() && columns.segment[k] == Segment::Approach)
}

fn final_headwind(columns: &Columns) -> Vec<f64> {
    let height = columns.columns.get("height_aal_ft");
    let low = |k: usize| height.is_some_and(|h| h[k] <= FINAL_FT);
    known(columns, "headwind_kt")
        .filter(|&(k, _)| low(k))
        .map(|s| s.1)
        .collect()
}

fn mean(values: Vec<f64>) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

/// Names of the stored columns without a value in the approach segment.
fn missing(fleet: &Fleet, columns: &Columns) -> String {
    let mut names: Vec<&str> = fleet
        .catalogue
        .columns()
        .iter()
        .filter(|c| matches!(c.origin, Origin::Recorded | Origin::Peak | Origin::Derived))
        .map(|c| c.name.as_str())
        .filter(|name| known(columns, name).next().is_none())
        .collect();
    names.sort_unstable();
    names.join(",")
}
