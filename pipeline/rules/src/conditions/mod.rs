//! What conditions of rules are made of, as functions of the query engine: numbers compared, texts compared,
//! several conditions at once.
//!
//! The engine's own operators do the same and more. Its comparison of floats copies both sides first, to be
//! right about −0.0, and its `AND` cuts the whole batch down wherever few samples are left, which costs more
//! than the bits it saves. A pack compares some hundred times a sample: here that is one pass over the numbers
//! that leaves 64 samples in a word, and whole words from there on. Being functions, they have no side that may
//! be skipped, and the engine works out what two rules share only once.
//!
//! Meaning: three-valued logic. Null is unknown, and so is NaN; −0.0 equals 0.0.

mod all;
mod magnitude;
mod numbers;
mod text;

use std::sync::Arc;

use datafusion::common::DFSchema;
use datafusion::common::arrow::datatypes::DataType;
use datafusion::error::Result;
use datafusion::logical_expr::{Expr, ExprSchemable, ScalarUDF, binary_expr, lit};

pub(crate) use magnitude::magnitude;
pub use numbers::Comparison;

/// Every function of this module.
pub(crate) fn functions() -> Vec<Arc<ScalarUDF>> {
    let comparisons = Comparison::ALL.into_iter().map(numbers::function);
    comparisons
        .chain([
            text::function(),
            all::function(true),
            all::function(false),
            magnitude::function(),
        ])
        .collect()
}

/// All of some conditions: false where one is, else unknown where one is; true without any.
pub(crate) fn all_of(conditions: Vec<Expr>) -> Expr {
    together(true, conditions)
}

/// Any of some conditions: true where one is, else unknown where one is; false without any.
pub(crate) fn any_of(conditions: Vec<Expr>) -> Expr {
    together(false, conditions)
}

fn together(all: bool, mut conditions: Vec<Expr>) -> Expr {
    match conditions.len() {
        0 => lit(all),
        1 => conditions.remove(0),
        _ => all::function(all).call(conditions),
    }
}

/// One comparison, as fast as the types of both sides allow.
///
/// # Errors
/// A side names a column that `schema` does not hold.
pub(crate) fn compare(
    comparison: Comparison,
    left: Expr,
    right: Expr,
    schema: &DFSchema,
) -> Result<Expr> {
    let types = (left.get_type(schema)?, right.get_type(schema)?);
    Ok(match types {
        (DataType::Float32, DataType::Float32) => {
            numbers::function(comparison).call(vec![left, right])
        }
        (DataType::Dictionary(_, _), DataType::Utf8)
            if matches!(right, Expr::Literal(..)) && comparison == Comparison::Equal =>
        {
            text_is(left, right)
        }
        _ => binary_expr(left, comparison.operator(), right),
    })
}

/// Whether a column of texts is this text, a literal.
pub(crate) fn text_is(column: Expr, text: Expr) -> Expr {
    text::function().call(vec![column, text])
}

#[cfg(test)]
mod tests;
