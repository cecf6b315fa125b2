//! The Tarn T7's recorder: names, units and signs of its own, one row a second; no reference speed
//! and no go-around switch.

use super::Channel;
use super::Quantity as Q;
use super::corvan::{ANGLE, TURN_256, TURN_1024};

const KT: f64 = 1852.0 / 3600.0;
const FT: f64 = 0.3048;

#[rustfmt::skip]
pub(super) static CHANNELS: [Channel; 29] = [
    Channel::new("ALT_M", Q::PressureAltitude).scale(FT).step(1.0).noise(0.5),
    Channel::new("RA_M", Q::RadioAltitude).scale(FT).step(0.25).noise(0.1),
    Channel::new("IAS_MS", Q::Cas).scale(KT).step(0.25).noise(0.08).delay_s(0.25),
    Channel::new("TAS_MS", Q::Tas).scale(KT).step(0.25).noise(0.08).delay_s(0.25),
    Channel::new("GS_MS", Q::GroundSpeed).scale(KT).step(0.25).noise(0.08),
    Channel::new("VS_MS", Q::VerticalSpeed).scale(FT / 60.0).step(0.125).noise(3.0),
    Channel::new("PITCH", Q::Pitch).step(0.25).noise(0.04).jitter_s(0.125),
    Channel::new("ROLL", Q::Roll).step(TURN_1024).noise(0.05).jitter_s(0.125).repeats(),
    Channel::new("HDG_TRUE", Q::Heading).step(TURN_1024).noise(0.05),
    Channel::new("TRK_TRUE", Q::Track).step(TURN_1024).noise(0.05),
    Channel::new("LAT", Q::Latitude).step(ANGLE).every_s(2, 0),
    Channel::new("LON", Q::Longitude).step(ANGLE).every_s(2, 0),
    Channel::new("NZ", Q::NormalAcceleration).step(1.0 / 128.0).noise(0.001),
    Channel::new("LEVER_DEG", Q::FlapLeverAngle).every_s(2, 1).jitter_s(0.25),
    Channel::new("FLAP_DEG", Q::FlapAngle).step(0.5).noise(0.05).every_s(2, 1).jitter_s(0.25),
    Channel::new("GEAR_HANDLE", Q::GearLever).every_s(4, 0).jitter_s(0.5),
    Channel::new("GEAR_UP", Q::GearDown).inverted().every_s(4, 0).jitter_s(0.5),
    Channel::new("SPOILER_PCT", Q::Speedbrake).scale(100.0).step(5.0).noise(0.005).repeats(),
    Channel::new("N1_L", Q::N1Left).step(0.5).noise(0.08).delay_s(0.5),
    Channel::new("N1_R", Q::N1Right).step(0.5).noise(0.08).delay_s(0.5),
    Channel::new("GP_UA", Q::GlidePath).scale(-75.0).step(1.0).noise(0.002),
    Channel::new("LOC_UA", Q::Localizer).scale(-75.0).step(1.0).noise(0.002),
    Channel::new("ILS_ON", Q::IlsTuned).every_s(4, 2),
    Channel::new("MASS_KG", Q::GrossMass).step(100.0).noise(10.0).every_s(4, 3),
    Channel::new("WIND_MS", Q::WindSpeed).scale(KT).step(0.5).noise(0.15).every_s(4, 0).delay_s(1.0),
    Channel::new("WIND_DIR", Q::WindFrom).step(TURN_256).noise(0.2).every_s(4, 0).delay_s(1.0),
    Channel::new("AIR", Q::OnGround).inverted(),
    Channel::new("SAT_C", Q::Temperature).step(0.5).noise(0.08).every_s(4, 3),
    Channel::new("REV", Q::Reverser),
];
