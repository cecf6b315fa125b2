use icao_units::si::{Kelvin, Metres, MetresPerSecond, Pascals};

use super::*;

fn close(actual: f64, expected: f64, tolerance: f64) {
    assert!(
        (actual - expected).abs() <= tolerance,
        "{actual} is not {expected} ± {tolerance}"
    );
}

/// ICAO Doc 7488 / U.S. Standard Atmosphere 1976, by geopotential altitude: m, K, hPa.
/// Written from memory of the published table (identical in both up to 32 km).
const PUBLISHED: [(f64, f64, f64); 7] = [
    (-1000.0, 294.65, 1139.29),
    (0.0, 288.15, 1013.25),
    (1000.0, 281.65, 898.75),
    (3000.0, 268.65, 701.09),
    (5000.0, 255.65, 540.20),
    (11000.0, 216.65, 226.32),
    (20000.0, 216.65, 54.75),
];

#[test]
fn temperature_and_pressure_are_those_of_the_published_table() {
    for (metres, kelvin, hpa) in PUBLISHED {
        let ft = metres / M_PER_FT;
        close(isa_temperature_k(ft), kelvin, 0.005);
        close(isa_pressure_pa(ft) / 100.0, hpa, 0.01);
        close(pressure_altitude_ft(isa_pressure_pa(ft)), ft, 0.01);
    }
}

#[test]
fn an_independent_library_agrees_on_the_atmosphere() {
    for ft in (-1000..65_000).step_by(500).map(f64::from) {
        let theirs = icao_isa::calculate_isa_pressure(Metres(ft * M_PER_FT)).0;
        close(isa_pressure_pa(ft), theirs, theirs * 1e-6);
        let theirs = icao_isa::calculate_isa_temperature(Metres(ft * M_PER_FT), Kelvin(0.0)).0;
        close(isa_temperature_k(ft), theirs, 1e-6);
    }
}

#[test]
fn an_independent_library_agrees_on_airspeeds() {
    for ft in (0..45_000).step_by(2500).map(f64::from) {
        for speed in (80..340).step_by(20).map(f64::from) {
            for deviation in [-20.0, 0.0, 15.0] {
                let theirs = icao_isa::calculate_true_air_speed(
                    MetresPerSecond(speed * M_S_PER_KT),
                    Pascals(isa_pressure_pa(ft)),
                    Kelvin(isa_temperature_k(ft) + deviation),
                );
                let ours = tas_kt(speed, ft, deviation);
                close(ours, theirs.0 / M_S_PER_KT, 0.01);
                close(cas_kt(ours, ft, deviation), speed, 1e-6);
            }
        }
    }
}

#[test]
fn at_sea_level_on_a_standard_day_the_airspeeds_are_equal() {
    close(tas_kt(140.0, 0.0, 0.0), 140.0, 1e-9);
}

/// 1/(2·g) in feet and knots is 0.04427 (arithmetic), so ten knots are worth more the faster one
/// flies: (V+10)² − V² times that.
#[test]
fn ten_knots_in_feet() {
    close(FT_PER_KT2, 0.04427, 5e-6);
    for (speed, feet) in [(140.0, 128.0), (200.0, 182.0), (250.0, 226.0)] {
        let worth = FT_PER_KT2 * ((speed + 10.0_f64).powi(2) - speed * speed);
        close(worth, feet, 0.5);
    }
}

/// A perfect geometric 3° path at 20 NM is 6,368 ft up plus 50 ft at the threshold. In cold air
/// the altimeter reads more than that, in warm air less (arithmetic of dz = dHp·T/T_ISA).
#[test]
fn a_perfect_path_looks_high_in_winter_and_low_in_summer() {
    let path_ft = 50.0 + 20.0 * FT_PER_NM * 3.0_f64.to_radians().tan();
    let indicated = |deviation: f64| {
        let (mut low, mut high) = (0.0, 20_000.0);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if geometric_height_ft(middle, 0.0, deviation) < path_ft {
                low = middle;
            } else {
                high = middle;
            }
        }
        low
    };
    close(indicated(-20.0) - path_ft, 490.0, 5.0);
    close(indicated(20.0) - path_ft, -425.0, 5.0);
    close(indicated(0.0), path_ft, 1e-6);
}

/// Altimeter errors in cold air: temperature at the aerodrome (at sea level), °C, height above it, ft, and what
/// the altimeter shows too much, rounded up to ten feet. ICAO Doc 8168, cold-temperature table, from memory.
const COLD: [(f64, [(f64, f64); 4]); 6] = [
    (
        0.0,
        [
            (1000.0, 60.0),
            (2000.0, 120.0),
            (3000.0, 170.0),
            (5000.0, 280.0),
        ],
    ),
    (
        -10.0,
        [
            (1000.0, 100.0),
            (2000.0, 200.0),
            (3000.0, 290.0),
            (5000.0, 490.0),
        ],
    ),
    (
        -20.0,
        [
            (1000.0, 140.0),
            (2000.0, 280.0),
            (3000.0, 420.0),
            (5000.0, 710.0),
        ],
    ),
    (
        -30.0,
        [
            (1000.0, 190.0),
            (2000.0, 380.0),
            (3000.0, 570.0),
            (5000.0, 950.0),
        ],
    ),
    (
        -40.0,
        [
            (1000.0, 240.0),
            (2000.0, 480.0),
            (3000.0, 720.0),
            (5000.0, 1210.0),
        ],
    ),
    (
        -50.0,
        [
            (1000.0, 300.0),
            (2000.0, 590.0),
            (3000.0, 890.0),
            (5000.0, 1500.0),
        ],
    ),
];

#[test]
fn cold_air_is_that_of_the_published_table() {
    for (celsius, row) in COLD {
        let deviation = celsius - 15.0;
        for (height_ft, error_ft) in row {
            // An altimeter that shows the height and the error stands at the height.
            let stands_at = |error: f64| geometric_height_ft(height_ft + error, 0.0, deviation);
            // Rounded up to ten feet: never much less, and at most that step more.
            let is_ft = stands_at(error_ft);
            let range = height_ft - 2.0..=height_ft + 10.0;
            assert!(
                range.contains(&is_ft),
                "{celsius} °C, {height_ft} ft: {is_ft} ft"
            );
            // Rule of thumb of the same document, from memory: 4 % for every 10 °C, good down to about -30 °C.
            if celsius >= -30.0 {
                let rule_ft = height_ft * 0.004 * -deviation;
                close(stands_at(rule_ft), height_ft, 0.012 * height_ft);
            }
        }
    }
}

/// Independent of the closed form: a plain sum over thin layers, across the tropopause.
#[test]
fn the_closed_form_is_the_sum_over_layers() {
    let (from, height, deviation) = (3_000.0, 40_000.0, -12.0);
    let layers = 100_000;
    let step = height / f64::from(layers);
    let sum: f64 = (0..layers)
        .map(|i| isa_temperature_k(from + (f64::from(i) + 0.5) * step))
        .map(|isa| step * (isa + deviation) / isa)
        .sum();
    close(geometric_height_ft(height, from, deviation), sum, 0.01);
}

/// QNH 1027.25 hPa puts the standard level about 380 ft above mean sea level (27 to 28 ft per hPa
/// near the ground: common practice).
#[test]
fn qnh_shifts_the_scale_by_a_constant() {
    close(pressure_altitude_from_qnh_ft(300.0, 1013.25), 300.0, 1e-9);
    close(
        pressure_altitude_from_qnh_ft(300.0, 1027.25),
        300.0 - 14.0 * 27.2,
        5.0,
    );
}
