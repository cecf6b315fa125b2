//! The small expressions that codes are made of.

use std::collections::BTreeSet;

use datafusion::arrow::datatypes::DataType;
use datafusion::common::{Column, ScalarValue};
use datafusion::logical_expr::{Cast, Expr, and, cast, lit};

use crate::rule_file::Segment;

pub(super) fn column(name: &str) -> Expr {
    Expr::Column(Column::from_name(name))
}

/// A number of the samples' own width: wider ones would widen every sample.
#[allow(clippy::cast_possible_truncation)] // limits are far inside the range of f32
pub(super) fn number(value: f64) -> Expr {
    Expr::Literal(ScalarValue::Float32(Some(value as f32)), None)
}

pub(super) fn int8(value: i8) -> Expr {
    Expr::Literal(ScalarValue::Int8(Some(value)), None)
}

pub(super) fn float(expr: Expr) -> Expr {
    cast(expr, DataType::Float32)
}

/// `weight` where the condition, which is never null, is true; else 0.
pub(super) fn bits(condition: Expr, weight: i8) -> Expr {
    let bit = Expr::Cast(Cast::new(Box::new(condition), DataType::Int8));
    if weight == 1 { bit } else { bit * int8(weight) }
}

pub(super) fn all_known(inputs: &BTreeSet<String>) -> Expr {
    inputs
        .iter()
        .map(|name| column(name).is_not_null())
        .reduce(and)
        .unwrap_or_else(|| lit(true))
}

pub(super) fn in_segment(segment: Segment) -> Expr {
    column("segment").eq(lit(segment.name()))
}

/// Code of the frame: 1 approach, 2 roll, 3 missed.
pub(super) fn segment_code() -> Expr {
    [Segment::Approach, Segment::Roll, Segment::Missed]
        .into_iter()
        .zip(1_i8..)
        .map(|(segment, code)| bits(in_segment(segment).is_true(), code))
        .reduce(|sum, term| sum + term)
        .unwrap_or_else(|| int8(0))
}
