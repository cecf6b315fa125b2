//! The words for what does not fit within an expression.

use std::ops::Range;

use super::check::Checker;
use super::fault::ExpressionFault as Fault;
use super::scope::Kind;
use super::suggest::nearest;
use super::tree::{Node, NodeKind};
use super::unit::Unit;
use crate::conditions::Comparison;

impl Checker<'_> {
    pub(super) fn unknown_name(&self, name: &str, span: &Range<usize>) -> Fault {
        let scope = self.scope;
        let fault = Fault::new(
            span.clone(),
            format!("unknown {} `{name}`", scope.noun),
            "not known here".to_owned(),
        );
        if scope.limits.contains(name) {
            return fault.help(format!("a limit is written `limits.{name}`"));
        }
        if let Some(help) = scope.elsewhere.get(name) {
            return fault.help(help.clone());
        }
        if let Some(near) = nearest(name, scope.names.keys().map(String::as_str)) {
            return fault.help(format!("did you mean `{near}`?"));
        }
        match scope.names.len() {
            0 => fault.help("only numbers and `limits.NAME` may be used here"),
            1..=12 => {
                let names: Vec<_> = scope.names.keys().map(|name| format!("`{name}`")).collect();
                fault.help(format!("known here: {}", names.join(", ")))
            }
            _ if scope.noun == "column" => fault.help(
                "a column that a fleet.toml adds is known with `--fleet FLEET`; what looks back or averages is \
                 prepared there, under [derived]",
            ),
            _ => fault,
        }
    }

    pub(super) fn wrong_kind(&self, node: &Node, found: Kind, wanted: Kind) -> Fault {
        let written = self.text(node);
        let message = format!(
            "`{written}` is {}, {} expected",
            found.words(),
            wanted.words()
        );
        let fault = Fault::new(
            node.span.clone(),
            message,
            format!("not {}", wanted.words()),
        );
        match (found, wanted) {
            (Kind::Number, Kind::Condition) => {
                let number = match &node.kind {
                    NodeKind::Name(name) => self.scope.names.get(name),
                    _ => None,
                };
                let two_state = number.is_some_and(|known| known.unit == Unit::parse("0/1"));
                if two_state {
                    fault.help(format!("compare it: `{written} = 1`"))
                } else {
                    fault.help(format!("compare it with something, as in `{written} > 0`"))
                }
            }
            (Kind::Condition, Kind::Number) => {
                fault.help("a condition counts as a number through `case when … then 1 else 0 end`")
            }
            (Kind::Text, _) => {
                fault.help("a text is only compared: NAME = '…' or NAME in ('…', '…')")
            }
            _ => fault,
        }
    }

    pub(super) fn same_unit(&mut self, span: &Range<usize>, sides: [(&Node, &Unit); 2]) {
        let [(left, one), (right, two)] = sides;
        if one.fits(two) {
            return;
        }
        let message = format!(
            "`{}` is in {one}, `{}` is in {two}: unlike units",
            self.text(left),
            self.text(right),
        );
        let fault = Fault::new(span.clone(), message, format!("{one} against {two}"));
        self.faults
            .push(fault.help("use a column in the same unit; nothing is converted in a rule"));
    }

    pub(super) fn compare_texts(
        &mut self,
        operator: Comparison,
        left: &Node,
        right: &Node,
        span: &Range<usize>,
    ) {
        if !matches!(operator, Comparison::Equal | Comparison::Unequal) {
            let message = format!("texts have no order: `{}`", operator.sign());
            let fault = Fault::new(span.clone(), message, "here");
            self.faults
                .push(fault.help("compare texts with = , <> or in (…)"));
        } else if !matches!(
            (&left.kind, &right.kind),
            (NodeKind::Name(_), NodeKind::Text(_)) | (NodeKind::Text(_), NodeKind::Name(_))
        ) {
            let fault = Fault::new(
                span.clone(),
                "a text column is compared with a text",
                "not so here",
            );
            self.faults.push(fault.help("write NAME = '…'"));
        }
    }

    pub(super) fn compared_condition(
        &self,
        left: &Node,
        right: &Node,
        span: &Range<usize>,
    ) -> Fault {
        let fault = Fault::new(
            span.clone(),
            "a condition is not compared with anything",
            "here",
        );
        let chained = [left, right]
            .into_iter()
            .find(|side| matches!(side.kind, NodeKind::Compare(..)));
        match chained {
            Some(_) => fault.help("a chain such as `0 < x < 9` is written `x > 0 and x < 9`"),
            None => fault.help("write it alone, with `not`, or as `… is true`"),
        }
    }
}
