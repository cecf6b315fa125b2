//! The standard atmosphere below the tropopause, airspeeds, and the two meanings of "height".
//!
//! Written from ICAO Doc 7488 (constants) and the compressible pitot equation; shares nothing with
//! the code that reads records.

use crate::steady::Steady as _;
/// Knots to feet per second.
pub(crate) const FPS_PER_KT: f64 = 1852.0 / 3600.0 / 0.3048;
/// Feet in a nautical mile.
pub(crate) const FT_PER_NM: f64 = 1852.0 / 0.3048;
/// Standard gravity, ft/s².
pub(crate) const G_FPS2: f64 = 9.80665 / 0.3048;

const T0_K: f64 = 288.15;
/// Temperature lapse, K per foot (6.5 K per 1,000 m).
const LAPSE_K_PER_FT: f64 = 0.0065 * 0.3048;
/// Speed of sound at sea level, kt.
const A0_KT: f64 = 661.478_6;

/// Standard temperature at a pressure altitude, K.
pub(crate) fn isa_k(pressure_altitude_ft: f64) -> f64 {
    T0_K - LAPSE_K_PER_FT * pressure_altitude_ft
}

fn pressure_ratio(pressure_altitude_ft: f64) -> f64 {
    (isa_k(pressure_altitude_ft) / T0_K).to_power(5.255_88)
}

/// True airspeed from calibrated airspeed at a pressure altitude and a deviation from ISA (K).
pub(crate) fn tas_kt(cas_kt: f64, pressure_altitude_ft: f64, deviation_k: f64) -> f64 {
    let impact = (1.0 + 0.2 * (cas_kt / A0_KT).powi(2)).to_power(3.5) - 1.0;
    let mach2 =
        5.0 * ((impact / pressure_ratio(pressure_altitude_ft) + 1.0).to_power(2.0 / 7.0) - 1.0);
    A0_KT * (mach2 * (isa_k(pressure_altitude_ft) + deviation_k) / T0_K).sqrt()
}

/// Calibrated airspeed from true airspeed, the inverse of [`tas_kt`].
pub(crate) fn cas_kt(tas_kt: f64, pressure_altitude_ft: f64, deviation_k: f64) -> f64 {
    let mach2 = (tas_kt / A0_KT).powi(2) * T0_K / (isa_k(pressure_altitude_ft) + deviation_k);
    let impact = ((1.0 + 0.2 * mach2).to_power(3.5) - 1.0) * pressure_ratio(pressure_altitude_ft);
    A0_KT * (5.0 * ((impact + 1.0).to_power(2.0 / 7.0) - 1.0)).sqrt()
}

/// Kinetic energy as a height, ft: V²/2g.
pub(crate) fn kinetic_ft(tas_kt: f64) -> f64 {
    (tas_kt * FPS_PER_KT).powi(2) / (2.0 * G_FPS2)
}

/// Pressure altitude of a field of this elevation when its QNH is `qnh_hpa`.
///
/// QNH is by definition the setting with which an altimeter on the field reads the elevation, so the
/// difference between the two is the same at every elevation.
pub(crate) fn field_pressure_altitude_ft(elevation_ft: f64, qnh_hpa: f64) -> f64 {
    let exponent = 1.0 / 5.255_88;
    elevation_ft + (1.0 - (qnh_hpa / 1013.25).to_power(exponent)) * T0_K / LAPSE_K_PER_FT
}

/// Pressure altitude at a true height above a level of known pressure altitude, for a constant
/// deviation from ISA: solves dz = dHp · T / T_ISA(Hp).
pub(crate) fn pressure_altitude_ft(field_ft: f64, height_ft: f64, deviation_k: f64) -> f64 {
    let mut guess = field_ft + height_ft * isa_k(field_ft) / (isa_k(field_ft) + deviation_k);
    for _ in 0..2 {
        let height = guess - field_ft
            + deviation_k / LAPSE_K_PER_FT * (isa_k(field_ft) / isa_k(guess)).logarithm();
        guess -= (height - height_ft) / (1.0 + deviation_k / isa_k(guess));
    }
    guess
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn speeds_agree_with_hand_arithmetic() {
        // By hand: impact pressure of 250 kt is 0.10360 of sea level pressure; over 0.6877 (ICAO Doc
        // 7488, 10,000 ft) that is Mach 0.4523; the speed of sound there is 638.3 kt.
        assert!((tas_kt(250.0, 10_000.0, 0.0) - 288.7).abs() < 0.1);
        // At sea level on a standard day the two are one by definition.
        assert!((tas_kt(142.0, 0.0, 0.0) - 142.0).abs() < 1e-4);
        assert!((cas_kt(tas_kt(180.0, 4_000.0, 12.0), 4_000.0, 12.0) - 180.0).abs() < 1e-6);
    }

    #[test]
    fn a_hectopascal_is_27_feet_at_sea_level() {
        // Common practice: 27 ft per hPa near 1013.25.
        let step =
            field_pressure_altitude_ft(0.0, 1012.25) - field_pressure_altitude_ft(0.0, 1013.25);
        assert!((step - 27.3).abs() < 0.3);
    }

    #[test]
    fn cold_air_puts_the_aircraft_lower_than_indicated() {
        // At ISA - 20 a true 6,368 ft (3 degrees, 20 NM) is about 490 ft more on the altimeter.
        let indicated = pressure_altitude_ft(0.0, 6368.0, -20.0);
        assert!((indicated - 6368.0 - 490.0).abs() < 20.0);
    }
}
