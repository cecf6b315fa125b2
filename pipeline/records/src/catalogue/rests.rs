//! Which recorded parameters stand behind a column.

use std::collections::BTreeSet;

/// `(column, columns it is made of)`, for some types at least: see [`crate::fleet::AircraftType::follows`]. Columns that only place a sample, like heights and distances,
/// are left out: they name nothing.
#[rustfmt::skip]
const MADE_OF: &[(&str, &[&str])] = &[
    ("cas_kt_max", &["cas_kt"]),
    ("normal_accel_g_max", &["normal_accel_g"]),
    ("normal_accel_g_min", &["normal_accel_g"]),
    ("longitudinal_accel_g_max", &["longitudinal_accel_g"]),
    ("longitudinal_accel_g_min", &["longitudinal_accel_g"]),
    ("lateral_accel_g_max", &["lateral_accel_g"]),
    ("lateral_accel_g_min", &["lateral_accel_g"]),
    ("flap_uncertain", &["flap_lever"]),
    ("tas_kt", &["cas_kt", "pressure_altitude_ft", "static_air_temp_c"]),
    ("vref_kt", &["gross_mass_kg", "flap_lever", "flap_angle_deg"]),
    ("vapp_kt", &["vref_kt"]),
    ("height_geometric_ft", &["pressure_altitude_ft", "static_air_temp_c"]),
    ("sink_rate_fpm", &["vertical_speed_fpm", "pressure_altitude_ft"]),
    ("headwind_kt", &["wind_speed_kt", "wind_from_deg"]),
    ("crosswind_kt", &["wind_speed_kt", "wind_from_deg"]),
    ("turbulence_g", &["normal_accel_g"]),
    ("thrust_pct", &["n1_1_pct", "n1_2_pct", "n1_3_pct", "n1_4_pct"]),
    ("thrust_over_min_pct", &["thrust_pct"]),
    ("vfe_lever_kt", &["flap_lever"]),
    ("vfe_surface_kt", &["flap_angle_deg", "slat_angle_deg"]),
    ("vfe_kt", &["vfe_lever_kt", "vfe_surface_kt"]),
    ("vfe_next_kt", &["flap_lever"]),
    ("flap_margin_kt", &["vfe_kt", "cas_kt"]),
    ("landing_flap_set", &["flap_angle_deg", "flap_lever"]),
    ("min_manoeuvre_kt", &["flap_lever", "gross_mass_kg"]),
    ("selection_window_kt", &["vfe_next_kt", "min_manoeuvre_kt"]),
    ("mass_ratio", &["gross_mass_kg"]),
    ("over_vref_kt", &["cas_kt", "vref_kt"]),
    ("over_vapp_kt", &["cas_kt", "vapp_kt"]),
    ("target_cas_kt", &["vapp_kt"]),
    ("over_target_kt", &["cas_kt", "target_cas_kt"]),
    ("height_over_profile_ft", &["height_geometric_ft"]),
    ("rule_of_three_ft", &["cas_kt"]),
    ("height_over_rule_of_three_ft", &["height_geometric_ft", "rule_of_three_ft"]),
    ("energy_height_ft", &["height_geometric_ft", "tas_kt"]),
    ("energy_height_gs_ft", &["height_geometric_ft", "ground_speed_kt"]),
    ("reference_energy_ft", &["target_cas_kt", "pressure_altitude_ft", "static_air_temp_c"]),
    ("energy_excess_ft", &["energy_height_ft", "reference_energy_ft"]),
    ("decel_kt_per_nm", &["cas_kt", "tas_kt"]),
    ("energy_loss_ft_per_nm", &["energy_height_ft", "tas_kt"]),
    ("air_distance_nm", &["tas_kt"]),
];

/// The column itself, and every column it is made of, over any number of steps: the recorded
/// parameters it rests on are among them.
#[must_use]
pub fn rests_on(column: &str) -> BTreeSet<&str> {
    rests_on_through(column, &|_, _| true)
}

/// As [`rests_on`], but only through a column and one that it is made of for which `follows` says yes: a true
/// airspeed that was recorded follows nothing.
#[must_use]
pub fn rests_on_through<'a>(
    column: &'a str,
    follows: &dyn Fn(&str, &str) -> bool,
) -> BTreeSet<&'a str> {
    let mut all = BTreeSet::from([column]);
    let mut left = vec![column];
    while let Some(name) = left.pop() {
        let made_of = MADE_OF.iter().find(|(made, _)| *made == name);
        for part in made_of.into_iter().flat_map(|(_, parts)| *parts) {
            if follows(name, part) && all.insert(part) {
                left.push(part);
            }
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_recorded_rests_on_nothing_else() {
        let all = rests_on("over_vapp_kt");
        assert!(all.contains("gross_mass_kg") && all.contains("cas_kt"));
        let recorded = rests_on_through("over_vapp_kt", &|name, _| name != "vref_kt");
        assert!(recorded.contains("vref_kt") && !recorded.contains("gross_mass_kg"));
    }
}
