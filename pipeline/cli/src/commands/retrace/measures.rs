//! The approach as a whole, from its row and its arrival.

use records::rows::{ApproachRow, ArrivalRow};
use report::retrace::Measures;

pub(super) fn measures(row: &ApproachRow, arrival: Option<&ArrivalRow>) -> Measures {
    Measures {
        from_direction: arrival.and_then(|a| a.from_direction.clone()),
        track_nm: arrival.and_then(|a| a.track_nm),
        held_speed_nm: arrival.and_then(|a| a.held_speed_nm),
        held_speed_kt: arrival.and_then(|a| a.held_speed_kt),
        path_captured: row.path_captured.clone(),
        drag_called_nm: row.drag_called_nm,
        drag_late_nm: row.drag_late_nm,
        high_stowed_s: row.high_stowed_s,
        high_stowed_max_ft: row.high_stowed_max_ft,
        speed_for_drag_kt: row.speed_for_drag_kt,
        steep_fast_clean_s: row.steep_fast_clean_s,
        speedbrake_against_thrust_s: row.speedbrake_against_thrust_s,
        level_before_flap_nm: row.level_before_flap_nm,
        threshold_height_ft: row.threshold_height_ft,
        threshold_cas_kt: row.threshold_cas_kt,
        touchdown_distance_ft: row.touchdown_distance_ft,
        touchdown_uncertainty_ft: row.touchdown_uncertainty_ft,
        touchdown_g: row.touchdown_g,
        touchdown_sink_fpm: row.touchdown_sink_fpm,
        bounces: row.bounces,
        go_around_height_ft: row.go_around_height_ft,
        go_around_energy_excess_ft: row.go_around_energy_excess_ft,
    }
}
