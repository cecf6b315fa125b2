//! The names an expression may use at its place in a rule.

use std::collections::{BTreeMap, BTreeSet};

use super::unit::Unit;

/// What an expression yields.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A number with a unit.
    Number,
    /// True, false or unknown.
    Condition,
    /// A text, only ever compared.
    Text,
}

impl Kind {
    /// For messages.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Number => "a number",
            Self::Condition => "a condition",
            Self::Text => "a text",
        }
    }
}

/// What is known of a name.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// What it yields.
    pub kind: Kind,
    /// Its unit, for numbers.
    pub unit: Unit,
}

/// The names an expression may use.
#[derive(Debug, Clone, Default)]
pub struct Scope {
    /// What such a name is called in messages: column, measure, criterion.
    pub noun: &'static str,
    /// The names.
    pub names: BTreeMap<String, Known>,
    /// Names of `limits.NAME`.
    pub limits: BTreeSet<String>,
    /// Names known at other places of a rule, and what to write instead.
    pub elsewhere: BTreeMap<String, String>,
}

impl Scope {
    /// Adds a number.
    pub fn number(&mut self, name: impl Into<String>, unit: Unit) {
        self.names.insert(
            name.into(),
            Known {
                kind: Kind::Number,
                unit,
            },
        );
    }

    /// Adds a condition.
    pub fn condition(&mut self, name: impl Into<String>) {
        let known = Known {
            kind: Kind::Condition,
            unit: Unit::unknown(),
        };
        self.names.insert(name.into(), known);
    }

    /// Adds a text.
    pub fn text(&mut self, name: impl Into<String>) {
        self.names.insert(
            name.into(),
            Known {
                kind: Kind::Text,
                unit: Unit::unknown(),
            },
        );
    }
}
