//! What physics allows, per parameter: the numbers behind the quality checks, with their reasons.

/// A lone sample that leaves both neighbours by more than this, while they agree, is a spike.
///
/// Each is beyond what a transport aircraft and its sensors can do and undo within two seconds.
/// Accelerations are absent: their peaks are what touchdown and turbulence are measured by.
/// Deviations are absent: beams do sweep. Radio altitude is generous: so are ridges and buildings.
#[rustfmt::skip]
pub(super) const SPIKE_DEPARTURE: &[(&str, f64)] = &[
    ("pressure_altitude_ft", 150.0), // 150 ft there and back in 2 s is 9 g
    ("baro_altitude_ft", 150.0),
    ("radio_altitude_ft", 500.0),
    ("cas_kt", 20.0),                // a gust of that size does not end within a second
    ("tas_kt", 20.0),
    ("ground_speed_kt", 15.0),       // inertia: 8 kt/s is 0.4 g
    ("vertical_speed_fpm", 2500.0),
    ("pitch_deg", 8.0),
    ("roll_deg", 25.0),
    ("heading_true_deg", 30.0),
    ("track_true_deg", 30.0),
    ("flap_angle_deg", 5.0),         // surfaces move at 1 to 3 degrees a second
    ("slat_angle_deg", 5.0),
    ("n1_1_pct", 25.0),              // spools do not accelerate and decelerate that fast
    ("n1_2_pct", 25.0),
    ("n1_3_pct", 25.0),
    ("n1_4_pct", 25.0),
    ("gross_mass_kg", 2000.0),
    ("wind_speed_kt", 40.0),
    ("static_air_temp_c", 10.0),
];

/// Longest burst still called a spike; longer ones are levels of their own.
pub(super) const SPIKE_SAMPLES: usize = 3;

/// Altitude cannot change faster: 10,000 ft/min, an emergency descent and more.
pub(super) const ALTITUDE_RATE_FT_S: f64 = 10_000.0 / 60.0;
/// On top of the rate: static-source errors at rotation and flare.
pub(super) const ALTITUDE_SLACK_FT: f64 = 150.0;
/// A level more than this off the airfield while the wheels are on the ground is a stale one.
pub(super) const GROUND_LEVEL_FT: f64 = 1_500.0;

/// Position cannot move faster: 700 kt over ground, in NM per second, and a tenth more.
pub(super) const POSITION_RATE_NM_S: f64 = 1.1 * 700.0 / 3600.0;
/// On top of the rate: a navigation update shifts the position by a fraction of a mile.
pub(super) const POSITION_SLACK_NM: f64 = 0.3;

/// A value repeated for this long may be a receiver repeating its last message.
pub(super) const HOLD_S: f64 = 3.0;
/// After a real level-off altitude starts moving slowly; a repeated one jumps by this at least.
pub(super) const HOLD_JUMP_FT: f64 = 40.0;

/// Moving faster than this, no two true positions are alike.
pub(super) const MOVING_KT: f64 = 30.0;
/// Altitude that changes by this during a frozen position shows that the aircraft flew on.
pub(super) const MOVING_FT: f64 = 75.0;

/// Ground speed in a steady cruise repeats for minutes: it is stuck only when, for this long at
/// least, the positions tell a different speed.
pub(super) const SPEED_STUCK_S: f64 = 20.0;
/// Positions repeat for seconds too: their speed over a short stretch is known to this share.
pub(super) const SPEED_SHARE: f64 = 0.35;
/// And not better than this.
pub(super) const SPEED_SLACK_KT: f64 = 25.0;

/// `(parameter, constant for s, while this one, moves by)`: stuck.
///
/// Airspeed held by autothrust repeats for 12 s in real cruise and more with a coarse recorder,
/// hence a minute and a change of ground speed that no wind makes at one level.
#[rustfmt::skip]
pub(super) const STUCK: &[(&str, f64, &str, f64)] = &[
    ("cas_kt", 60.0, "ground_speed_kt", 40.0),
    ("normal_accel_g", 60.0, "roll_deg", 25.0),       // 25 degrees of bank are 0.1 g
    ("radio_altitude_ft", 10.0, "pressure_altitude_ft", 200.0),
];

/// A vertical speed of this much and more, repeated while altitude stands, is stuck.
pub(super) const SINK_STUCK_FPM: f64 = 300.0;
/// For this long.
pub(super) const SINK_STUCK_S: f64 = 10.0;

/// Altitude that stands for this long …
pub(super) const LEVEL_STUCK_S: f64 = 20.0;
/// … while a vertical speed that is alive says this on average, is stuck.
pub(super) const LEVEL_STUCK_FPM: f64 = 500.0;
