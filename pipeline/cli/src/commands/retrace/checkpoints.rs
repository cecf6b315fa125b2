//! The approach at its checkpoints and its lever moves, as stored with the load.

use records::rows::{CheckpointRow, LeverMoveRow};
use report::retrace::{Checkpoint, Lever, LeverMove};

/// The checkpoints in the order of the table: as stored, and as shown.
const CHECKPOINTS: [(&str, &str); 9] = [
    ("20nm", "20 NM"),
    ("15nm", "15 NM"),
    ("10nm", "10 NM"),
    ("7nm", "7 NM"),
    ("5nm", "5 NM"),
    ("4nm", "4 NM"),
    ("3nm", "3 NM"),
    ("1000ft", "1,000 ft"),
    ("500ft", "500 ft"),
];

/// All checkpoints; those that the approach has no row of have no time.
pub(super) fn checkpoints(rows: &[CheckpointRow]) -> Vec<Checkpoint> {
    let all = CHECKPOINTS.into_iter();
    all.map(|(key, name)| {
        let name = name.to_owned();
        let Some(row) = rows.iter().find(|row| row.checkpoint == key) else {
            return Checkpoint {
                name,
                ..Checkpoint::default()
            };
        };
        Checkpoint {
            name,
            time_s: Some(row.time_s),
            distance_nm: row.distance_nm,
            height_ft: row.height_geometric_ft.or(row.height_aal_ft),
            over_profile_ft: row.height_over_profile_ft,
            energy_excess_ft: row.energy_excess_ft,
            cas_kt: row.cas_kt,
            target_cas_kt: row.target_cas_kt,
            flap_lever: row.flap_lever,
            gear_down: row.gear_down,
            speedbrake: row.speedbrake,
            thrust_pct: row.thrust_pct,
            headwind_kt: row.headwind_kt,
            loss_needed_ft_per_nm: row.loss_needed_ft_per_nm,
            energy_class: row.energy_class.clone(),
            cheapest_drag: row.cheapest_drag.clone(),
        }
    })
    .collect()
}

/// The moves up to the end of the approach segment, in time.
pub(super) fn moves(mut rows: Vec<LeverMoveRow>, end_s: f64) -> Vec<LeverMove> {
    rows.retain(|row| row.time_s <= end_s);
    rows.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
    let moves = rows.into_iter().map(|row| LeverMove {
        time_s: row.time_s,
        lever: match row.channel.as_str() {
            "gear_lever" => Lever::Gear,
            "gear_down" => Lever::GearItself,
            "speedbrake" => Lever::Speedbrake,
            _ => Lever::Flap,
        },
        to: row.to,
        cas_kt: row.cas_kt,
        margin_kt: row.margin_kt,
        height_ft: row.height_aal_ft,
    });
    moves.collect()
}
