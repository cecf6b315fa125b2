//! The state of an approach at fixed distances and heights.

use crate::derive::{Columns, Frame};
use crate::fleet::AircraftType;
use crate::rows::CheckpointRow;

use super::class::{Drag, SPEEDBRAKE_OUT, cheapest_drag, energy_class};
use super::gate::{Gate, Way};
use super::moment::{Moment, last_crossing};

/// Checkpoints by track distance, NM, far end first.
const DISTANCES_NM: [f64; 7] = [20.0, 15.0, 10.0, 7.0, 5.0, 4.0, 3.0];
/// Checkpoints by height above the threshold, ft.
const HEIGHTS_FT: [f64; 2] = [1_000.0, 500.0];

pub(super) fn rows(
    (flight_id, approach_no): (&str, i32),
    columns: &Columns,
    aircraft: Option<&AircraftType>,
    frame: &Frame,
) -> Vec<CheckpointRow> {
    let gate = Gate::of(columns, frame);
    let by_distance = DISTANCES_NM.map(|nm| ("distance_to_threshold_nm", nm, format!("{nm}nm")));
    let by_height = HEIGHTS_FT.map(|ft| ("height_aal_ft", ft, format!("{ft}ft")));
    let mut rows: Vec<CheckpointRow> = by_distance
        .into_iter()
        .chain(by_height)
        .filter_map(|(column, level, checkpoint)| {
            let at = last_crossing(columns, column, level)?;
            Some(CheckpointRow {
                flight_id: flight_id.to_owned(),
                approach_no,
                checkpoint,
                ..row(columns, aircraft, &gate, at)
            })
        })
        .collect();
    rows.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
    rows
}

fn row(
    columns: &Columns,
    aircraft: Option<&AircraftType>,
    gate: &Gate,
    at: Moment,
) -> CheckpointRow {
    let value = |name: &str| at.value(columns, name);
    let less = |a: Option<f64>, b: Option<f64>| Some(a? - b?);
    let state = |name: &str| at.state(columns, name);
    let distance_nm = value("distance_to_threshold_nm");
    let direct_nm = value("along_nm").and_then(|along| Some(along.hypot(value("offset_nm")?)));
    let rates = aircraft.map(|aircraft| &aircraft.loss_ft_per_nm);
    let drag = drag_in_use(columns, at);
    let excess_ft = value("energy_excess_ft");
    let (air_nm, needed, class) = match gate.way(columns, at) {
        Way::Left {
            air_nm,
            needed_ft_per_nm,
        } => {
            let class = excess_ft.and_then(|ft| energy_class(ft, Some(needed_ft_per_nm), rates));
            (Some(air_nm), Some(needed_ft_per_nm), class)
        }
        Way::Over => (
            None,
            None,
            excess_ft.and_then(|ft| energy_class(ft, None, rates)),
        ),
        Way::Unknown => (None, None, None),
    };
    let cheapest = needed
        .filter(|needed| *needed > 0.0)
        .and_then(|needed| cheapest_drag(needed, rates?));
    CheckpointRow {
        time_s: at.time_s(columns),
        distance_nm,
        direct_nm,
        detour_nm: less(distance_nm, direct_nm),
        height_aal_ft: value("height_aal_ft"),
        height_geometric_ft: value("height_geometric_ft"),
        planning_height_ft: value("planning_height_ft"),
        profile_height_ft: value("profile_height_ft"),
        height_over_profile_ft: value("height_over_profile_ft"),
        height_over_plan_ft: less(value("height_geometric_ft"), value("planning_height_ft")),
        energy_excess_ft: excess_ft,
        cas_kt: value("cas_kt"),
        target_cas_kt: value("target_cas_kt"),
        flap_lever: state("flap_lever"),
        gear_down: state("gear_down"),
        speedbrake: value("speedbrake"),
        thrust_pct: value("thrust_pct"),
        decel_kt_per_nm: value("decel_kt_per_nm"),
        mass_ratio: value("mass_ratio"),
        headwind_kt: value("headwind_kt"),
        turbulence_g: value("turbulence_g"),
        drag_in_use: drag.map(|drag| match drag {
            Drag::Clean => "none".to_owned(),
            drag => drag.as_str().to_owned(),
        }),
        air_distance_to_gate_nm: air_nm,
        loss_needed_ft_per_nm: needed,
        loss_available_ft_per_nm: drag.and_then(|drag| Some(drag.loss_ft_per_nm(rates?))),
        energy_class: class.map(|class| class.as_str().to_owned()),
        cheapest_drag: cheapest.map(|drag| drag.as_str().to_owned()),
        ..CheckpointRow::default()
    }
}

/// The strongest drag in use; none where it is not known that a stronger one is not.
fn drag_in_use(columns: &Columns, at: Moment) -> Option<Drag> {
    if at.state(columns, "gear_down")? == 1.0 {
        return Some(Drag::Gear);
    }
    let brake = at.state(columns, "speedbrake")? > SPEEDBRAKE_OUT;
    let flap = at.state(columns, "flap_lever")? > 0.0;
    Some(match (brake, flap) {
        (true, _) => Drag::Speedbrake,
        (false, true) => Drag::Flap,
        (false, false) => Drag::Clean,
    })
}
