//! Function calls: the allow-list, and the one call that makes a measure.

use std::ops::Range;

use datafusion::sql::sqlparser::ast::{
    Expr, Function as Call, FunctionArg, FunctionArgExpr, FunctionArguments, ObjectNamePart,
    Spanned,
};

use super::parse::Reader;
use super::position::bytes_of;
use super::refuse;
use super::tree::{Function, Node, NodeKind};

impl Reader<'_> {
    /// A call within an expression.
    pub(super) fn call(
        &mut self,
        call: &Call,
        span: Range<usize>,
        depth: usize,
    ) -> Option<NodeKind> {
        let written = call.name.to_string();
        let name_span = bytes_of(self.text, call.name.span());
        if call.over.is_some() || refuse::looks_back(&written) {
            return self.refused(refuse::look_back(name_span, &written));
        }
        let found = Function::ALL
            .into_iter()
            .find(|known| known.name() == written);
        let Some(function) = found else {
            return self.refused(refuse::function(name_span, &written));
        };
        let arguments = self.arguments(call, span.clone(), depth)?;
        let (least, most) = function.arguments();
        if arguments.len() < least || arguments.len() > most {
            let given = arguments.len();
            return self.refused(refuse::argument_count(span, function, given));
        }
        Some(NodeKind::Call(function, arguments))
    }

    /// The whole text of a measure: `max(…)` and the like, whichever function it names.
    pub(super) fn measure(&mut self, parsed: &Expr) -> Option<(String, Node)> {
        let Expr::Function(call) = parsed else {
            return self.refused(refuse::not_a_measure(bytes_of(self.text, parsed.span())));
        };
        let span = bytes_of(self.text, parsed.span());
        if call.over.is_some() {
            return self.refused(refuse::look_back(span, &call.name.to_string()));
        }
        let known = matches!(call.name.0.as_slice(), [ObjectNamePart::Identifier(name)]
            if refuse::MEASURES.contains(&name.value.as_str()));
        if !known {
            let name_span = bytes_of(self.text, call.name.span());
            return self.refused(refuse::measure_function(name_span, &call.name.to_string()));
        }
        let mut arguments = self.arguments(call, span.clone(), 1)?;
        match (arguments.pop(), arguments.is_empty()) {
            (Some(argument), true) => Some((call.name.to_string(), argument)),
            _ => self.refused(refuse::one_argument(span, &call.name.to_string())),
        }
    }

    fn arguments(&mut self, call: &Call, span: Range<usize>, depth: usize) -> Option<Vec<Node>> {
        let plain = matches!(call.parameters, FunctionArguments::None)
            && call.filter.is_none()
            && call.null_treatment.is_none()
            && call.within_group.is_empty()
            && !call.uses_odbc_syntax;
        let FunctionArguments::List(list) = &call.args else {
            return self.refused(refuse::plain_call(span));
        };
        if !plain || list.duplicate_treatment.is_some() || !list.clauses.is_empty() {
            return self.refused(refuse::plain_call(span));
        }
        let mut nodes = Vec::new();
        for argument in &list.args {
            let FunctionArg::Unnamed(FunctionArgExpr::Expr(argument)) = argument else {
                return self.refused(refuse::plain_call(span));
            };
            nodes.push(self.read(argument, depth));
        }
        nodes.into_iter().collect()
    }
}
