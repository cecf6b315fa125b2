//! International Standard Atmosphere up to 20 km and the airspeed conversions that rest on it.
//!
//! Constants are those of the ICAO Standard Atmosphere (Doc 7488): 288.15 K, 101,325 Pa,
//! 6.5 K/km up to 11 km, isothermal above. Altitudes are pressure altitudes in feet, which are
//! geopotential; the difference to geometric feet is below 0.1 % where approaches are flown.

/// Sea-level temperature.
pub const SEA_LEVEL_K: f64 = 288.15;
/// Sea-level pressure.
pub const SEA_LEVEL_PA: f64 = 101_325.0;
/// Standard gravity.
pub const GRAVITY_M_S2: f64 = 9.806_65;
/// Metres in a foot.
pub const M_PER_FT: f64 = 0.3048;
/// Metres in a nautical mile.
pub const M_PER_NM: f64 = 1852.0;
/// Feet in a nautical mile.
pub const FT_PER_NM: f64 = M_PER_NM / M_PER_FT;
/// Metres per second in a knot.
pub const M_S_PER_KT: f64 = M_PER_NM / 3600.0;
/// Height in feet that one knot squared is worth: 1/(2·g), about 0.04427.
pub const FT_PER_KT2: f64 = M_S_PER_KT * M_S_PER_KT / (2.0 * GRAVITY_M_S2 * M_PER_FT);

const LAPSE_K_PER_M: f64 = 0.0065;
const LAPSE_K_PER_FT: f64 = LAPSE_K_PER_M * M_PER_FT;
const GAS_CONSTANT: f64 = 287.052_87;
const RATIO_OF_SPECIFIC_HEATS: f64 = 1.4;
const TROPOPAUSE_FT: f64 = 11_000.0 / M_PER_FT;
const STRATOSPHERE_K: f64 = 216.65;
/// g/(R·L): pressure goes with the temperature ratio to this power.
const PRESSURE_EXPONENT: f64 = GRAVITY_M_S2 / (GAS_CONSTANT * LAPSE_K_PER_M);

/// Standard temperature at a pressure altitude, K.
pub fn isa_temperature_k(pressure_altitude_ft: f64) -> f64 {
    if pressure_altitude_ft > TROPOPAUSE_FT {
        STRATOSPHERE_K
    } else {
        SEA_LEVEL_K - LAPSE_K_PER_FT * pressure_altitude_ft
    }
}

/// Standard pressure at a pressure altitude, Pa.
pub fn isa_pressure_pa(pressure_altitude_ft: f64) -> f64 {
    let troposphere =
        |ft: f64| SEA_LEVEL_PA * (isa_temperature_k(ft) / SEA_LEVEL_K).powf(PRESSURE_EXPONENT);
    if pressure_altitude_ft > TROPOPAUSE_FT {
        let above_m = (pressure_altitude_ft - TROPOPAUSE_FT) * M_PER_FT;
        troposphere(TROPOPAUSE_FT)
            * (-GRAVITY_M_S2 * above_m / (GAS_CONSTANT * STRATOSPHERE_K)).exp()
    } else {
        troposphere(pressure_altitude_ft)
    }
}

/// Pressure altitude at a static pressure, ft.
pub fn pressure_altitude_ft(pressure_pa: f64) -> f64 {
    let tropopause_pa = isa_pressure_pa(TROPOPAUSE_FT);
    if pressure_pa < tropopause_pa {
        let above_m =
            (tropopause_pa / pressure_pa).ln() * GAS_CONSTANT * STRATOSPHERE_K / GRAVITY_M_S2;
        TROPOPAUSE_FT + above_m / M_PER_FT
    } else {
        let ratio = (pressure_pa / SEA_LEVEL_PA).powf(1.0 / PRESSURE_EXPONENT);
        SEA_LEVEL_K * (1.0 - ratio) / LAPSE_K_PER_FT
    }
}

/// Pressure altitude of a point whose altitude on the QNH scale is `altitude_ft` (a runway's
/// elevation, say), ft. QNH is defined so that the altimeter scales differ by a constant.
pub fn pressure_altitude_from_qnh_ft(altitude_ft: f64, qnh_hpa: f64) -> f64 {
    altitude_ft + pressure_altitude_ft(qnh_hpa * 100.0)
}

/// True airspeed of a calibrated one, kt; compressible, subsonic.
pub fn tas_kt(cas_kt: f64, pressure_altitude_ft: f64, isa_deviation_k: f64) -> f64 {
    let impact_pa = SEA_LEVEL_PA * impact_ratio(cas_kt / sound_kt(SEA_LEVEL_K));
    let mach = mach_of(impact_pa / isa_pressure_pa(pressure_altitude_ft));
    mach * sound_kt(isa_temperature_k(pressure_altitude_ft) + isa_deviation_k)
}

/// Calibrated airspeed of a true one, kt; the inverse of [`tas_kt`].
pub fn cas_kt(tas_kt: f64, pressure_altitude_ft: f64, isa_deviation_k: f64) -> f64 {
    let mach = tas_kt / sound_kt(isa_temperature_k(pressure_altitude_ft) + isa_deviation_k);
    let impact_pa = isa_pressure_pa(pressure_altitude_ft) * impact_ratio(mach);
    mach_of(impact_pa / SEA_LEVEL_PA) * sound_kt(SEA_LEVEL_K)
}

/// Height above the threshold corrected for a constant deviation from standard temperature, ft.
///
/// `pressure_height_ft` is the pressure height above the threshold, whose pressure altitude is
/// `threshold_pressure_altitude_ft`: the sum of dHp·T/T_ISA(Hp) from there upwards, in closed form.
pub fn geometric_height_ft(
    pressure_height_ft: f64,
    threshold_pressure_altitude_ft: f64,
    isa_deviation_k: f64,
) -> f64 {
    let from = threshold_pressure_altitude_ft;
    let to = from + pressure_height_ft;
    pressure_height_ft + isa_deviation_k * (feet_per_kelvin_up_to(to) - feet_per_kelvin_up_to(from))
}

/// ∫ dH/T_ISA from sea level, ft/K.
fn feet_per_kelvin_up_to(pressure_altitude_ft: f64) -> f64 {
    let in_troposphere = |ft: f64| (SEA_LEVEL_K / isa_temperature_k(ft)).ln() / LAPSE_K_PER_FT;
    if pressure_altitude_ft > TROPOPAUSE_FT {
        in_troposphere(TROPOPAUSE_FT) + (pressure_altitude_ft - TROPOPAUSE_FT) / STRATOSPHERE_K
    } else {
        in_troposphere(pressure_altitude_ft)
    }
}

fn sound_kt(temperature_k: f64) -> f64 {
    (RATIO_OF_SPECIFIC_HEATS * GAS_CONSTANT * temperature_k).sqrt() / M_S_PER_KT
}

/// Impact pressure over static pressure at a Mach number.
fn impact_ratio(mach: f64) -> f64 {
    (1.0 + 0.2 * mach * mach).powf(3.5) - 1.0
}

/// The inverse of [`impact_ratio`].
fn mach_of(impact_ratio: f64) -> f64 {
    (5.0 * ((1.0 + impact_ratio).powf(2.0 / 7.0) - 1.0)).sqrt()
}

#[cfg(test)]
mod tests;
