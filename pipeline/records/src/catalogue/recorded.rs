//! The recorded parameters. Intervals and ranges follow the published recorder requirements of
//! 14 CFR 121 Appendix M, widened so that a plausible value is never refused.

use super::{Column, Kind, Origin, Parameter, Storage};

use Kind::{Circular, Continuous, Discrete, Longitude, Slow};

type Entry = (
    &'static str,
    &'static str,
    Kind,
    f64,
    f64,
    Option<f64>,
    &'static str,
);

#[rustfmt::skip]
const RECORDED: &[Entry] = &[
    ("pressure_altitude_ft", "ft", Continuous, -1500.0, 51000.0, Some(1.0), "altitude above the 1013.25 hPa level"),
    ("baro_altitude_ft", "ft", Continuous, -1500.0, 51000.0, Some(1.0), "altitude as set by the crew (QNH or QFE)"),
    ("radio_altitude_ft", "ft", Continuous, -20.0, 8000.0, Some(1.0), "clearance above the terrain below; a height only over the runway"),
    ("cas_kt", "kt", Continuous, 30.0, 450.0, Some(1.0), "calibrated airspeed"),
    ("tas_kt", "kt", Continuous, 30.0, 650.0, Some(1.0), "true airspeed"),
    ("target_speed_kt", "kt", Slow, 80.0, 350.0, Some(1.0), "speed target of the flight guidance"),
    ("ground_speed_kt", "kt", Continuous, 0.0, 700.0, Some(1.0), "speed over ground"),
    ("vertical_speed_fpm", "ft/min", Continuous, -10000.0, 10000.0, Some(1.0), "vertical speed, positive = climbing; inertial preferred"),
    ("pitch_deg", "deg", Continuous, -75.0, 75.0, Some(0.25), "pitch attitude, positive = nose up"),
    ("roll_deg", "deg", Continuous, -180.0, 180.0, Some(0.5), "roll attitude, positive = right"),
    ("heading_true_deg", "deg", Circular, 0.0, 360.0, Some(1.0), "true heading"),
    ("track_true_deg", "deg", Circular, 0.0, 360.0, Some(1.0), "true track over ground"),
    ("latitude_deg", "deg", Continuous, -90.0, 90.0, Some(4.0), "latitude, positive = north"),
    ("longitude_deg", "deg", Longitude, -180.0, 180.0, Some(4.0), "longitude, positive = east"),
    ("normal_accel_g", "g", Continuous, -3.0, 6.0, Some(0.125), "normal acceleration, 1 in level flight"),
    ("longitudinal_accel_g", "g", Continuous, -1.0, 1.0, Some(0.25), "longitudinal acceleration, positive = forward"),
    ("lateral_accel_g", "g", Continuous, -1.0, 1.0, Some(0.25), "lateral acceleration, positive = right"),
    ("flap_lever", "index", Discrete, 0.0, 20.0, Some(2.0), "position of the flap lever, 0 = clean"),
    ("flap_angle_deg", "deg", Continuous, 0.0, 60.0, Some(2.0), "angle of the trailing-edge flaps"),
    ("slat_angle_deg", "deg", Continuous, 0.0, 60.0, Some(2.0), "angle of the leading-edge slats"),
    ("gear_lever", "0/1", Discrete, 0.0, 1.0, Some(4.0), "gear selected down"),
    ("gear_down", "0/1", Discrete, 0.0, 1.0, Some(4.0), "gear down and locked"),
    ("speedbrake", "1", Continuous, -0.1, 1.1, Some(1.0), "speedbrake, 0 = stowed to 1 = full"),
    ("n1_1_pct", "%", Continuous, 0.0, 120.0, Some(1.0), "N1 of engine 1, or another thrust parameter"),
    ("n1_2_pct", "%", Continuous, 0.0, 120.0, Some(1.0), "N1 of engine 2, or another thrust parameter"),
    ("n1_3_pct", "%", Continuous, 0.0, 120.0, Some(1.0), "N1 of engine 3, or another thrust parameter"),
    ("n1_4_pct", "%", Continuous, 0.0, 120.0, Some(1.0), "N1 of engine 4, or another thrust parameter"),
    ("glide_path_dev_dots", "dots", Continuous, -5.0, 5.0, Some(1.0), "deviation from the glide path, positive = aircraft above; 1 dot = 75 uA"),
    ("localizer_dev_dots", "dots", Continuous, -5.0, 5.0, Some(1.0), "deviation from the localizer, positive = aircraft right of it; 1 dot = 75 uA"),
    ("vertical_path_dev_dots", "dots", Continuous, -5.0, 5.0, Some(1.0), "deviation from the computed vertical path, positive = aircraft above"),
    ("ils_tuned", "0/1", Discrete, 0.0, 1.0, Some(4.0), "an instrument landing system is tuned"),
    ("ils_freq_mhz", "MHz", Slow, 108.0, 112.0, Some(4.0), "localizer frequency tuned"),
    ("gross_mass_kg", "kg", Continuous, 1000.0, 650000.0, Some(64.0), "gross mass"),
    ("wind_speed_kt", "kt", Continuous, 0.0, 250.0, Some(4.0), "wind speed"),
    ("wind_from_deg", "deg", Circular, 0.0, 360.0, Some(4.0), "true direction the wind comes from"),
    ("on_ground", "0/1", Discrete, 0.0, 1.0, Some(1.0), "air/ground switch says ground"),
    ("vref_kt", "kt", Slow, 80.0, 220.0, None, "landing reference speed, recorded or from the type's table"),
    ("vapp_kt", "kt", Slow, 80.0, 220.0, None, "approach speed, recorded or from the type's table"),
    ("static_air_temp_c", "degC", Slow, -90.0, 60.0, None, "static air temperature"),
    ("qnh_hpa", "hPa", Slow, 850.0, 1090.0, None, "pressure setting"),
    ("autopilot", "0/1", Discrete, 0.0, 1.0, Some(1.0), "autopilot engaged"),
    ("autothrust", "0/1", Discrete, 0.0, 1.0, Some(1.0), "autothrust engaged"),
    ("toga", "0/1", Discrete, 0.0, 1.0, Some(1.0), "take-off/go-around mode active"),
    ("taws_alert", "0/1", Discrete, 0.0, 1.0, Some(1.0), "terrain warning"),
    ("windshear_alert", "0/1", Discrete, 0.0, 1.0, Some(1.0), "windshear warning"),
    ("stall_warning", "0/1", Discrete, 0.0, 1.0, Some(1.0), "stall warning"),
    ("resolution_advisory", "0/1", Discrete, 0.0, 1.0, Some(1.0), "collision-avoidance resolution advisory"),
    ("reverser", "0/1", Discrete, 0.0, 1.0, Some(1.0), "a thrust reverser is deployed"),
    ("ground_spoiler", "0/1", Discrete, 0.0, 1.0, Some(1.0), "ground spoilers deployed"),
];

