//! The Brae R3's recorder: eight rows a second, nulls where a channel is not due.
//!
//! Intervals and resolutions are those of 14 CFR 121 Appendix M or finer: altitude 1 s and 5 to
//! 35 ft, airspeed 1 s and 1 kt, heading 1 s and 0.5°, normal acceleration 0.125 s and 0.004 g,
//! longitudinal acceleration 0.25 s and 0.004 g, pitch 0.25 s and roll 0.5 s (newer aircraft) and
//! 0.5°, thrust 1 s and 0.3 %, beam deviations 1 s and 0.3 % of ±400 µA, flap 2 s and 0.5 % (lever
//! and surface alternate at 4 s), speedbrake 1 s and 0.2 %, ground speed 1 s and 0.2 % of 1,000 kt,
//! air/ground 1 s, gear 4 s. From memory: radio altitude 1 s, 1 ft to 500 ft and 5 % above; wind
//! and position 4 s; outside air temperature 2 s and 0.3 °C.
//!
//! Positions would be good to 0.002°, more than 200 m: no runway could be told from its parallel by
//! that. Real recorders store them ten times finer, and so does this one.
//!
//! Vertical speed, mass, the beam that is tuned and the go-around mode are not among the required
//! ones; aircraft record them all the same.

use super::Channel;
use super::Quantity as Q;

/// Under 0.0002 degrees.
const ANGLE: f64 = 1.0 / 8192.0;
/// The finest step of a binary fraction that is not above 0.004 g.
const LOAD_G: f64 = 1.0 / 256.0;

#[rustfmt::skip]
pub(super) static CHANNELS: [Channel; 28] = [
    Channel::new("altitude_feet", Q::PressureAltitude).step(8.0).noise(1.0).delay_s(0.25),
    Channel::new("radio_height_feet", Q::RadioAltitude).step(1.0).coarse_from(500.0, 25.0).noise(0.15),
    Channel::new("airspeed_knots", Q::Cas).step(1.0).noise(0.15).delay_s(0.25),
    Channel::new("ground_speed_knots", Q::GroundSpeed).step(2.0).noise(0.2),
    Channel::new("climb_feet_per_minute", Q::VerticalSpeed).step(16.0).noise(2.5),
    Channel::new("pitch_degrees", Q::Pitch).step(0.5).noise(0.05).every_ticks(2, 0).jitter_s(0.0625),
    Channel::new("roll_degrees", Q::Roll).step(0.5).noise(0.05).every_ticks(4, 1).jitter_s(0.0625),
    Channel::new("heading_degrees", Q::Heading).step(0.5).noise(0.05),
    Channel::new("normal_load_g", Q::NormalAcceleration).step(LOAD_G).noise(0.001).every_ticks(1, 0).repeats(),
    Channel::new("forward_load_g", Q::LongitudinalAcceleration).step(LOAD_G).noise(0.001).every_ticks(2, 1),
    Channel::new("left_fan_percent", Q::N1Left).step(0.25).noise(0.05).delay_s(0.5),
    Channel::new("right_fan_percent", Q::N1Right).step(0.25).noise(0.05).delay_s(0.5),
    Channel::new("glide_path_microamps", Q::GlidePath).scale(75.0).step(2.0).noise(0.004),
    Channel::new("localizer_microamps", Q::Localizer).scale(75.0).step(2.0).noise(0.004),
    Channel::new("flap_lever_detent", Q::FlapLever).every_s(4, 0).jitter_s(0.25),
    Channel::new("flap_surface_degrees", Q::FlapAngle).step(0.2).noise(0.03).every_s(4, 2).jitter_s(0.25),
    Channel::new("speedbrake_percent", Q::Speedbrake).scale(100.0).step(0.2).noise(0.0003).repeats(),
    Channel::new("gear_handle_down", Q::GearLever).every_s(4, 1).jitter_s(0.5),
    Channel::new("gear_locked_down", Q::GearDown).every_s(4, 3).jitter_s(0.5),
    Channel::new("weight_on_wheels", Q::OnGround),
    Channel::new("receiver_on_beam", Q::IlsTuned).every_s(4, 2),
    Channel::new("latitude_degrees", Q::Latitude).step(ANGLE).every_s(4, 0),
    Channel::new("longitude_degrees", Q::Longitude).step(ANGLE).every_s(4, 0),
    Channel::new("wind_knots", Q::WindSpeed).step(1.0).noise(0.15).every_s(4, 1).delay_s(1.0),
    Channel::new("wind_from_degrees", Q::WindFrom).step(1.0).noise(0.15).every_s(4, 1).delay_s(1.0),
    Channel::new("mass_kilograms", Q::GrossMass).step(20.0).noise(2.0).every_s(4, 3),
    Channel::new("outside_air_celsius", Q::Temperature).step(0.25).noise(0.04).every_s(2, 1),
    Channel::new("go_around_mode", Q::Toga),
];
