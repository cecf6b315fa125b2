//! A checked expression over plain values: for levels and outcomes, and as a second opinion on
//! what the query engine makes of the same text.

use std::cmp::Ordering;

use super::Expression;
use super::tree::{Arithmetic, Function, Node, NodeKind, Test};
use crate::conditions::Comparison;

/// What a name stands for, and what an expression yields.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Null: neither true nor false nor any number.
    Unknown,
    /// A number, rounded to Float32 as samples are.
    Number(f64),
    /// A condition.
    Truth(bool),
    /// A text.
    Text(String),
}

impl Value {
    /// A number, unknown where NaN or infinite.
    pub fn number(number: f64) -> Self {
        // The width of the samples, so that both ways of evaluating agree.
        #[allow(clippy::cast_possible_truncation)]
        let number = f64::from(number as f32);
        if number.is_finite() {
            Self::Number(number + 0.0)
        } else {
            Self::Unknown
        }
    }

    /// The number, if it is a known one.
    pub fn as_number(&self) -> Option<f64> {
        if let Self::Number(number) = self {
            Some(*number)
        } else {
            None
        }
    }

    /// The truth, if it is known.
    pub fn as_truth(&self) -> Option<bool> {
        if let Self::Truth(truth) = self {
            Some(*truth)
        } else {
            None
        }
    }

    fn truth(truth: Option<bool>) -> Self {
        truth.map_or(Self::Unknown, Self::Truth)
    }
}

impl Expression {
    /// What the expression yields where `name` and `limit` give the values of names and limits.
    pub fn evaluate(&self, name: &dyn Fn(&str) -> Value, limit: &dyn Fn(&str) -> f64) -> Value {
        Evaluate { name, limit }.node(&self.tree)
    }
}

struct Evaluate<'a> {
    name: &'a dyn Fn(&str) -> Value,
    limit: &'a dyn Fn(&str) -> f64,
}

impl Evaluate<'_> {
    fn node(&self, node: &Node) -> Value {
        match &node.kind {
            NodeKind::Number(number) => Value::number(*number),
            NodeKind::Text(text) => Value::Text(text.clone()),
            NodeKind::Boolean(truth) => Value::Truth(*truth),
            NodeKind::Name(name) => match (self.name)(name) {
                Value::Number(number) => Value::number(number),
                other => other,
            },
            NodeKind::Limit(name) => Value::number((self.limit)(name)),
            NodeKind::Negate(inner) => self.map(inner, |number| -number),
            NodeKind::Not(inner) => Value::truth(self.truth(inner).map(|truth| !truth)),
            NodeKind::Arithmetic(operator, left, right) => {
                let numbers = (self.number(left), self.number(right));
                let (Some(left), Some(right)) = numbers else {
                    return Value::Unknown;
                };
                // Float32 arithmetic: the sum of two Float32 in Float64 rounds to the same value.
                Value::number(match operator {
                    Arithmetic::Plus => left + right,
                    Arithmetic::Minus => left - right,
                    Arithmetic::Times => left * right,
                    Arithmetic::Over => left / right,
                })
            }
            NodeKind::Compare(operator, left, right) => {
                Value::truth(compare(*operator, &self.node(left), &self.node(right)))
            }
            NodeKind::And(left, right) => match (self.truth(left), self.truth(right)) {
                (Some(false), _) | (_, Some(false)) => Value::Truth(false),
                (Some(true), Some(true)) => Value::Truth(true),
                _ => Value::Unknown,
            },
            NodeKind::Or(left, right) => match (self.truth(left), self.truth(right)) {
                (Some(true), _) | (_, Some(true)) => Value::Truth(true),
                (Some(false), Some(false)) => Value::Truth(false),
                _ => Value::Unknown,
            },
            NodeKind::Between {
                value,
                low,
                high,
                negated,
            } => {
                let value = self.node(value);
                let above = compare(Comparison::GreaterOrEqual, &value, &self.node(low));
                let below = compare(Comparison::LessOrEqual, &value, &self.node(high));
                let within = match (above, below) {
                    (Some(false), _) | (_, Some(false)) => Some(false),
                    (Some(true), Some(true)) => Some(true),
                    _ => None,
                };
                Value::truth(within.map(|within| within != *negated))
            }
            NodeKind::In {
                value,
                list,
                negated,
            } => {
                let value = self.node(value);
                let equal = |item| compare(Comparison::Equal, &value, &self.node(item));
                let found = list
                    .iter()
                    .map(equal)
                    .try_fold(false, |any, one| Some(any | one?));
                Value::truth(found.map(|found| found != *negated))
            }
            NodeKind::Is {
                value,
                test,
                negated,
            } => {
                let value = self.node(value);
                let holds = match test {
                    Test::Null => value == Value::Unknown,
                    Test::True => value == Value::Truth(true),
                    Test::False => value == Value::Truth(false),
                };
                Value::Truth(holds != *negated)
            }
            NodeKind::Case {
                operand,
                branches,
                otherwise,
            } => {
                let operand = operand.as_deref().map(|operand| self.node(operand));
                let chosen = branches.iter().find(|(when, _)| match &operand {
                    Some(operand) => {
                        compare(Comparison::Equal, operand, &self.node(when)) == Some(true)
                    }
                    None => self.truth(when) == Some(true),
                });
                let result = chosen.map(|(_, then)| then).or(otherwise.as_deref());
                result.map_or(Value::Unknown, |result| self.node(result))
            }
            NodeKind::Call(function, arguments) => self.call(*function, arguments),
        }
    }

    fn call(&self, function: Function, arguments: &[Node]) -> Value {
        let mut known = arguments
            .iter()
            .filter_map(|argument| self.number(argument));
        let number = match function {
            Function::Abs => return self.map(&arguments[0], f64::abs),
            Function::Least => known.reduce(f64::min),
            Function::Greatest => known.reduce(f64::max),
            Function::Coalesce => known.next(),
            Function::Nullif => {
                let (first, second) = (self.number(&arguments[0]), self.number(&arguments[1]));
                first.filter(|first| Some(*first) != second)
            }
        };
        number.map_or(Value::Unknown, Value::number)
    }

    fn map(&self, node: &Node, with: fn(f64) -> f64) -> Value {
        self.number(node)
            .map_or(Value::Unknown, |number| Value::number(with(number)))
    }

    fn number(&self, node: &Node) -> Option<f64> {
        self.node(node).as_number()
    }

    fn truth(&self, node: &Node) -> Option<bool> {
        self.node(node).as_truth()
    }
}

fn compare(operator: Comparison, left: &Value, right: &Value) -> Option<bool> {
    let order = match (left, right) {
        (Value::Number(left), Value::Number(right)) => left.partial_cmp(right)?,
        (Value::Text(left), Value::Text(right)) => left.cmp(right),
        _ => return None,
    };
    Some(match operator {
        Comparison::Equal => order == Ordering::Equal,
        Comparison::Unequal => order != Ordering::Equal,
        Comparison::Less => order == Ordering::Less,
        Comparison::LessOrEqual => order != Ordering::Greater,
        Comparison::Greater => order == Ordering::Greater,
        Comparison::GreaterOrEqual => order != Ordering::Less,
    })
}