const PEAKS: &[(&str, &str, &str)] = &[
    (
        "cas_kt_max",
        "kt",
        "highest calibrated airspeed of the step",
    ),
    (
        "normal_accel_g_min",
        "g",
        "lowest normal acceleration of the step",
    ),
    (
        "normal_accel_g_max",
        "g",
        "highest normal acceleration of the step",
    ),
    (
        "longitudinal_accel_g_min",
        "g",
        "lowest longitudinal acceleration of the step",
    ),
    (
        "longitudinal_accel_g_max",
        "g",
        "highest longitudinal acceleration of the step",
    ),
    (
        "lateral_accel_g_min",
        "g",
        "lowest lateral acceleration of the step",
    ),
    (
        "lateral_accel_g_max",
        "g",
        "highest lateral acceleration of the step",
    ),
];

pub(super) fn parameters() -> Vec<Parameter> {
    RECORDED
        .iter()
        .map(
            |&(name, unit, kind, low, high, nominal_interval_s, meaning)| Parameter {
                name: name.to_owned(),
                unit: unit.to_owned(),
                kind,
                low,
                high,
                nominal_interval_s,
                meaning: meaning.to_owned(),
            },
        )
        .collect()
}

pub(super) fn column(parameter: &Parameter) -> Column {
    Column {
        name: parameter.name.clone(),
        unit: parameter.unit.clone(),
        storage: if parameter.kind == Discrete {
            Storage::Int8
        } else {
            Storage::Float32
        },
        origin: Origin::Recorded,
        meaning: parameter.meaning.clone(),
    }
}

pub(super) fn peaks() -> Vec<Column> {
    PEAKS
        .iter()
        .map(|&(name, unit, meaning)| Column {
            name: name.to_owned(),
            unit: unit.to_owned(),
            storage: Storage::Float32,
            origin: Origin::Peak,
            meaning: meaning.to_owned(),
        })
        .collect()
}
