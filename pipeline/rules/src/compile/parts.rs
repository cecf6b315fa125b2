//! The small expressions that codes are made of.

use std::collections::BTreeSet;

use datafusion::common::{Column, ScalarValue};
use datafusion::logical_expr::{Expr, lit};

use crate::conditions::{all_of, text_is};
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

pub(super) fn all_known(inputs: &BTreeSet<String>) -> Expr {
    all_of(
        inputs
            .iter()
            .map(|name| column(name).is_not_null())
            .collect(),
    )
}

pub(super) fn in_segment(segment: Segment) -> Expr {
    text_is(column("segment"), lit(segment.name()))
}
