//! The limits in force for one approach, as numbers and as an expression over its columns.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use datafusion::logical_expr::{Case, Expr, col, lit};

use super::checked::{CheckedRule, Override};
use crate::conditions::{all_of, text_is};
use crate::expression::limit_literal;

impl Override {
    /// Whether it speaks of such an approach; what is unknown matches no named key.
    pub fn matches(
        &self,
        aircraft_type: Option<&str>,
        airport: Option<&str>,
        runway: Option<&str>,
    ) -> bool {
        self.keys()
            .into_iter()
            .zip([aircraft_type, airport, runway])
            .all(|((_, wanted), known)| wanted.is_none_or(|wanted| known == Some(wanted)))
    }

    /// How many of type, airport and runway it names: the more, the sooner it wins.
    pub fn specificity(&self) -> usize {
        self.keys().iter().filter(|(_, key)| key.is_some()).count()
    }

    /// Column names and the values wanted of them.
    pub(super) fn keys(&self) -> [(&'static str, Option<&str>); 3] {
        [
            ("aircraft_type", self.aircraft_type.as_deref()),
            ("airport", self.airport.as_deref()),
            ("runway", self.runway.as_deref()),
        ]
    }
}

impl CheckedRule {
    /// The limits for such an approach: of the overrides that match, the most specific wins, each
    /// limit by itself.
    pub fn limits_for(
        &self,
        aircraft_type: Option<&str>,
        airport: Option<&str>,
        runway: Option<&str>,
    ) -> BTreeMap<String, f64> {
        let mut limits = self.limits.clone();
        let mut matching: Vec<_> = self
            .overrides
            .iter()
            .filter(|one| one.matches(aircraft_type, airport, runway))
            .collect();
        matching.sort_by_key(|one| one.specificity());
        for one in matching {
            limits.extend(
                one.limits
                    .iter()
                    .map(|(name, number)| (name.clone(), *number)),
            );
        }
        limits
    }

    /// The limits before overrides, and those of each override.
    pub(crate) fn limit_cases(&self) -> Vec<BTreeMap<String, f64>> {
        let overridden = self.overrides.iter().map(|one| {
            let mut limits = self.limits.clone();
            limits.extend(one.limits.clone());
            limits
        });
        std::iter::once(self.limits.clone())
            .chain(overridden)
            .collect()
    }

    /// BLAKE3 of the limits in force: results compare only where it agrees.
    pub fn limits_hash(
        &self,
        aircraft_type: Option<&str>,
        airport: Option<&str>,
        runway: Option<&str>,
    ) -> String {
        let mut text = String::new();
        for (name, number) in self.limits_for(aircraft_type, airport, runway) {
            // Writing to a String cannot fail.
            let _ = writeln!(text, "{name}={number}");
        }
        blake3::hash(text.as_bytes()).to_hex().to_string()
    }
}

/// What stands for `limits.NAME` in a plan: a Float32 literal, or a `CASE` over the columns
/// `aircraft_type`, `airport` and `runway` where overrides touch it, the most specific first.
///
/// A checked expression names known limits only; for another name the result is a null Float32.
pub fn limit_case(rule: &CheckedRule, name: &str) -> Expr {
    let Some(base) = rule.limits.get(name) else {
        return lit(datafusion::scalar::ScalarValue::Float32(None));
    };
    let mut touching: Vec<_> = rule
        .overrides
        .iter()
        .filter_map(|one| one.limits.get(name).map(|number| (one, *number)))
        .collect();
    // Stable: among equals, which never match the same approach, the file's order.
    touching.sort_by_key(|(one, _)| std::cmp::Reverse(one.specificity()));
    let branches: Vec<_> = touching
        .into_iter()
        .map(|(one, number)| {
            let keys = one
                .keys()
                .into_iter()
                .filter_map(|(column, key)| Some((column, key?)));
            let all = keys.map(|(column, key)| text_is(col(column), lit(key)));
            let all = all_of(all.collect());
            (Box::new(all), Box::new(limit_literal(number)))
        })
        .collect();
    if branches.is_empty() {
        return limit_literal(*base);
    }
    Expr::Case(Case {
        expr: None,
        when_then_expr: branches,
        else_expr: Some(Box::new(limit_literal(*base))),
    })
}
