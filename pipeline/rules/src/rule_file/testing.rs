//! The column catalogue as far as tests of rules need it.

use super::{ColumnSpec, RuleContext};

/// Unit, then names.
const COLUMNS: [(&str, &str); 16] = [
    (
        "ft",
        "pressure_altitude_ft baro_altitude_ft radio_altitude_ft height_aal_ft \
            height_geometric_ft altitude_msl_ft energy_height_ft planning_height_ft \
            reference_energy_ft energy_excess_ft profile_height_ft height_over_profile_ft \
            rule_of_three_ft height_over_rule_of_three_ft",
    ),
    (
        "kt",
        "cas_kt cas_kt_max tas_kt target_speed_kt ground_speed_kt vref_kt vapp_kt over_vref_kt \
            over_vapp_kt over_target_kt vfe_kt vfe_lever_kt vfe_surface_kt vfe_next_kt \
            flap_margin_kt min_manoeuvre_kt selection_window_kt headwind_kt crosswind_kt \
            target_cas_kt",
    ),
    ("ft/min", "vertical_speed_fpm sink_rate_fpm"),
    ("deg", "pitch_deg roll_deg heading_true_deg flap_angle_deg"),
    (
        "NM",
        "distance_to_threshold_nm air_distance_nm along_nm offset_nm",
    ),
    (
        "dots",
        "glide_path_dev_dots localizer_dev_dots vertical_path_dev_dots",
    ),
    ("%", "n1_1_pct thrust_pct thrust_over_min_pct"),
    ("g", "normal_accel_g turbulence_g"),
    ("kg", "gross_mass_kg"),
    ("ratio", "mass_ratio speedbrake"),
    ("index", "flap_lever k"),
    (
        "0/1",
        "gear_lever gear_down on_ground autopilot taws_alert landing_flap_set",
    ),
    ("kt/NM", "decel_kt_per_nm"),
    ("ft/NM", "energy_loss_ft_per_nm"),
    ("s", "time_s"),
    ("text", "aircraft_type airport runway approach_kind segment"),
];

const APPROACH_COLUMNS: [(&str, &str); 5] = [
    (
        "text",
        "outcome aircraft_type airport runway approach_kind flight_purpose height_source",
    ),
    (
        "ft",
        "lowest_height_ft go_around_height_ft touchdown_distance_ft",
    ),
    ("ratio", "mass_ratio"),
    ("g", "touchdown_g"),
    ("bool", "temperature_corrected go_around_from_low_point"),
];

/// Columns of samples and approaches as the store has them.
pub(crate) fn context() -> RuleContext {
    let specs = |lists: &[(&str, &str)]| {
        let mut specs = Vec::new();
        for (unit, names) in lists {
            specs.extend(names.split_whitespace().map(|name| ColumnSpec {
                name: name.to_owned(),
                unit: (*unit).to_owned(),
                text: *unit == "text",
                range: match (*unit, name) {
                    ("0/1", _) => Some((0.0, 1.0)),
                    (_, "cas_kt") => Some((30.0, 450.0)),
                    _ => None,
                },
            }));
        }
        specs
    };
    RuleContext {
        columns: specs(&COLUMNS),
        approach_columns: specs(&APPROACH_COLUMNS),
    }
}
