//! What the second schema calls the columns of the three demo recorders, and in which units, signs and forms
//! it holds them.

use std::f64::consts::PI;

/// How a number of the first schema becomes a cell of the second.
#[derive(Clone, Copy)]
pub(crate) enum Form {
    /// Times this, plus that.
    Number(f64, f64),
    /// An angle of 0…360° as −180…180°, times this.
    HalfTurns(f64),
    /// A state in words.
    Words(&'static [(f64, &'static str)]),
    /// A state as its contrary.
    Contrary,
}

/// One column of both schemas.
pub(crate) struct Column {
    pub(crate) parameter: &'static str,
    pub(crate) first: &'static str,
    pub(crate) second: &'static str,
    pub(crate) form: Form,
    /// What the second map says beside the column's name.
    pub(crate) entry: &'static str,
}

const fn column(
    parameter: &'static str,
    first: &'static str,
    second: &'static str,
    form: Form,
    entry: &'static str,
) -> Column {
    Column {
        parameter,
        first,
        second,
        form,
        entry,
    }
}

use Form::{Contrary, HalfTurns, Number, Words};

const AS_IS: Form = Number(1.0, 0.0);
const M: f64 = 0.3048;
const MS: f64 = 1852.0 / 3600.0;
const KMH: f64 = 1.852;
const RAD: f64 = PI / 180.0;
const G: f64 = 9.806_65;
const MICROAMPERES: f64 = 75.0;
const LB: f64 = 0.453_592_37;
const DETENTS: Form = Words(&[
    (0.0, "UP"),
    (1.0, "FIRST"),
    (2.0, "SECOND"),
    (3.0, "THIRD"),
    (4.0, "FULL"),
]);

