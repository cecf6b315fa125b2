//! Expression text to tree: the SQL parser reads it, then every part is allowed or refused.
//!
//! Nothing is looked up here; names and types come in `check`.

use datafusion::sql::sqlparser::ast::{
    BinaryOperator, CaseWhen, Expr, Spanned, UnaryOperator, Value,
};
use datafusion::sql::sqlparser::dialect::GenericDialect;
use datafusion::sql::sqlparser::parser::{Parser, ParserError};
use datafusion::sql::sqlparser::tokenizer::Token;

use super::depth;
use super::fault::ExpressionFault;
use super::position::{byte_at, bytes_of, place_in_message};
use super::refuse;
use super::tree::{Arithmetic, Node, NodeKind, Test};
use crate::conditions::Comparison;

/// Deeper trees than this are refused: the engine walks expressions recursively.
const DEEPEST: usize = 64;
/// Brackets and calls within one another; the parser takes tens of kilobytes of stack for each.
const MOST_NESTED: usize = 24;
/// Longer text than this is refused before it is read, so that no chain of operators grows past
/// the stack of the parser's own clean-up.
const LONGEST_BYTES: usize = 4096;

/// Reads one expression; the faults are all that could be found in one go.
pub(crate) fn parse(text: &str) -> Result<Node, Vec<ExpressionFault>> {
    let parsed = parse_sql(text).map_err(|fault| vec![fault])?;
    let mut reader = Reader {
        text,
        faults: Vec::new(),
    };
    let node = reader.read(&parsed, 0);
    match node {
        Some(node) if reader.faults.is_empty() => Ok(node),
        _ => Err(reader.faults),
    }
}

/// Reads `function(expression)` and returns the function's name beside its argument.
pub(crate) fn parse_measure(text: &str) -> Result<(String, Node), Vec<ExpressionFault>> {
    let parsed = parse_sql(text).map_err(|fault| vec![fault])?;
    let mut reader = Reader {
        text,
        faults: Vec::new(),
    };
    let measure = reader.measure(&parsed);
    match measure {
        Some(measure) if reader.faults.is_empty() => Ok(measure),
        _ => Err(reader.faults),
    }
}

fn parse_sql(text: &str) -> Result<Expr, ExpressionFault> {
    let whole = 0..text.len();
    if text.trim().is_empty() {
        return Err(ExpressionFault::new(
            whole,
            "empty expression",
            "nothing here",
        ));
    }
    if text.len() > LONGEST_BYTES {
        let message = format!("expression of more than {LONGEST_BYTES} bytes");
        return Err(ExpressionFault::new(whole, message, "too long").help("split the rule in two"));
    }
    let parser = Parser::new(&GenericDialect {}).with_recursion_limit(MOST_NESTED);
    let mut parser = parser
        .try_with_sql(text)
        .map_err(|error| syntax(text, &error))?;
    let parsed = parser.parse_expr().map_err(|error| syntax(text, &error))?;
    let rest = parser.peek_token();
    if rest.token != Token::EOF {
        return Err(refuse::rest(bytes_of(text, rest.span), &rest.token));
    }
    // Before anything walks it by recursion, the places of its parts included.
    if depth::exceeds(&parsed, DEEPEST) {
        return Err(refuse::depth(whole));
    }
    Ok(parsed)
}

fn syntax(text: &str, error: &ParserError) -> ExpressionFault {
    let message = match error {
        ParserError::TokenizerError(message) | ParserError::ParserError(message) => message,
        ParserError::RecursionLimitExceeded => return refuse::depth(0..text.len()),
    };
    let (words, place) = place_in_message(message);
    let start = place.map_or(text.len(), |place| byte_at(text, place));
    let width = text[start..].chars().next().map_or(0, char::len_utf8);
    let words = words
        .replace("an expression", "a value")
        .replace("EOF", "the end");
    let words = match words
        .strip_prefix("Expected: ")
        .and_then(|rest| rest.split_once(", found: "))
    {
        Some((expected, "the end")) => format!("{expected} expected at the end"),
        Some((expected, found)) => format!("{expected} expected, `{found}` found"),
        None => lower_first(&words),
    };
    ExpressionFault::new(
        start..start + width,
        format!("not an expression: {words}"),
        "here",
    )
    .help("write names, numbers and operators, as in `cas_kt > 250 and flap_lever = 0`")
}

fn lower_first(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_lowercase().chain(letters).collect()
    })
}

/// Carries the text for positions and gathers faults.
pub(super) struct Reader<'a> {
    pub(super) text: &'a str,
    pub(super) faults: Vec<ExpressionFault>,
}

