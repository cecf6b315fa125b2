//! Units as products of names, so that a sum or a comparison of unlike quantities is found.
//!
//! Nothing is ever converted here: every column already has its catalogue unit.

use std::collections::BTreeMap;
use std::fmt;

/// The unit of a number: a product of powers of unit names, or unknown.
///
/// Unknown goes with everything: a bare literal may be feet, or feet per nautical mile.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Unit(Option<BTreeMap<String, i32>>);

/// Ends of limit names and the units they stand for; longer ones first.
const LIMIT_ENDINGS: [(&str, &str); 13] = [
    ("_ft_per_nm", "ft/NM"),
    ("_kt_per_nm", "kt/NM"),
    ("_dots", "dots"),
    ("_fpm", "ft/min"),
    ("_deg", "deg"),
    ("_pct", "%"),
    ("_kt", "kt"),
    ("_ft", "ft"),
    ("_nm", "NM"),
    ("_kg", "kg"),
    ("_g", "g"),
    ("_s", "s"),
    ("_ratio", "ratio"),
];

impl Unit {
    /// The unit that goes with every other.
    pub fn unknown() -> Self {
        Self(None)
    }

    /// Reads a catalogue unit such as `kt`, `ft/min` or `ratio`.
    pub fn parse(text: &str) -> Self {
        let mut powers = BTreeMap::new();
        // "0/1" is the name of a two-state channel, not a quotient.
        let (above, below) = match text {
            "0/1" => (text, None),
            _ => match text.split_once('/') {
                Some((above, below)) => (above, Some(below)),
                None => (text, None),
            },
        };
        for (part, power) in [(Some(above), 1), (below, -1)] {
            for name in part.unwrap_or_default().split('·') {
                if !matches!(name, "" | "ratio" | "1") {
                    *powers.entry(name.to_owned()).or_insert(0) += power;
                }
            }
        }
        powers.retain(|_, power| *power != 0);
        Self(Some(powers))
    }

    /// The unit a limit's name ends in, or unknown.
    pub fn of_limit(name: &str) -> Self {
        LIMIT_ENDINGS
            .iter()
            .find(|(ending, _)| name.ends_with(ending))
            .map_or_else(Self::unknown, |(_, unit)| Self::parse(unit))
    }

    /// Whether the two may be added or compared.
    pub fn fits(&self, other: &Self) -> bool {
        match (&self.0, &other.0) {
            (Some(one), Some(two)) => one == two,
            _ => true,
        }
    }

    /// The one that is known, if any.
    #[must_use]
    pub fn or(&self, other: &Self) -> Self {
        if self.0.is_some() { self } else { other }.clone()
    }

    /// Unit of a product.
    #[must_use]
    pub fn times(&self, other: &Self) -> Self {
        self.combine(other, 1)
    }

    /// Unit of a quotient.
    #[must_use]
    pub fn over(&self, other: &Self) -> Self {
        self.combine(other, -1)
    }

    fn combine(&self, other: &Self, sign: i32) -> Self {
        let (Some(one), Some(two)) = (&self.0, &other.0) else {
            return Self::unknown();
        };
        let mut powers = one.clone();
        for (name, power) in two {
            *powers.entry(name.clone()).or_insert(0) += sign * power;
        }
        powers.retain(|_, power| *power != 0);
        Self(Some(powers))
    }

    /// The unit in words, or `None` where unknown.
    pub fn name(&self) -> Option<String> {
        let powers = self.0.as_ref()?;
        let side = |sign: i32| {
            let mut names = Vec::new();
            for (name, power) in powers {
                for _ in 0..(power * sign).max(0) {
                    names.push(name.as_str());
                }
            }
            names.join("·")
        };
        Some(match (side(1), side(-1)) {
            (above, below) if above.is_empty() && below.is_empty() => "ratio".to_owned(),
            (above, below) if below.is_empty() => above,
            (above, below) if above.is_empty() => format!("1/{below}"),
            (above, below) => format!("{above}/{below}"),
        })
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name().as_deref().unwrap_or("unknown"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn products_and_quotients_cancel() {
        let gradient = Unit::parse("ft/NM");
        assert_eq!(gradient.times(&Unit::parse("NM")), Unit::parse("ft"));
        assert_eq!(
            Unit::parse("kt").over(&Unit::parse("kt")),
            Unit::parse("ratio")
        );
        assert_eq!(
            Unit::parse("ft").times(&Unit::parse("ft")).to_string(),
            "ft·ft"
        );
        assert_eq!(
            Unit::parse("ft").over(&Unit::parse("s")).to_string(),
            "ft/s"
        );
        assert_eq!(
            Unit::parse("ratio").over(&Unit::parse("s")).to_string(),
            "1/s"
        );
    }

    #[test]
    fn unknown_goes_with_everything_and_stays_unknown() {
        assert!(Unit::unknown().fits(&Unit::parse("kt")));
        assert!(!Unit::parse("ft").fits(&Unit::parse("kt")));
        assert_eq!(Unit::unknown().times(&Unit::parse("kt")), Unit::unknown());
    }

    #[test]
    fn limit_names_carry_their_unit() {
        assert_eq!(Unit::of_limit("sink_fpm"), Unit::parse("ft/min"));
        assert_eq!(Unit::of_limit("loss_ft_per_nm"), Unit::parse("ft/NM"));
        assert_eq!(Unit::of_limit("beyond_nm"), Unit::parse("NM"));
        assert_eq!(Unit::of_limit("count"), Unit::unknown());
    }

    #[test]
    fn a_two_state_channel_is_not_a_quotient() {
        assert_eq!(Unit::parse("0/1").to_string(), "0/1");
    }
}