/// Corvan C20: feet, knots and degrees become metric and radians, deviations change their sign, states
/// become words.
#[rustfmt::skip]
pub(crate) static CORVAN: [Column; 31] = [
    column("pressure_altitude_ft", "pressure_altitude_ft", "std alt m", Number(M, 0.0), r#"unit = "m""#),
    column("radio_altitude_ft", "radio_altitude_ft", "radar m", Number(M, 0.0), r#"unit = "m""#),
    column("cas_kt", "cas_kt", "v cal", Number(MS, 0.0), r#"unit = "m/s", delay_s = 0.25"#),
    column("ground_speed_kt", "ground_speed_kt", "v gnd", Number(KMH, 0.0), r#"unit = "km/h""#),
    column("vertical_speed_fpm", "vertical_speed_fpm", "descent", Number(-M / 60.0, 0.0), r#"scale = -1, unit = "m/s""#),
    column("pitch_deg", "pitch_deg", "theta", Number(RAD, 0.0), r#"unit = "rad""#),
    column("roll_deg", "roll_deg", "left bank", Number(-RAD, 0.0), r#"scale = -1, unit = "rad""#),
    column("heading_true_deg", "heading_true_deg", "psi", HalfTurns(RAD), r#"unit = "rad""#),
    column("track_true_deg", "track_true_deg", "chi", HalfTurns(RAD), r#"unit = "rad""#),
    column("latitude_deg", "latitude_deg", "phi", Number(RAD, 0.0), r#"unit = "rad""#),
    column("longitude_deg", "longitude_deg", "lambda", Number(RAD, 0.0), r#"unit = "rad""#),
    column("normal_accel_g", "normal_accel_g", "a n", Number(G, 0.0), r#"unit = "m/s2""#),
    column("flap_lever", "flap_lever", "lever", DETENTS, "values = { UP = 0, FIRST = 1, SECOND = 2, THIRD = 3, FULL = 4 }"),
    column("flap_angle_deg", "flap_angle_deg", "surface", Number(RAD, 0.0), r#"unit = "rad""#),
    column("gear_lever", "gear_lever", "handle", Words(&[(0.0, "RAISE"), (1.0, "LOWER")]), "values = { RAISE = 0, LOWER = 1 }"),
    column("gear_down", "gear_down", "gear open", Contrary, "invert = true"),
    column("speedbrake", "speedbrake", "brake", Number(100.0, 0.0), r#"unit = "%""#),
    column("n1_1_pct", "n1_1_pct", "fan 1", Number(0.01, 0.0), r#"unit = "fraction", delay_s = 0.5"#),
    column("n1_2_pct", "n1_2_pct", "fan 2", Number(0.01, 0.0), r#"unit = "fraction", delay_s = 0.5"#),
    column("glide_path_dev_dots", "glide_path_dev_dots", "gp", Number(-MICROAMPERES, 0.0), r#"unit = "uA", positive = "below""#),
    column("localizer_dev_dots", "localizer_dev_dots", "loc", Number(-MICROAMPERES, 0.0), r#"unit = "uA", positive = "left""#),
    column("ils_tuned", "ils_tuned", "receiver", Words(&[(0.0, "OTHER"), (1.0, "ILS")]), "values = { OTHER = 0, ILS = 1 }"),
    column("gross_mass_kg", "gross_mass_kg", "mass", Number(0.001, 0.0), r#"unit = "t""#),
    column("wind_speed_kt", "wind_speed_kt", "w", Number(MS, 0.0), r#"unit = "m/s", delay_s = 1.0"#),
    column("wind_from_deg", "wind_from_deg", "w from", HalfTurns(1.0), "delay_s = 1.0"),
    column("on_ground", "on_ground", "squat", Words(&[(0.0, "AIR"), (1.0, "GND")]), "values = { AIR = 0, GND = 1 }"),
    column("vref_kt", "vref_kt", "v ref", Number(KMH, 0.0), r#"unit = "km/h""#),
    column("static_air_temp_c", "static_air_temp_c", "sat", Number(1.0, 273.15), r#"unit = "K""#),
    column("toga", "toga", "no go around", Contrary, "invert = true"),
    column("reverser", "reverser", "reverse", Words(&[(0.0, "STOWED"), (1.0, "OPEN")]), "values = { STOWED = 0, OPEN = 1 }"),
    column("ground_spoiler", "ground_spoiler", "lift dump", Words(&[(0.0, "false"), (1.0, "true")]), ""),
];

/// Tarn T7: what was metric becomes feet, knots and pounds.
#[rustfmt::skip]
pub(crate) static TARN: [Column; 29] = [
    column("pressure_altitude_ft", "ALT_M", "level", Number(0.01 / M, 0.0), r#"unit = "FL""#),
    column("radio_altitude_ft", "RA_M", "radio_km", Number(0.001, 0.0), r#"unit = "km""#),
    column("cas_kt", "IAS_MS", "ias", Number(1.0 / MS, 0.0), r#"unit = "kt", delay_s = 0.25"#),
    column("tas_kt", "TAS_MS", "tas_kmh", Number(3.6, 0.0), r#"unit = "km/h", delay_s = 0.25"#),
    column("ground_speed_kt", "GS_MS", "gs", Number(1.0 / MS, 0.0), ""),
    column("vertical_speed_fpm", "VS_MS", "climb_fps", Number(1.0 / M, 0.0), r#"unit = "ft/s""#),
    column("pitch_deg", "PITCH", "nose_down", Number(-1.0, 0.0), "scale = -1"),
    column("roll_deg", "ROLL", "bank_rad", Number(RAD, 0.0), r#"unit = "rad""#),
    column("heading_true_deg", "HDG_TRUE", "hdg", HalfTurns(1.0), ""),
    column("track_true_deg", "TRK_TRUE", "trk", HalfTurns(RAD), r#"unit = "rad""#),
    column("latitude_deg", "LAT", "lat_minutes", Number(60.0, 0.0), "scale = 0.016666666666666666"),
    column("longitude_deg", "LON", "lon_minutes", Number(60.0, 0.0), "scale = 0.016666666666666666"),
    column("normal_accel_g", "NZ", "load_less_one", Number(1.0, -1.0), "offset = 1"),
    column("flap_lever", "LEVER_DEG", "lever", Words(&[(0.0, "F0"), (5.0, "F1"), (15.0, "F2"), (25.0, "F3"), (38.0, "F4")]), "values = { F0 = 0, F1 = 1, F2 = 2, F3 = 3, F4 = 4 }"),
    column("flap_angle_deg", "FLAP_DEG", "flap_rad", Number(RAD, 0.0), r#"unit = "rad""#),
    column("gear_lever", "GEAR_HANDLE", "handle_up", Contrary, "invert = true"),
    column("gear_down", "GEAR_UP", "three_greens", Contrary, ""),
    column("speedbrake", "SPOILER_PCT", "spoiler", Number(0.01, 0.0), ""),
    column("n1_1_pct", "N1_L", "n1_l", Number(0.01, 0.0), r#"unit = "1", delay_s = 0.5"#),
    column("n1_2_pct", "N1_R", "n1_r", Number(0.01, 0.0), r#"unit = "1", delay_s = 0.5"#),
    column("glide_path_dev_dots", "GP_UA", "gp_dots", Number(-1.0 / MICROAMPERES, 0.0), r#"positive = "above""#),
    column("localizer_dev_dots", "LOC_UA", "loc_dots", Number(-1.0 / MICROAMPERES, 0.0), r#"positive = "right""#),
    column("ils_tuned", "ILS_ON", "ils_off", Contrary, "invert = true"),
    column("gross_mass_kg", "MASS_KG", "klb", Number(0.001 / LB, 0.0), r#"unit = "klb""#),
    column("wind_speed_kt", "WIND_MS", "wind_kmh", Number(3.6, 0.0), r#"unit = "km/h", delay_s = 1.0"#),
    column("wind_from_deg", "WIND_DIR", "wind_rad", HalfTurns(RAD), r#"unit = "rad", delay_s = 1.0"#),
    column("on_ground", "AIR", "strut", Words(&[(0.0, "compressed"), (1.0, "free")]), "values = { compressed = 1, free = 0 }"),
    column("static_air_temp_c", "SAT_C", "sat_f", Number(1.8, 32.0), r#"unit = "degF""#),
    column("reverser", "REV", "reversers_shut", Contrary, "invert = true"),
];

/// Brae R3: metric, and microamperes become dots; each rate has a table of its own.
#[rustfmt::skip]
pub(crate) static BRAE: [(&str, &[Column]); 4] = [
    ("_1hz", &[
        column("pressure_altitude_ft", "altitude_feet", "A1", Number(M, 0.0), r#"unit = "m", delay_s = 0.25"#),
        column("radio_altitude_ft", "radio_height_feet", "A2", Number(M, 0.0), r#"unit = "m""#),
        column("cas_kt", "airspeed_knots", "A3", Number(MS, 0.0), r#"unit = "m/s", delay_s = 0.25"#),
        column("ground_speed_kt", "ground_speed_knots", "A4", Number(MS, 0.0), r#"unit = "m/s""#),
        column("vertical_speed_fpm", "climb_feet_per_minute", "A5", Number(M / 60.0, 0.0), r#"unit = "m/s""#),
        column("heading_true_deg", "heading_degrees", "A6", HalfTurns(RAD), r#"unit = "rad""#),
        column("n1_1_pct", "left_fan_percent", "A7", Number(0.01, 0.0), r#"unit = "fraction", delay_s = 0.5"#),
        column("n1_2_pct", "right_fan_percent", "A8", Number(0.01, 0.0), r#"unit = "fraction", delay_s = 0.5"#),
        column("glide_path_dev_dots", "glide_path_microamps", "A9", Number(-1.0 / MICROAMPERES, 0.0), r#"positive = "below""#),
        column("localizer_dev_dots", "localizer_microamps", "A10", Number(-1.0 / MICROAMPERES, 0.0), r#"positive = "left""#),
        column("on_ground", "weight_on_wheels", "A11", Contrary, "invert = true"),
        column("toga", "go_around_mode", "A12", Words(&[(0.0, "OFF"), (1.0, "GO AROUND")]), r#"values = { OFF = 0, "GO AROUND" = 1 }"#),
    ]),
    ("_8hz", &[
        column("normal_accel_g", "normal_load_g", "B1", Number(G, 0.0), r#"unit = "m/s^2""#),
        column("speedbrake", "speedbrake_percent", "B2", Number(0.01, 0.0), r#"unit = "fraction""#),
    ]),
    ("_4hz", &[
        column("pitch_deg", "pitch_degrees", "C1", Number(RAD, 0.0), r#"unit = "rad""#),
        column("longitudinal_accel_g", "forward_load_g", "C2", Number(G, 0.0), r#"unit = "m/s2""#),
        column("roll_deg", "roll_degrees", "C3", Number(-RAD, 0.0), r#"scale = -1, unit = "rad""#),
    ]),
    ("_slow", &[
        column("latitude_deg", "latitude_degrees", "D1", Number(RAD, 0.0), r#"unit = "rad""#),
        column("longitude_deg", "longitude_degrees", "D2", Number(RAD, 0.0), r#"unit = "rad""#),
        column("flap_lever", "flap_lever_detent", "D3", DETENTS, "values = { UP = 0, FIRST = 1, SECOND = 2, THIRD = 3, FULL = 4 }"),
        column("flap_angle_deg", "flap_surface_degrees", "D4", Number(RAD, 0.0), r#"unit = "rad""#),
        column("gear_lever", "gear_handle_down", "D5", Contrary, "invert = true"),
        column("gear_down", "gear_locked_down", "D6", Words(&[(0.0, "NOT LOCKED"), (1.0, "LOCKED")]), r#"values = { "NOT LOCKED" = 0, LOCKED = 1 }"#),
        column("ils_tuned", "receiver_on_beam", "D7", Words(&[(0.0, "FALSE"), (1.0, "TRUE")]), ""),
        column("gross_mass_kg", "mass_kilograms", "D8", Number(1.0 / LB, 0.0), r#"unit = "lb""#),
        column("wind_speed_kt", "wind_knots", "D9", Number(MS, 0.0), r#"unit = "m/s", delay_s = 1.0"#),
        column("wind_from_deg", "wind_from_degrees", "D10", HalfTurns(RAD), r#"unit = "rad", delay_s = 1.0"#),
        column("static_air_temp_c", "outside_air_celsius", "D11", AS_IS, r#"unit = "C""#),
    ]),
];

/// The cell of a known number.
pub(crate) enum Cell {
    Number(f64),
    Word(&'static str),
    Truth(bool),
}

impl Form {
    pub(crate) fn cell(self, value: f64) -> Cell {
        match self {
            Number(scale, offset) => Cell::Number(value * scale + offset),
            HalfTurns(scale) if value > 180.0 => Cell::Number((value - 360.0) * scale),
            HalfTurns(scale) => Cell::Number(value * scale),
            Words(words) => {
                let found = words.iter().find(|(number, _)| *number == value);
                Cell::Word(found.unwrap_or_else(|| panic!("no word for {value}")).1)
            }
            Contrary => Cell::Truth(value == 0.0),
        }
    }
}
