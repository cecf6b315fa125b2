//! Energy as height, what was planned, and how fast it goes per mile of air.

use super::{Work, air, isa_deviation_k, windows};
use crate::atmosphere::{self, FT_PER_KT2};

/// Losses are taken over this much air.
const LOSS_SPAN_NM: f64 = 1.0;

pub(super) fn derive(work: &mut Work) {
    let deviation = isa_deviation_k(work.columns).unwrap_or(0.0);
    let energy = |[height, speed]: [f64; 2]| height + FT_PER_KT2 * speed * speed;
    let total = work.each(["height_geometric_ft", "tas_kt"], energy);
    work.put("energy_height_ft", total);
    let over_ground = work.each(["height_geometric_ft", "ground_speed_kt"], energy);
    work.put("energy_height_gs_ft", over_ground);

    let inputs = [
        "planning_height_ft",
        "target_cas_kt",
        "pressure_altitude_ft",
        "height_aal_ft",
    ];
    let reference = work.each(inputs, |[planned, target, altitude, height]| {
        let tas = atmosphere::tas_kt(target, altitude - height + planned, deviation);
        planned + FT_PER_KT2 * tas * tas
    });
    work.put("reference_energy_ft", reference);
    let excess = work.each(["energy_height_ft", "reference_energy_ft"], |[is, plan]| {
        is - plan
    });
    work.put("energy_excess_ft", excess);

    let path = air::air_path_nm(work.get("tas_kt"), &work.columns.grid);
    let slowing = windows::loss_over_path(work.get("cas_kt"), &path, LOSS_SPAN_NM);
    work.put("decel_kt_per_nm", slowing);
    let losing = windows::loss_over_path(work.get("energy_height_ft"), &path, LOSS_SPAN_NM);
    work.put("energy_loss_ft_per_nm", losing);
    let left = air_distance_nm(work.get("distance_to_threshold_nm"), &path);
    work.put("air_distance_nm", left);
}

/// The air path as distance left, made equal to the track distance where that is nearest to zero.
fn air_distance_nm(distance_nm: &[f64], path_nm: &[f64]) -> Vec<f64> {
    let known = |k: &usize| !(distance_nm[*k].is_nan() || path_nm[*k].is_nan());
    let nearer = |a: &usize, b: &usize| distance_nm[*a].abs().total_cmp(&distance_nm[*b].abs());
    match (0..path_nm.len()).filter(known).min_by(nearer) {
        Some(k) => path_nm
            .iter()
            .map(|path| distance_nm[k] + path_nm[k] - path)
            .collect(),
        None => vec![f64::NAN; path_nm.len()],
    }
}
