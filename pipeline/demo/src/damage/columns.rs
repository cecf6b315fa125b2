//! Which parameter of the catalogue a recorder's column holds.

use crate::channels::channels;

/// Column of a recorder and catalogue name; columns that have their catalogue name are not listed.
#[rustfmt::skip]
const COLUMNS: &[(&str, &str)] = &[
    ("ALT_M", "pressure_altitude_ft"),
    ("RA_M", "radio_altitude_ft"),
    ("IAS_MS", "cas_kt"),
    ("TAS_MS", "tas_kt"),
    ("GS_MS", "ground_speed_kt"),
    ("VS_MS", "vertical_speed_fpm"),
    ("PITCH", "pitch_deg"),
    ("ROLL", "roll_deg"),
    ("HDG_TRUE", "heading_true_deg"),
    ("TRK_TRUE", "track_true_deg"),
    ("LAT", "latitude_deg"),
    ("LON", "longitude_deg"),
    ("NZ", "normal_accel_g"),
    ("LEVER_DEG", "flap_lever"),
    ("FLAP_DEG", "flap_angle_deg"),
    ("GEAR_HANDLE", "gear_lever"),
    ("GEAR_UP", "gear_down"),
    ("SPOILER_PCT", "speedbrake"),
    ("N1_L", "n1_1_pct"),
    ("N1_R", "n1_2_pct"),
    ("GP_UA", "glide_path_dev_dots"),
    ("LOC_UA", "localizer_dev_dots"),
    ("ILS_ON", "ils_tuned"),
    ("MASS_KG", "gross_mass_kg"),
    ("WIND_MS", "wind_speed_kt"),
    ("WIND_DIR", "wind_from_deg"),
    ("AIR", "on_ground"),
    ("SAT_C", "static_air_temp_c"),
    ("REV", "reverser"),
];

/// The catalogue name of a recorder's column.
pub(super) fn parameter(column: &'static str) -> &'static str {
    COLUMNS
        .iter()
        .find(|(name, _)| *name == column)
        .map_or(column, |(_, parameter)| *parameter)
}

/// Column and recorded units per catalogue unit of a parameter, in the recorder of a type.
pub(super) fn column(type_index: usize, wanted: &str) -> Option<(&'static str, f64)> {
    channels(type_index)
        .iter()
        .find(|channel| parameter(channel.name) == wanted)
        .map(|channel| (channel.name, channel.scale))
}

/// Every parameter that the recorder of a type has.
pub(super) fn parameters(type_index: usize) -> Vec<&'static str> {
    channels(type_index)
        .iter()
        .map(|channel| parameter(channel.name))
        .collect()
}
