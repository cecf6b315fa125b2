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

    /// Exact by definition (international foot, mile and pound, standard gravity), 75 µA a dot.
    #[test]
    fn conversions_by_definition() {
        let value = |number: f64, from, to| {
            let (factor, summand) = conversion(from, to).expect("known pair");
            number * factor + summand
        };
        for (number, from, to, expected) in [
            (0.3048, "m", "ft", 1.0),
            (1852.0, "m/s", "kt", 3600.0),
            (5.08, "m/s", "ft/min", 1000.0),
            (PI, "rad", "deg", 180.0),
            (75.0, "uA", "dots", 1.0),
            (273.15, "K", "degC", 0.0),
            (212.0, "degF", "degC", 100.0),
            (29.9213, "inHg", "hPa", 1013.25),
            (350.0, "FL", "ft", 35_000.0),
        ] {
            assert!(
                (value(number, from, to) - expected).abs() < 0.01,
                "{number} {from}"
            );
        }
        assert_eq!(conversion("kt", "ft"), None);
    }
}
