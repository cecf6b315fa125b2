//! Key columns and computed columns of the sample store.

use super::{Column, Origin, Storage};

use Storage::{Float32, Float64, Int8, Int32, Int64, Text};

#[rustfmt::skip]
const KEYS: &[(&str, &str, Storage, &str)] = &[
    ("approach_key", "", Int64, "key of the approach"),
    ("k", "", Int32, "number of the sample in its approach, from 0 without holes"),
    ("time_s", "s", Float64, "seconds from the start of the record"),
    ("aircraft_type", "", Text, "key of the type file"),
    ("airport", "", Text, "airport of the matched runway"),
    ("runway", "", Text, "matched runway end"),
    ("approach_kind", "", Text, "ils, localizer, rnav, visual, circling or unknown"),
    ("segment", "", Text, "approach, roll or missed"),
];

#[rustfmt::skip]
const DERIVED: &[(&str, &str, Storage, &str)] = &[
    ("height_aal_ft", "ft", Float32, "pressure height above the landing threshold, one offset per approach"),
    ("height_geometric_ft", "ft", Float32, "height above the threshold corrected for temperature"),
    ("altitude_msl_ft", "ft", Float32, "height above the threshold plus its elevation"),
    ("distance_to_threshold_nm", "NM", Float32, "distance left to fly along the flown track"),
    ("air_distance_nm", "NM", Float32, "distance left to fly through the air"),
    ("along_nm", "NM", Float32, "straight-line distance before the threshold along the runway axis"),
    ("offset_nm", "NM", Float32, "distance right of the runway axis as seen on approach"),
    ("runway_remaining_ft", "ft", Float32, "runway left to the far end of the pavement; unknown before the threshold"),
    ("over_vref_kt", "kt", Float32, "airspeed above VREF"),
    ("over_vapp_kt", "kt", Float32, "airspeed above VAPP"),
    ("over_target_kt", "kt", Float32, "airspeed above the planned speed at this distance"),
    ("sink_rate_fpm", "ft/min", Float32, "rate of descent, positive = descending"),
    ("vfe_kt", "kt", Float32, "lower of the limits of lever position and surfaces; VMO clean"),
    ("vfe_lever_kt", "kt", Float32, "speed limit of the lever position"),
    ("vfe_surface_kt", "kt", Float32, "speed limit of the surfaces as they stand"),
    ("vfe_next_kt", "kt", Float32, "speed limit of the next lever position"),
    ("flap_margin_kt", "kt", Float32, "vfe_kt less airspeed, negative = above the limit"),
    ("min_manoeuvre_kt", "kt", Float32, "lowest manoeuvring speed at this lever position and mass"),
    ("selection_window_kt", "kt", Float32, "next limit less lowest manoeuvring speed"),
    ("vlo_extend_kt", "kt", Float32, "speed limit while the gear moves down"),
    ("vle_kt", "kt", Float32, "speed limit with the gear down and locked"),
    ("flap_altitude_limit_ft", "ft", Float32, "highest pressure altitude for flaps extended"),
    ("mass_ratio", "1", Float32, "gross mass over maximum landing mass"),
    ("headwind_kt", "kt", Float32, "wind along the runway, positive = headwind"),
    ("crosswind_kt", "kt", Float32, "wind across the runway, positive = from the right"),
    ("thrust_pct", "%", Float32, "mean N1 of the engines"),
    ("thrust_over_min_pct", "%", Float32, "mean N1 above the type's minimum on a stabilised approach"),
    ("turbulence_g", "g", Float32, "standard deviation of normal acceleration over 10 s"),
    ("decel_kt_per_nm", "kt/NM", Float32, "airspeed lost over the last air mile"),
    ("energy_height_ft", "ft", Float32, "geometric height plus speed energy from true airspeed"),
    ("energy_height_gs_ft", "ft", Float32, "geometric height plus speed energy from ground speed"),
    ("planning_height_ft", "ft", Float32, "height planned for this distance"),
    ("target_cas_kt", "kt", Float32, "airspeed planned for this distance"),
    ("reference_energy_ft", "ft", Float32, "planned height plus energy of the planned speed"),
    ("energy_excess_ft", "ft", Float32, "energy height above the reference"),
    ("profile_height_ft", "ft", Float32, "height of the runway's glide path at this distance"),
    ("height_over_profile_ft", "ft", Float32, "geometric height above the glide path"),
    ("rule_of_three_ft", "ft", Float32, "300 ft per NM less room to slow down"),
    ("height_over_rule_of_three_ft", "ft", Float32, "geometric height above the rule of three"),
    ("energy_loss_ft_per_nm", "ft/NM", Float32, "energy height lost over the last air mile"),
    ("landing_flap_set", "0/1", Int8, "surfaces, else lever, at a landing position"),
    ("flap_uncertain", "0/1", Int8, "the lever moved between the recorder samples around this one"),
];

pub(super) fn keys() -> Vec<Column> {
    build(KEYS, Origin::Key)
}

pub(super) fn columns() -> Vec<Column> {
    build(DERIVED, Origin::Derived)
}

fn build(entries: &[(&str, &str, Storage, &str)], origin: Origin) -> Vec<Column> {
    entries
        .iter()
        .map(|&(name, unit, storage, meaning)| Column {
            name: name.to_owned(),
            unit: unit.to_owned(),
            storage,
            origin,
            meaning: meaning.to_owned(),
        })
        .collect()
}
