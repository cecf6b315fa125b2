//! Units a parameter map may name, by the catalogue unit they become.

use std::f64::consts::PI;

/// One conversion: unit, factor, summand.
type From = (&'static str, f64, f64);

/// 1 dot = 75 µA of deviation current; two dots are full scale (150 µA).
const MICROAMPERES_PER_DOT: f64 = 75.0;

const TABLE: &[(&str, &[From])] = &[
    (
        "s",
        &[
            ("ms", 1e-3, 0.0),
            ("us", 1e-6, 0.0),
            ("ns", 1e-9, 0.0),
            ("min", 60.0, 0.0),
        ],
    ),
    (
        "ft",
        &[
            ("m", 1.0 / 0.3048, 0.0),
            ("km", 1000.0 / 0.3048, 0.0),
            ("FL", 100.0, 0.0),
        ],
    ),
    (
        "kt",
        &[
            ("m/s", 3600.0 / 1852.0, 0.0),
            ("km/h", 1.0 / 1.852, 0.0),
            ("mph", 0.868_976, 0.0),
        ],
    ),
    (
        "ft/min",
        &[
            ("fpm", 1.0, 0.0),
            ("ft/s", 60.0, 0.0),
            ("m/s", 60.0 / 0.3048, 0.0),
        ],
    ),
    ("deg", &[("rad", 180.0 / PI, 0.0)]),
    (
        "g",
        &[
            ("m/s2", 1.0 / 9.806_65, 0.0),
            ("m/s^2", 1.0 / 9.806_65, 0.0),
        ],
    ),
    ("%", &[("fraction", 100.0, 0.0), ("1", 100.0, 0.0)]),
    ("1", &[("fraction", 1.0, 0.0), ("%", 0.01, 0.0)]),
    (
        "dots",
        &[
            ("dot", 1.0, 0.0),
            ("uA", 1.0 / MICROAMPERES_PER_DOT, 0.0),
            ("µA", 1.0 / MICROAMPERES_PER_DOT, 0.0),
        ],
    ),
    ("MHz", &[("kHz", 1e-3, 0.0), ("Hz", 1e-6, 0.0)]),
    (
        "kg",
        &[
            ("t", 1000.0, 0.0),
            ("lb", 0.453_592_37, 0.0),
            ("klb", 453.592_37, 0.0),
        ],
    ),
    (
        "degC",
        &[
            ("C", 1.0, 0.0),
            ("°C", 1.0, 0.0),
            ("K", 1.0, -273.15),
            ("degF", 5.0 / 9.0, -160.0 / 9.0),
        ],
    ),
    (
        "hPa",
        &[
            ("mbar", 1.0, 0.0),
            ("Pa", 0.01, 0.0),
            ("kPa", 10.0, 0.0),
            ("inHg", 33.863_89, 0.0),
        ],
    ),
    ("index", &[]),
    ("0/1", &[]),
];

/// Factor and summand that turn `from` into the catalogue unit `to`; none where they do not fit.
pub fn conversion(from: &str, to: &str) -> Option<(f64, f64)> {
    if from == to {
        return Some((1.0, 0.0));
    }
    let (_, sources) = TABLE.iter().find(|(target, _)| *target == to)?;
    sources
        .iter()
        .find(|(unit, ..)| *unit == from)
        .map(|&(_, factor, summand)| (factor, summand))
}

/// Every unit that can become `to`, itself first.
pub fn sources(to: &str) -> Vec<&str> {
    let others = TABLE
        .iter()
        .filter(|(target, _)| *target == to)
        .flat_map(|(_, s)| s.iter());
    std::iter::once(to)
        .chain(others.map(|(unit, ..)| *unit))
        .collect()
}

/// Every unit a parameter may have.
pub fn targets() -> Vec<&'static str> {
    TABLE.iter().map(|(target, _)| *target).collect()
}

/// Whether a parameter may have this unit.
pub fn known(unit: &str) -> bool {
    TABLE.iter().any(|(target, _)| *target == unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every unit, by definition: international foot, statute mile, pound, nautical mile, standard
    /// gravity, inch of mercury at 0 °C; 75 µA a dot.
    const BY_DEFINITION: &[(f64, &str, &str, f64)] = &[
        (1500.0, "ms", "s", 1.5),
        (2.5e6, "us", "s", 2.5),
        (2.5e9, "ns", "s", 2.5),
        (2.0, "min", "s", 120.0),
        (0.3048, "m", "ft", 1.0),
        (0.3048, "km", "ft", 1000.0),
        (350.0, "FL", "ft", 35_000.0),
        (1852.0, "m/s", "kt", 3600.0),
        (1.852, "km/h", "kt", 1.0),
        (1852.0, "mph", "kt", 1609.344),
        (700.0, "fpm", "ft/min", 700.0),
        (10.0, "ft/s", "ft/min", 600.0),
        (5.08, "m/s", "ft/min", 1000.0),
        (PI, "rad", "deg", 180.0),
        (9.806_65, "m/s2", "g", 1.0),
        (9.806_65, "m/s^2", "g", 1.0),
        (0.85, "fraction", "%", 85.0),
        (0.85, "1", "%", 85.0),
        (0.5, "fraction", "1", 0.5),
        (50.0, "%", "1", 0.5),
        (1.5, "dot", "dots", 1.5),
        (75.0, "uA", "dots", 1.0),
        (150.0, "µA", "dots", 2.0),
        (110_300.0, "kHz", "MHz", 110.3),
        (110.3e6, "Hz", "MHz", 110.3),
        (55.0, "t", "kg", 55_000.0),
        (1000.0, "lb", "kg", 453.592_37),
        (1.0, "klb", "kg", 453.592_37),
        (15.0, "C", "degC", 15.0),
        (15.0, "°C", "degC", 15.0),
        (273.15, "K", "degC", 0.0),
        (212.0, "degF", "degC", 100.0),
        (1013.0, "mbar", "hPa", 1013.0),
        (101_325.0, "Pa", "hPa", 1013.25),
        (101.325, "kPa", "hPa", 1013.25),
        (29.9213, "inHg", "hPa", 1013.25),
    ];

    #[test]
    fn conversions_by_definition() {
        for &(number, from, to, expected) in BY_DEFINITION {
            let (factor, summand) = conversion(from, to).expect("known pair");
            let value = number * factor + summand;
            let near = (value - expected).abs() <= 1e-5 * expected.abs() + 1e-9;
            assert!(near, "{number} {from} gave {value} {to}");
        }
        assert_eq!(conversion("kt", "ft"), None);
    }

    #[test]
    fn every_unit_has_its_conversion_checked() {
        let mut all = Vec::new();
        for (target, sources) in TABLE {
            all.extend(sources.iter().map(|(unit, ..)| (*unit, *target)));
        }
        let checked: Vec<(&str, &str)> = BY_DEFINITION.iter().map(|c| (c.1, c.2)).collect();
        assert_eq!(checked, all, "in the order of the table");
    }
}
