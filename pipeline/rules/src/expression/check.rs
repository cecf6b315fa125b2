//! Names, types and units of an expression.

use std::collections::BTreeSet;
use std::ops::Range;

use super::Expression;
use super::fault::ExpressionFault as Fault;
use super::scope::{Kind, Scope};
use super::suggest::nearest;
use super::tree::{Function, Node, NodeKind, Test};
use super::unit::Unit;
use crate::conditions::Comparison;

/// Checks a tree against the names of its place; every fault of the expression is returned.
pub(crate) fn check(
    sql: &str,
    tree: Node,
    wanted: Kind,
    scope: &Scope,
) -> Result<Expression, Vec<Fault>> {
    let mut checker = Checker {
        sql,
        scope,
        faults: Vec::new(),
        found: Found::default(),
    };
    let yielded = checker.visit(&tree, true);
    if let Some(kind) = yielded.kind
        && kind != wanted
    {
        checker.faults.push(checker.wrong_kind(&tree, kind, wanted));
    }
    if !checker.faults.is_empty() {
        return Err(checker.faults);
    }
    let Found {
        inputs,
        required,
        limits,
    } = checker.found;
    let span = 0..sql.len();
    Ok(Expression {
        sql: sql.to_owned(),
        inputs,
        required,
        limits,
        unit: yielded.unit,
        tree,
        span,
    })
}

#[derive(Default)]
struct Found {
    inputs: BTreeSet<String>,
    required: BTreeSet<String>,
    limits: BTreeSet<String>,
}

/// `kind` is `None` after a fault, which then is not reported a second time further up.
struct Typed {
    kind: Option<Kind>,
    unit: Unit,
}

impl Typed {
    fn of(kind: Kind) -> Self {
        Self {
            kind: Some(kind),
            unit: Unit::unknown(),
        }
    }

    fn number(unit: Unit) -> Self {
        Self {
            kind: Some(Kind::Number),
            unit,
        }
    }

    fn faulty() -> Self {
        Self {
            kind: None,
            unit: Unit::unknown(),
        }
    }
}

pub(super) struct Checker<'a> {
    sql: &'a str,
    pub(super) scope: &'a Scope,
    pub(super) faults: Vec<Fault>,
    found: Found,
}

