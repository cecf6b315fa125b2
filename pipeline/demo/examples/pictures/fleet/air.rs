//! Airspeeds and energy in the standard atmosphere below the tropopause.
//!
//! Constants from ICAO Doc 7488, the compressible pitot equation; written apart from the crate's own.

const T0_K: f64 = 288.15;
const LAPSE_K_PER_FT: f64 = 0.0065 * 0.3048;
const A0_KT: f64 = 661.478_6;
/// Knots to feet per second, and standard gravity in ft/s².
const FPS_PER_KT: f64 = 1852.0 / 3600.0 / 0.3048;
const G_FPS2: f64 = 9.80665 / 0.3048;

fn isa_k(pressure_altitude_ft: f64) -> f64 {
    T0_K - LAPSE_K_PER_FT * pressure_altitude_ft
}

/// True airspeed of a calibrated airspeed, for a deviation from ISA in K.
pub(crate) fn tas_kt(cas_kt: f64, pressure_altitude_ft: f64, deviation_k: f64) -> f64 {
    let isa = isa_k(pressure_altitude_ft);
    let pressure_ratio = (isa / T0_K).powf(5.255_88);
    let impact = (1.0 + 0.2 * (cas_kt / A0_KT).powi(2)).powf(3.5) - 1.0;
    let mach2 = 5.0 * ((impact / pressure_ratio + 1.0).powf(2.0 / 7.0) - 1.0);
    A0_KT * (mach2 * (isa + deviation_k) / T0_K).sqrt()
}

/// Kinetic energy as a height, ft: V²/2g.
pub(crate) fn kinetic_ft(tas_kt: f64) -> f64 {
    (tas_kt * FPS_PER_KT).powi(2) / (2.0 * G_FPS2)
}

/// True height above a level, from pressure altitudes: dz = dHp · T / T_ISA, integrated.
pub(crate) fn height_ft(pressure_altitude_ft: f64, level_ft: f64, deviation_k: f64) -> f64 {
    pressure_altitude_ft - level_ft
        + deviation_k / LAPSE_K_PER_FT * (isa_k(level_ft) / isa_k(pressure_altitude_ft)).ln()
}
