//! How deep a parsed expression is, found without recursion: a chain of a thousand `and` is a
//! thousand levels, which the parser builds in a loop but everything after it walks by recursion.

use datafusion::sql::sqlparser::ast::{Expr, FunctionArg, FunctionArgExpr, FunctionArguments};

/// Whether any part lies deeper than `most` levels.
pub(super) fn exceeds(root: &Expr, most: usize) -> bool {
    let mut open = vec![(root, 1)];
    while let Some((part, depth)) = open.pop() {
        if depth > most {
            return true;
        }
        open.extend(parts(part).into_iter().map(|inner| (inner, depth + 1)));
    }
    false
}

/// The parts directly within; of what a rule may not hold, those that can form chains.
fn parts(parent: &Expr) -> Vec<&Expr> {
    match parent {
        Expr::BinaryOp { left, right, .. }
        | Expr::IsDistinctFrom(left, right)
        | Expr::IsNotDistinctFrom(left, right)
        | Expr::AnyOp { left, right, .. }
        | Expr::AllOp { left, right, .. } => vec![left, right],
        Expr::Nested(inner)
        | Expr::UnaryOp { expr: inner, .. }
        | Expr::IsNull(inner)
        | Expr::IsNotNull(inner)
        | Expr::IsTrue(inner)
        | Expr::IsNotTrue(inner)
        | Expr::IsFalse(inner)
        | Expr::IsNotFalse(inner)
        | Expr::IsUnknown(inner)
        | Expr::IsNotUnknown(inner)
        | Expr::IsNormalized { expr: inner, .. }
        | Expr::Cast { expr: inner, .. }
        | Expr::Collate { expr: inner, .. }
        | Expr::AtTimeZone {
            timestamp: inner, ..
        }
        | Expr::InSubquery { expr: inner, .. }
        | Expr::InUnnest { expr: inner, .. }
        | Expr::JsonAccess { value: inner, .. }
        | Expr::CompoundFieldAccess { root: inner, .. }
        | Expr::OuterJoin(inner) => vec![inner],
        Expr::Between {
            expr, low, high, ..
        } => vec![expr, low, high],
        Expr::InList { expr, list, .. } => std::iter::once(expr.as_ref()).chain(list).collect(),
        Expr::Like { expr, pattern, .. }
        | Expr::ILike { expr, pattern, .. }
        | Expr::SimilarTo { expr, pattern, .. }
        | Expr::RLike { expr, pattern, .. } => vec![expr, pattern],
        Expr::Case {
            operand,
            conditions,
            else_result,
            ..
        } => {
            let branches = conditions
                .iter()
                .flat_map(|one| [&one.condition, &one.result]);
            let ends = operand.iter().chain(else_result).map(AsRef::as_ref);
            ends.chain(branches).collect()
        }
        Expr::Function(call) => match &call.args {
            FunctionArguments::List(list) => list.args.iter().filter_map(argument).collect(),
            _ => Vec::new(),
        },
        _ => Vec::new(),
    }
}

fn argument(argument: &FunctionArg) -> Option<&Expr> {
    match argument {
        FunctionArg::Unnamed(FunctionArgExpr::Expr(inner)) => Some(inner),
        _ => None,
    }
}
