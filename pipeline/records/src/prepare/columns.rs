//! The recorded columns of one approach on the base grid, and where it was.

use std::collections::BTreeMap;

use crate::airfield::{Anchor, track_distance_nm};
use crate::approach::Signals;
use crate::derive::{Columns, Frame, Segment, derive};
use crate::fleet::Fleet;
use crate::flight::RawFlight;
use crate::samples::PLACES;
use crate::series::pairs_of;
use crate::timebase::{Grid, peaks, sample, uncertain};

use super::Plan;

/// Channels whose peaks within a step are kept, and whether the lowest is kept too.
const PEAKS: &[(&str, bool)] = &[
    ("cas_kt", false),
    ("normal_accel_g", true),
    ("longitudinal_accel_g", true),
    ("lateral_accel_g", true),
];

pub(super) fn columns(
    raw: &RawFlight,
    signals: &Signals,
    fleet: &Fleet,
    plan: &Plan<'_>,
) -> Columns {
    let grid = Grid::covering(plan.start_s, plan.stored_to_s, fleet.rate_hz);
    let mut columns = recorded(raw, fleet, &grid);
    place(&mut columns, signals, plan, &grid);
    if let (Some(level), Some(altitude)) = (plan.level, columns.get("pressure_altitude_ft")) {
        let height = altitude.iter().map(|ft| ft - level.zero_ft).collect();
        columns.insert("height_aal_ft".to_owned(), height);
    }
    let columns = Columns {
        segment: (0..grid.n).map(|k| segment(plan, grid.time(k))).collect(),
        grid,
        columns,
    };
    derived(columns, raw, fleet, plan)
}

/// The columns of another version of the same record, at the samples, places and heights of this one.
pub(super) fn otherwise(
    columns: &Columns,
    raw: &RawFlight,
    fleet: &Fleet,
    plan: &Plan<'_>,
) -> Columns {
    let mut other = recorded(raw, fleet, &columns.grid);
    for name in PLACES {
        if let Some(values) = columns.columns.get(name) {
            other.insert(name.to_owned(), values.clone());
        }
    }
    let other = Columns {
        columns: other,
        ..columns.clone()
    };
    derived(other, raw, fleet, plan)
}

fn derived(mut columns: Columns, raw: &RawFlight, fleet: &Fleet, plan: &Plan<'_>) -> Columns {
    let header_mass = raw.header.landing_mass_kg;
    if let (Some(mass_kg), false) = (header_mass, columns.columns.contains_key("gross_mass_kg")) {
        let mass = vec![mass_kg; columns.grid.n];
        columns.columns.insert("gross_mass_kg".to_owned(), mass);
    }
    derive(&mut columns, fleet.aircraft_of(&raw.header), &frame(plan));
    columns
}

/// What heights, winds and profiles are measured against.
pub(super) fn frame(plan: &Plan<'_>) -> Frame {
    match &plan.landed {
        None => Frame::default(),
        Some(landed) => Frame {
            threshold_elevation_ft: Some(landed.end.elevation_ft),
            runway_bearing_deg: Some(landed.end.bearing_deg),
            runway_length_ft: Some(landed.end.length_ft),
            glide_path_deg: landed.end.glide_path_deg,
            crossing_height_ft: landed.end.crossing_height_ft,
        },
    }
}

fn segment(plan: &Plan<'_>, t: f64) -> Segment {
    if t < plan.end_s || (plan.missed_s.is_none() && plan.end_s >= plan.stored_to_s) {
        Segment::Approach
    } else if plan.missed_s.is_some_and(|missed_s| t >= missed_s) {
        Segment::Missed
    } else {
        Segment::Roll
    }
}

fn recorded(raw: &RawFlight, fleet: &Fleet, grid: &Grid) -> BTreeMap<String, Vec<f64>> {
    let mut columns = BTreeMap::new();
    for parameter in fleet.catalogue.parameters() {
        if let Some(channel) = raw.channels.get(&parameter.name) {
            columns.insert(
                parameter.name.clone(),
                sample(channel, parameter.kind, grid),
            );
        }
    }
    for &(name, both) in PEAKS {
        if let Some(channel) = raw.channels.get(name) {
            let (low, high) = peaks(channel, grid);
            columns.insert(format!("{name}_max"), high);
            if both {
                columns.insert(format!("{name}_min"), low);
            }
        }
    }
    if let Some(channel) = raw.channels.get("flap_lever") {
        columns.insert("flap_uncertain".to_owned(), uncertain(channel, grid));
    }
    columns
}

/// Position in the runway's frame and distance along the track, where a runway is known.
fn place(
    columns: &mut BTreeMap<String, Vec<f64>>,
    signals: &Signals,
    plan: &Plan<'_>,
    grid: &Grid,
) {
    let Some(landed) = &plan.landed else { return };
    let places = (0..grid.n).map(|k| {
        signals
            .track
            .at(grid.time(k))
            .map_or((f64::NAN, f64::NAN), |fix| {
                landed.frame.place(fix.latitude_deg, fix.longitude_deg)
            })
    });
    let (along, offset) = pairs_of(places, grid.n);
    columns.insert("along_nm".to_owned(), along);
    columns.insert("offset_nm".to_owned(), offset);
    let crossing = landed.crossing_s.map(|time_s| Anchor {
        time_s,
        distance_nm: 0.0,
    });
    let aligned = landed.last_aligned.map(|(time_s, along_nm)| Anchor {
        time_s,
        distance_nm: along_nm,
    });
    let unknown = vec![f64::NAN; grid.n];
    let speed = columns.get("ground_speed_kt").unwrap_or(&unknown);
    if let Some(anchor) = crossing.or(aligned) {
        let distance = track_distance_nm(grid, speed, &signals.track, anchor);
        columns.insert("distance_to_threshold_nm".to_owned(), distance);
    }
}