impl Reader<'_> {
    /// `None` once a fault is noted; the siblings are read all the same.
    pub(super) fn read(&mut self, parsed: &Expr, depth: usize) -> Option<Node> {
        let span = bytes_of(self.text, parsed.span());
        if depth >= DEEPEST {
            self.faults.push(refuse::depth(span));
            return None;
        }
        let deeper = depth + 1;
        let kind = match parsed {
            Expr::Nested(inner) => return self.read(inner, deeper),
            Expr::Value(value) => self.value(&value.value, span.clone())?,
            Expr::Identifier(name) if name.quote_style.is_none() => {
                NodeKind::Name(name.value.clone())
            }
            Expr::CompoundIdentifier(names) => match names.as_slice() {
                [table, name] if table.value == "limits" && name.quote_style.is_none() => {
                    NodeKind::Limit(name.value.clone())
                }
                _ => return self.refused(refuse::qualified(span, &parsed.to_string())),
            },
            Expr::UnaryOp { op, expr } => {
                let inner = self.read(expr, deeper);
                match op {
                    UnaryOperator::Plus => return inner,
                    UnaryOperator::Minus => negated(inner?),
                    UnaryOperator::Not => NodeKind::Not(Box::new(inner?)),
                    other => {
                        return self.refused(refuse::operator(span, &other.to_string()));
                    }
                }
            }
            Expr::BinaryOp { left, op, right } => {
                let (left, right) = (self.read(left, deeper), self.read(right, deeper));
                let Some(build) = operator(op) else {
                    return self.refused(refuse::operator(span, &op.to_string()));
                };
                build(Box::new(left?), Box::new(right?))
            }
            Expr::Between {
                expr,
                negated,
                low,
                high,
            } => {
                let value = self.read(expr, deeper);
                let (low, high) = (self.read(low, deeper), self.read(high, deeper));
                NodeKind::Between {
                    value: Box::new(value?),
                    low: Box::new(low?),
                    high: Box::new(high?),
                    negated: *negated,
                }
            }
            Expr::InList {
                expr,
                list,
                negated,
            } => {
                let value = self.read(expr, deeper);
                let list: Vec<_> = list.iter().map(|item| self.read(item, deeper)).collect();
                let list = list.into_iter().collect::<Option<Vec<_>>>();
                NodeKind::In {
                    value: Box::new(value?),
                    list: list?,
                    negated: *negated,
                }
            }
            Expr::IsNull(inner) => self.is(inner, Test::Null, false, deeper)?,
            Expr::IsNotNull(inner) => self.is(inner, Test::Null, true, deeper)?,
            Expr::IsTrue(inner) => self.is(inner, Test::True, false, deeper)?,
            Expr::IsNotTrue(inner) => self.is(inner, Test::True, true, deeper)?,
            Expr::IsFalse(inner) => self.is(inner, Test::False, false, deeper)?,
            Expr::IsNotFalse(inner) => self.is(inner, Test::False, true, deeper)?,
            Expr::Case {
                operand,
                conditions,
                else_result,
                ..
            } => self.case(
                operand.as_deref(),
                conditions,
                else_result.as_deref(),
                deeper,
            )?,
            Expr::Function(call) => self.call(call, span.clone(), deeper)?,
            other => return self.refused(refuse::part(span, other)),
        };
        Some(Node { kind, span })
    }

    pub(super) fn refused<T>(&mut self, fault: ExpressionFault) -> Option<T> {
        self.faults.push(fault);
        None
    }

    fn value(&mut self, value: &Value, span: std::ops::Range<usize>) -> Option<NodeKind> {
        Some(match value {
            Value::Number(digits, _) => match digits.parse::<f64>() {
                Ok(number) if number.abs() <= f64::from(f32::MAX) => NodeKind::Number(number),
                _ => return self.refused(refuse::number(span, digits)),
            },
            Value::SingleQuotedString(text) => NodeKind::Text(text.clone()),
            Value::Boolean(truth) => NodeKind::Boolean(*truth),
            other => return self.refused(refuse::value(span, other)),
        })
    }

    fn is(&mut self, inner: &Expr, test: Test, negated: bool, depth: usize) -> Option<NodeKind> {
        let value = Box::new(self.read(inner, depth)?);
        Some(NodeKind::Is {
            value,
            test,
            negated,
        })
    }

    fn case(
        &mut self,
        operand: Option<&Expr>,
        conditions: &[CaseWhen],
        otherwise: Option<&Expr>,
        depth: usize,
    ) -> Option<NodeKind> {
        let operand = operand.map(|operand| self.read(operand, depth));
        let mut branches = Vec::new();
        for CaseWhen { condition, result } in conditions {
            branches.push((self.read(condition, depth), self.read(result, depth)));
        }
        let otherwise = otherwise.map(|otherwise| self.read(otherwise, depth));
        let branches = branches
            .into_iter()
            .map(|(when, then)| Some((when?, then?)));
        Some(NodeKind::Case {
            operand: operand.map_or(Some(None), |node| node.map(|node| Some(Box::new(node))))?,
            branches: branches.collect::<Option<_>>()?,
            otherwise: otherwise
                .map_or(Some(None), |node| node.map(|node| Some(Box::new(node))))?,
        })
    }
}

/// A literal takes its sign, so that `-1` is one number in messages and plans.
fn negated(inner: Node) -> NodeKind {
    match inner.kind {
        NodeKind::Number(number) if number != 0.0 => NodeKind::Number(-number),
        _ => NodeKind::Negate(Box::new(inner)),
    }
}

type Build = fn(Box<Node>, Box<Node>) -> NodeKind;

fn operator(operator: &BinaryOperator) -> Option<Build> {
    use NodeKind::{Arithmetic as Sum, Compare};
    Some(match operator {
        BinaryOperator::Plus => |a, b| Sum(Arithmetic::Plus, a, b),
        BinaryOperator::Minus => |a, b| Sum(Arithmetic::Minus, a, b),
        BinaryOperator::Multiply => |a, b| Sum(Arithmetic::Times, a, b),
        BinaryOperator::Divide => |a, b| Sum(Arithmetic::Over, a, b),
        BinaryOperator::Eq => |a, b| Compare(Comparison::Equal, a, b),
        BinaryOperator::NotEq => |a, b| Compare(Comparison::Unequal, a, b),
        BinaryOperator::Lt => |a, b| Compare(Comparison::Less, a, b),
        BinaryOperator::LtEq => |a, b| Compare(Comparison::LessOrEqual, a, b),
        BinaryOperator::Gt => |a, b| Compare(Comparison::Greater, a, b),
        BinaryOperator::GtEq => |a, b| Compare(Comparison::GreaterOrEqual, a, b),
        BinaryOperator::And => NodeKind::And,
        BinaryOperator::Or => NodeKind::Or,
        _ => return None,
    })
}
