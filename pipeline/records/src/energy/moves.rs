//! Every change of the flap lever, of the gear and of the speedbrake, with the speed and the limit at that moment.

use crate::derive::{Columns, Segment};
use crate::fleet::AircraftType;
use crate::rows::LeverMoveRow;

use super::class::SPEEDBRAKE_OUT;
use super::moment::Moment;

pub(super) fn rows(
    key: (&str, i32),
    columns: &Columns,
    aircraft: Option<&AircraftType>,
) -> Vec<LeverMoveRow> {
    let known = |name: &str| {
        columns
            .values(name)
            .is_some_and(|values| values.iter().any(|value| !value.is_nan()))
    };
    // The lever tells when gear was selected; without it, its arrival is all that is known.
    let gear = if known("gear_lever") {
        "gear_lever"
    } else {
        "gear_down"
    };
    let positions = |channel: &str| columns.values(channel).unwrap_or_default().to_vec();
    let brake = positions("speedbrake");
    let out = |handle: f64| {
        if handle.is_nan() {
            f64::NAN
        } else {
            f64::from(u8::from(handle > SPEEDBRAKE_OUT))
        }
    };
    let mut rows: Vec<LeverMoveRow> = [
        ("flap_lever", positions("flap_lever")),
        (gear, positions(gear)),
        ("speedbrake", brake.into_iter().map(out).collect()),
    ]
    .into_iter()
    .flat_map(|(channel, positions)| changes(key, columns, (channel, &positions), aircraft))
    .collect();
    rows.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
    rows
}

fn changes(
    (flight_id, approach_no): (&str, i32),
    columns: &Columns,
    (channel, positions): (&str, &[f64]),
    aircraft: Option<&AircraftType>,
) -> Vec<LeverMoveRow> {
    let mut rows = Vec::new();
    let mut last = f64::NAN;
    for (k, &position) in positions.iter().enumerate() {
        if columns.segment[k] != Segment::Approach || position.is_nan() {
            continue;
        }
        if !last.is_nan() && position != last {
            let at = Moment { k, share: 0.0 };
            let cas_kt = at.value(columns, "cas_kt");
            let limit_kt = aircraft.and_then(|aircraft| limit_kt(aircraft, channel, position));
            let minimum = || {
                let mass_kg = at.value(columns, "gross_mass_kg")?;
                aircraft?.min_manoeuvre_kt(last, mass_kg)
            };
            rows.push(LeverMoveRow {
                flight_id: flight_id.to_owned(),
                approach_no,
                time_s: at.time_s(columns),
                channel: channel.to_owned(),
                from: last,
                to: position,
                cas_kt,
                limit_kt,
                margin_kt: limit_kt.and_then(|limit| Some(limit - cas_kt?)),
                min_manoeuvre_kt: (channel == "flap_lever").then(minimum).flatten(),
                height_aal_ft: at.value(columns, "height_aal_ft"),
                distance_nm: at.value(columns, "distance_to_threshold_nm"),
                energy_excess_ft: at.value(columns, "energy_excess_ft"),
            });
        }
        last = position;
    }
    rows
}

/// The limit of the new position. The limit for moving the gear counts when its lever moves; when the
/// gear arrives, it has moved already.
fn limit_kt(aircraft: &AircraftType, channel: &str, position: f64) -> Option<f64> {
    match channel {
        "flap_lever" => aircraft.lever_limit_kt(position),
        "gear_lever" if position == 1.0 => Some(aircraft.gear.extend_limit_kt),
        _ => None,
    }
}