impl Checker<'_> {
    /// `required`: the expression is unknown wherever this part is.
    fn visit(&mut self, node: &Node, required: bool) -> Typed {
        match &node.kind {
            NodeKind::Number(_) => Typed::number(Unit::unknown()),
            NodeKind::Text(_) => Typed::of(Kind::Text),
            NodeKind::Boolean(_) => Typed::of(Kind::Condition),
            NodeKind::Name(name) => self.name(name, &node.span, required),
            NodeKind::Limit(name) => self.limit(name, &node.span),
            NodeKind::Negate(inner) => Typed::number(self.number(inner, required)),
            NodeKind::Not(inner) => {
                self.condition(inner, required);
                Typed::of(Kind::Condition)
            }
            NodeKind::And(left, right) | NodeKind::Or(left, right) => {
                self.condition(left, required);
                self.condition(right, required);
                Typed::of(Kind::Condition)
            }
            NodeKind::Arithmetic(operator, left, right) => {
                let (one, two) = (self.number(left, required), self.number(right, required));
                use super::tree::Arithmetic::{Minus, Over, Plus, Times};
                Typed::number(match operator {
                    Plus | Minus => {
                        self.same_unit(&node.span, [(left, &one), (right, &two)]);
                        one.or(&two)
                    }
                    Times => one.times(&two),
                    Over => one.over(&two),
                })
            }
            NodeKind::Compare(operator, left, right) => {
                self.compare(*operator, left, right, &node.span, required);
                Typed::of(Kind::Condition)
            }
            NodeKind::Between {
                value, low, high, ..
            } => {
                let unit = self.number(value, required);
                for end in [low, high] {
                    let end_unit = self.number(end, required);
                    self.same_unit(&node.span, [(value, &unit), (end, &end_unit)]);
                }
                Typed::of(Kind::Condition)
            }
            NodeKind::In { value, list, .. } => {
                for item in list {
                    if !matches!(item.kind, NodeKind::Number(_) | NodeKind::Text(_)) {
                        let fault = Fault::new(
                            item.span.clone(),
                            "a list holds plain values",
                            "not a literal",
                        );
                        self.faults
                            .push(fault.help("list numbers or texts in single quotes"));
                        return Typed::of(Kind::Condition);
                    }
                    self.compare(Comparison::Equal, value, item, &node.span, required);
                }
                Typed::of(Kind::Condition)
            }
            NodeKind::Is {
                value,
                test: Test::Null,
                ..
            } => {
                self.visit(value, false);
                Typed::of(Kind::Condition)
            }
            NodeKind::Is { value, .. } => {
                self.condition(value, required);
                Typed::of(Kind::Condition)
            }
            NodeKind::Case {
                operand,
                branches,
                otherwise,
            } => self.case(operand.as_deref(), branches, otherwise.as_deref(), required),
            NodeKind::Call(function, arguments) => {
                let required = required && *function != Function::Coalesce;
                let mut unit = Unit::unknown();
                for argument in arguments {
                    let argument_unit = self.number(argument, required);
                    self.same_unit(
                        &node.span,
                        [(&arguments[0], &unit), (argument, &argument_unit)],
                    );
                    unit = unit.or(&argument_unit);
                }
                Typed::number(unit)
            }
        }
    }

    fn name(&mut self, name: &str, span: &Range<usize>, required: bool) -> Typed {
        if let Some(known) = self.scope.names.get(name) {
            self.found.inputs.insert(name.to_owned());
            if required {
                self.found.required.insert(name.to_owned());
            }
            return Typed {
                kind: Some(known.kind),
                unit: known.unit.clone(),
            };
        }
        self.faults.push(self.unknown_name(name, span));
        Typed::faulty()
    }

    fn limit(&mut self, name: &str, span: &Range<usize>) -> Typed {
        if self.scope.limits.contains(name) {
            self.found.limits.insert(name.to_owned());
            return Typed::number(Unit::of_limit(name));
        }
        let limits = self.scope.limits.iter().map(String::as_str);
        let help = nearest(name, limits).map_or_else(
            || format!("add `{name} = …` under `[limits]`"),
            |near| format!("did you mean `limits.{near}`?"),
        );
        let message = format!("unknown limit `{name}`");
        self.faults
            .push(Fault::new(span.clone(), message, "not under `[limits]`").help(help));
        Typed::faulty()
    }

    fn number(&mut self, node: &Node, required: bool) -> Unit {
        let typed = self.visit(node, required);
        if let Some(kind @ (Kind::Condition | Kind::Text)) = typed.kind {
            self.faults.push(self.wrong_kind(node, kind, Kind::Number));
        }
        typed.unit
    }

    fn condition(&mut self, node: &Node, required: bool) {
        let typed = self.visit(node, required);
        if let Some(kind @ (Kind::Number | Kind::Text)) = typed.kind {
            self.faults
                .push(self.wrong_kind(node, kind, Kind::Condition));
        }
    }

    fn compare(
        &mut self,
        operator: Comparison,
        left: &Node,
        right: &Node,
        span: &Range<usize>,
        required: bool,
    ) {
        let (one, two) = (self.visit(left, required), self.visit(right, required));
        match (one.kind, two.kind) {
            (Some(Kind::Number), Some(Kind::Number)) => {
                self.same_unit(span, [(left, &one.unit), (right, &two.unit)]);
            }
            (Some(Kind::Text), Some(Kind::Text)) => self.compare_texts(operator, left, right, span),
            (Some(Kind::Condition), Some(_)) | (Some(_), Some(Kind::Condition)) => {
                self.faults.push(self.compared_condition(left, right, span));
            }
            (Some(one), Some(two)) => {
                let message = format!(
                    "{} `{}` compared with {} `{}`",
                    one.words(),
                    self.text(left),
                    two.words(),
                    self.text(right),
                );
                self.faults.push(
                    Fault::new(span.clone(), message, "unlike values")
                        .help("a text column is compared with texts in single quotes"),
                );
            }
            _ => {}
        }
    }

    fn case(
        &mut self,
        operand: Option<&Node>,
        branches: &[(Node, Node)],
        otherwise: Option<&Node>,
        required: bool,
    ) -> Typed {
        let mut first: Option<(&Node, Typed)> = None;
        for (when, _) in branches {
            match operand {
                Some(operand) => {
                    self.compare(Comparison::Equal, operand, when, &when.span, required)
                }
                None => self.condition(when, required),
            }
        }
        for result in branches.iter().map(|(_, then)| then).chain(otherwise) {
            let typed = self.visit(result, required);
            match (&first, typed.kind) {
                (_, Some(Kind::Text)) => {
                    self.faults
                        .push(self.wrong_kind(result, Kind::Text, Kind::Number));
                }
                (None, _) => first = Some((result, typed)),
                (Some((node, expected)), Some(kind)) => match expected.kind {
                    Some(Kind::Number) if kind == Kind::Number => {
                        let unit = expected.unit.clone();
                        let node = *node;
                        self.same_unit(&result.span, [(node, &unit), (result, &typed.unit)]);
                    }
                    Some(wanted) if wanted != kind => {
                        self.faults.push(self.wrong_kind(result, kind, wanted));
                    }
                    _ => {}
                },
                _ => {}
            }
        }
        first.map_or_else(Typed::faulty, |(_, typed)| typed)
    }

    pub(super) fn text(&self, node: &Node) -> &str {
        &self.sql[node.span.clone()]
    }
}
