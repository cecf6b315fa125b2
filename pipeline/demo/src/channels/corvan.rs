//! The Corvan C20's recorder: the catalogue's names and units, one row a second.
//!
//! Noise here and in the other recorders is judgement, no source: of the order that such sensors
//! show in steady flight, and small against the steps.

use super::Channel;
use super::Quantity as Q;

/// Steps are binary fractions, as words of a recorder are: of a turn, a degree, a g, a dot.
pub(super) const TURN_1024: f64 = 360.0 / 1024.0;
pub(super) const TURN_256: f64 = 360.0 / 256.0;
/// Positions: 14 m.
pub(super) const ANGLE: f64 = 1.0 / 8192.0;

#[rustfmt::skip]
pub(super) static CHANNELS: [Channel; 31] = [
    Channel::new("pressure_altitude_ft", Q::PressureAltitude).step(4.0).noise(0.6),
    Channel::new("radio_altitude_ft", Q::RadioAltitude).step(1.0).noise(0.15),
    // The pitot line and the air data computer take a quarter of a second.
    Channel::new("cas_kt", Q::Cas).step(0.5).noise(0.08).delay_s(0.25),
    Channel::new("ground_speed_kt", Q::GroundSpeed).step(0.5).noise(0.08),
    Channel::new("vertical_speed_fpm", Q::VerticalSpeed).step(16.0).noise(2.5),
    Channel::new("pitch_deg", Q::Pitch).step(0.25).noise(0.04).jitter_s(0.125).repeats(),
    Channel::new("roll_deg", Q::Roll).step(0.25).noise(0.04).jitter_s(0.125).repeats(),
    Channel::new("heading_true_deg", Q::Heading).step(TURN_1024).noise(0.05),
    Channel::new("track_true_deg", Q::Track).step(TURN_1024).noise(0.05),
    Channel::new("latitude_deg", Q::Latitude).step(ANGLE).every_s(2, 0),
    Channel::new("longitude_deg", Q::Longitude).step(ANGLE).every_s(2, 0),
    Channel::new("normal_accel_g", Q::NormalAcceleration).step(1.0 / 128.0).noise(0.001),
    Channel::new("flap_lever", Q::FlapLever).every_s(2, 0).jitter_s(0.25),
    Channel::new("flap_angle_deg", Q::FlapAngle).step(0.5).noise(0.05).every_s(2, 0).jitter_s(0.25),
    Channel::new("gear_lever", Q::GearLever).every_s(4, 1).jitter_s(0.5),
    Channel::new("gear_down", Q::GearDown).every_s(4, 1).jitter_s(0.5),
    Channel::new("speedbrake", Q::Speedbrake).step(1.0 / 16.0).noise(0.005).repeats(),
    // Engine data come over a bus of their own.
    Channel::new("n1_1_pct", Q::N1Left).step(0.25).noise(0.04).delay_s(0.5),
    Channel::new("n1_2_pct", Q::N1Right).step(0.25).noise(0.04).delay_s(0.5),
    Channel::new("glide_path_dev_dots", Q::GlidePath).step(1.0 / 128.0).noise(0.001),
    Channel::new("localizer_dev_dots", Q::Localizer).step(1.0 / 128.0).noise(0.001),
    Channel::new("ils_tuned", Q::IlsTuned).every_s(4, 2),
    Channel::new("gross_mass_kg", Q::GrossMass).step(50.0).noise(5.0).every_s(4, 3),
    // Wind is what the flight management makes of other channels, a second later.
    Channel::new("wind_speed_kt", Q::WindSpeed).step(1.0).noise(0.15).every_s(4, 0).delay_s(1.0),
    Channel::new("wind_from_deg", Q::WindFrom).step(TURN_256).noise(0.2).every_s(4, 0).delay_s(1.0),
    Channel::new("on_ground", Q::OnGround),
    Channel::new("vref_kt", Q::Vref).step(1.0).every_s(4, 2),
    Channel::new("static_air_temp_c", Q::Temperature).step(0.25).noise(0.04).every_s(4, 3),
    Channel::new("toga", Q::Toga),
    Channel::new("reverser", Q::Reverser),
    Channel::new("ground_spoiler", Q::GroundSpoiler),
];
