//! Expressions of rules: text → tree ([`parse`]) → names, types and units ([`check`]) → a plan
//! expression of the query engine ([`lower()`]), or a plain value ([`Expression::evaluate`]).
//!
//! No SQL text is ever put together, and nothing here knows what a rule is.

mod call;
mod check;
mod complain;
mod depth;
mod evaluate;
mod fault;
mod lower;
mod parse;
mod position;
mod refuse;
mod scope;
mod suggest;
mod tree;
mod unit;

use std::collections::BTreeSet;
use std::ops::Range;

pub use crate::conditions::Comparison;
pub use evaluate::Value;
pub use fault::ExpressionFault;
pub use lower::{limit_literal, lower};
pub use scope::{Kind, Known, Scope};
pub use tree::{Arithmetic, Function, Node, NodeKind, Test};
pub use unit::Unit;

pub(crate) use position::{byte_at, bytes_of, place_in_message};
pub use suggest::nearest;

/// A checked expression: every name is known, types and units fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Expression {
    /// As written in the rule.
    pub sql: String,
    /// Every name it reads, limits apart: columns, or measures, criteria and rules in levels and
    /// outcomes.
    pub inputs: BTreeSet<String>,
    /// Those of the inputs without which it says nothing: all but what is read only through
    /// `coalesce` or `is [not] null`.
    pub required: BTreeSet<String>,
    /// Names of the `limits.NAME` it reads.
    pub limits: BTreeSet<String>,
    /// Unit of the number it yields; unknown for conditions.
    pub unit: Unit,
    /// What it says; `Display` is one spelling per meaning.
    pub tree: Node,
    /// Bytes of the rule file; the text itself where it came from none.
    pub span: Range<usize>,
}

impl Expression {
    /// Parses and checks one expression.
    ///
    /// # Errors
    /// Every fault found, with its place in `sql`.
    pub fn read(sql: &str, wanted: Kind, scope: &Scope) -> Result<Self, Vec<ExpressionFault>> {
        check::check(sql, parse::parse(sql)?, wanted, scope)
    }

    /// Parses and checks `function(expression)`; the name of the function comes first.
    ///
    /// # Errors
    /// Every fault found, with its place in `sql`.
    pub(crate) fn read_measure(
        sql: &str,
        scope: &Scope,
    ) -> Result<(String, Self), Vec<ExpressionFault>> {
        let (function, tree) = parse::parse_measure(sql)?;
        Ok((function, check::check(sql, tree, Kind::Number, scope)?))
    }

    /// A plain number, such as a bound written as one.
    pub(crate) fn number(number: f64, sql: String, span: Range<usize>) -> Self {
        let tree = Node {
            kind: NodeKind::Number(number),
            span: 0..sql.len(),
        };
        Self {
            sql,
            inputs: BTreeSet::new(),
            required: BTreeSet::new(),
            limits: BTreeSet::new(),
            unit: Unit::unknown(),
            tree,
            span,
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
