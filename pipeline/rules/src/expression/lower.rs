//! A checked expression as an expression of the query engine.
//!
//! Every number is a Float32, as the samples are: a Float64 literal would cast each sample, and a
//! stored 0.7 would not be ≥ 0.7. Other number columns are cast, so that integers never divide as
//! integers. Arrow orders −0.0 below 0.0, therefore products and quotients add 0, which turns −0.0
//! into 0.0 and changes nothing else.

use arrow::datatypes::DataType;
use datafusion::common::{Column, DFSchema};
use datafusion::error::Result;
use datafusion::functions::core::expr_fn::{greatest, least, nullif};
use datafusion::logical_expr::{Expr, cast, lit};

use super::Expression;
use super::tree::{Arithmetic, Function, Node, NodeKind, Test};
use crate::conditions::{Comparison, all_of, any_of, compare, magnitude};

/// Builds the engine's expression over the columns of `schema`; `limit` gives what stands for
/// `limits.NAME`, a Float32.
///
/// Division by zero is null, as is everything arithmetic does with null.
///
/// # Errors
/// A name that `schema` does not hold; checked expressions over the columns they were checked
/// against have none.
pub fn lower(
    expression: &Expression,
    schema: &DFSchema,
    limit: &dyn Fn(&str) -> Expr,
) -> Result<Expr> {
    Lower { schema, limit }.node(&expression.tree)
}

/// A limit or number as it stands in a plan.
pub fn limit_literal(number: f64) -> Expr {
    // Rounding to the samples' own width is the point.
    #[allow(clippy::cast_possible_truncation)]
    let number = number as f32;
    // Arrow orders -0.0 below 0.0.
    lit(if number == 0.0 { 0.0_f32 } else { number })
}

struct Lower<'a> {
    schema: &'a DFSchema,
    limit: &'a dyn Fn(&str) -> Expr,
}

impl Lower<'_> {
    fn node(&self, node: &Node) -> Result<Expr> {
        Ok(match &node.kind {
            NodeKind::Number(number) => limit_literal(*number),
            NodeKind::Text(text) => lit(text.as_str()),
            NodeKind::Boolean(truth) => lit(*truth),
            NodeKind::Name(name) => self.name(name)?,
            NodeKind::Limit(name) => (self.limit)(name),
            NodeKind::Negate(inner) => lit(0.0_f32) - self.node(inner)?,
            NodeKind::Not(inner) => !self.node(inner)?,
            NodeKind::Arithmetic(operator, left, right) => {
                self.arithmetic(*operator, left, right)?
            }
            NodeKind::Compare(operator, left, right) => {
                self.compare(*operator, self.node(left)?, self.node(right)?)?
            }
            NodeKind::And(_, _) => all_of(self.parts(node, true)?),
            NodeKind::Or(_, _) => any_of(self.parts(node, false)?),
            NodeKind::Between {
                value,
                low,
                high,
                negated,
            } => {
                let (value, low, high) = (self.node(value)?, self.node(low)?, self.node(high)?);
                if *negated {
                    let below = self.compare(Comparison::Less, value.clone(), low)?;
                    any_of(vec![below, self.compare(Comparison::Greater, value, high)?])
                } else {
                    let above = self.compare(Comparison::GreaterOrEqual, value.clone(), low)?;
                    all_of(vec![
                        above,
                        self.compare(Comparison::LessOrEqual, value, high)?,
                    ])
                }
            }
            NodeKind::In {
                value,
                list,
                negated,
            } => {
                let list = list
                    .iter()
                    .map(|item| self.node(item))
                    .collect::<Result<_>>()?;
                self.node(value)?.in_list(list, *negated)
            }
            NodeKind::Is {
                value,
                test,
                negated,
            } => is(self.node(value)?, *test, *negated),
            NodeKind::Case {
                operand,
                branches,
                otherwise,
            } => self.case(operand.as_deref(), branches, otherwise.as_deref())?,
            NodeKind::Call(function, arguments) => self.call(*function, arguments)?,
        })
    }

    fn compare(&self, comparison: Comparison, left: Expr, right: Expr) -> Result<Expr> {
        compare(comparison, left, right, self.schema)
    }

    /// What a chain of `and`, or else of `or`, is made of.
    fn parts(&self, node: &Node, all: bool) -> Result<Vec<Expr>> {
        match (&node.kind, all) {
            (NodeKind::And(left, right), true) | (NodeKind::Or(left, right), false) => {
                let mut parts = self.parts(left, all)?;
                parts.extend(self.parts(right, all)?);
                Ok(parts)
            }
            _ => Ok(vec![self.node(node)?]),
        }
    }

    fn name(&self, name: &str) -> Result<Expr> {
        let (table, field) = self.schema.qualified_field_with_unqualified_name(name)?;
        let column = Expr::Column(Column::new(table.cloned(), field.name()));
        let kind = field.data_type();
        let recast = kind.is_numeric() && *kind != DataType::Float32;
        Ok(if recast {
            cast(column, DataType::Float32)
        } else {
            column
        })
    }

    fn arithmetic(&self, operator: Arithmetic, left: &Node, right: &Node) -> Result<Expr> {
        let (left, right) = (self.node(left)?, self.node(right)?);
        let zero = || lit(0.0_f32);
        Ok(match operator {
            Arithmetic::Plus => left + right,
            Arithmetic::Minus => left - right,
            Arithmetic::Times => left * right + zero(),
            Arithmetic::Over => left / nullif(right + zero(), zero()) + zero(),
        })
    }

    fn case(
        &self,
        operand: Option<&Node>,
        branches: &[(Node, Node)],
        otherwise: Option<&Node>,
    ) -> Result<Expr> {
        let operand = operand.map(|operand| self.node(operand)).transpose()?;
        let mut case = datafusion::logical_expr::Case {
            expr: operand.map(Box::new),
            when_then_expr: Vec::new(),
            else_expr: otherwise
                .map(|node| self.node(node))
                .transpose()?
                .map(Box::new),
        };
        for (when, then) in branches {
            case.when_then_expr
                .push((Box::new(self.node(when)?), Box::new(self.node(then)?)));
        }
        Ok(Expr::Case(case))
    }

    fn call(&self, function: Function, arguments: &[Node]) -> Result<Expr> {
        let mut lowered = arguments
            .iter()
            .map(|node| self.node(node))
            .collect::<Result<Vec<_>>>()?;
        Ok(match function {
            Function::Abs => magnitude(lowered.remove(0)),
            Function::Least => least(lowered),
            Function::Greatest => greatest(lowered),
            Function::Coalesce => first_known(lowered),
            Function::Nullif => {
                let second = lowered.remove(1);
                nullif(lowered.remove(0), second)
            }
        })
    }
}

/// The engine's own coalesce runs only after its optimizer has rewritten it to this.
fn first_known(mut choices: Vec<Expr>) -> Expr {
    let last = choices.pop().map(Box::new);
    let known = |choice: Expr| (Box::new(choice.clone().is_not_null()), Box::new(choice));
    Expr::Case(datafusion::logical_expr::Case {
        expr: None,
        when_then_expr: choices.into_iter().map(known).collect(),
        else_expr: last,
    })
}

fn is(value: Expr, test: Test, negated: bool) -> Expr {
    match (test, negated) {
        (Test::Null, false) => value.is_null(),
        (Test::Null, true) => value.is_not_null(),
        (Test::True, false) => value.is_true(),
        (Test::True, true) => value.is_not_true(),
        (Test::False, false) => value.is_false(),
        (Test::False, true) => value.is_not_false(),
    }
}
