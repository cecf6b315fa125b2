//! Which parameters are hit, how often, and how far off the numbers are.

/// Smallest and largest size of a spike, catalogue units: far more than the aircraft can do within
/// the samples around it.
#[rustfmt::skip]
pub(super) const SPIKES: &[(&str, f64, (f64, f64))] = &[
    ("pressure_altitude_ft", 3.0, (800.0, 15_000.0)),
    ("radio_altitude_ft", 3.0, (700.0, 2_500.0)),
    ("cas_kt", 3.0, (45.0, 200.0)),
    ("tas_kt", 1.0, (45.0, 200.0)),
    ("ground_speed_kt", 1.0, (45.0, 200.0)),
    ("vertical_speed_fpm", 3.0, (4_000.0, 9_000.0)),
    ("pitch_deg", 1.0, (15.0, 40.0)),
    ("roll_deg", 2.0, (45.0, 150.0)),
    ("heading_true_deg", 1.0, (60.0, 170.0)),
    ("n1_1_pct", 2.0, (35.0, 80.0)),
    ("n1_2_pct", 2.0, (35.0, 80.0)),
    ("flap_angle_deg", 3.0, (15.0, 40.0)),
    ("glide_path_dev_dots", 2.0, (2.0, 4.5)),
    ("localizer_dev_dots", 2.0, (2.0, 4.5)),
    ("normal_accel_g", 2.0, (2.0, 4.5)),
    ("gross_mass_kg", 1.0, (8_000.0, 30_000.0)),
    ("latitude_deg", 1.0, (0.5, 20.0)),
    ("longitude_deg", 1.0, (0.5, 20.0)),
];

/// Parameters that get stuck.
#[rustfmt::skip]
pub(super) const STUCK: &[(&str, f64)] = &[
    ("pressure_altitude_ft", 3.0),
    ("radio_altitude_ft", 3.0),
    ("cas_kt", 3.0),
    ("tas_kt", 1.0),
    ("ground_speed_kt", 2.0),
    ("vertical_speed_fpm", 3.0),
    ("pitch_deg", 1.0),
    ("roll_deg", 1.0),
    ("heading_true_deg", 1.0),
    ("latitude_deg", 1.0), // with longitude
    ("normal_accel_g", 1.0),
    ("flap_lever", 3.0),
    ("flap_angle_deg", 3.0),
    ("gear_down", 1.0),
    ("speedbrake", 1.0),
    ("n1_1_pct", 2.0),
    ("n1_2_pct", 2.0),
    ("glide_path_dev_dots", 2.0),
    ("localizer_dev_dots", 2.0),
    ("gross_mass_kg", 0.5),
    ("on_ground", 0.5),
];

/// Parameters in whose place a sentinel stands.
#[rustfmt::skip]
pub(super) const SENTINELS: &[(&str, f64)] = &[
    ("pressure_altitude_ft", 3.0),
    ("radio_altitude_ft", 3.0),
    ("cas_kt", 3.0),
    ("tas_kt", 1.0),
    ("ground_speed_kt", 2.0),
    ("vertical_speed_fpm", 3.0),
    ("pitch_deg", 1.0),
    ("roll_deg", 2.0),
    ("heading_true_deg", 1.0),
    ("latitude_deg", 1.0), // with longitude
    ("normal_accel_g", 1.0),
    ("flap_lever", 2.0),
    ("flap_angle_deg", 3.0),
    ("gear_down", 0.5),
    ("speedbrake", 0.5),
    ("n1_1_pct", 2.0),
    ("n1_2_pct", 2.0),
    ("glide_path_dev_dots", 2.0),
    ("localizer_dev_dots", 2.0),
    ("gross_mass_kg", 1.0),
    ("vref_kt", 1.0),
    ("wind_speed_kt", 1.0),
    ("static_air_temp_c", 1.0),
];

/// Numbers, in the recorder's own units, that stand for "no value" in real files: some are beyond
/// anything the parameter can be, others look like a reading.
pub(super) const SENTINEL_VALUES: [f64; 8] =
    [-9999.0, 32_767.0, 9999.0, 4095.0, 0.0, 255.0, 99.9, -1.0];

/// Parameters that go absent for a while.
pub(super) const GAPS: &[(&str, f64)] = STUCK;
