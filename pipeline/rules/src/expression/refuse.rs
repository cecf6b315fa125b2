//! The words for what an expression may not hold, each with what to do instead.

use std::ops::Range;

use datafusion::sql::sqlparser::ast::{Expr, Value};
use datafusion::sql::sqlparser::tokenizer::Token;

use super::fault::ExpressionFault as Fault;
use super::suggest::nearest;
use super::tree::Function;

/// Functions that make a measure.
pub(crate) const MEASURES: [&str; 5] = ["max", "min", "first", "last", "at_worst"];

/// Functions of SQL that read other samples than the one at hand.
const LOOK_BACK: [&str; 14] = [
    "lag",
    "lead",
    "first_value",
    "last_value",
    "nth_value",
    "row_number",
    "rank",
    "avg",
    "mean",
    "sum",
    "count",
    "median",
    "stddev",
    "var",
];

/// Functions that would make the same record give different results.
const UNREPEATABLE: [&str; 9] = [
    "random",
    "rand",
    "uuid",
    "now",
    "current_timestamp",
    "current_date",
    "current_time",
    "today",
    "localtime",
];

const ALLOWED: &str = "allowed: + - * /, comparisons, and, or, not, between, in, is [not] null, \
                       is [not] true, case, abs, least, greatest, coalesce, nullif";

pub(super) fn looks_back(name: &str) -> bool {
    LOOK_BACK.contains(&name.to_lowercase().as_str())
}

pub(super) fn look_back(span: Range<usize>, name: &str) -> Fault {
    Fault::new(
        span,
        format!("a rule cannot look back: `{name}`"),
        "reads other samples",
    )
    .help("add a prepared column under `[derived]` in fleet.toml and name it here")
}

pub(super) fn function(span: Range<usize>, name: &str) -> Fault {
    let lower = name.to_lowercase();
    if UNREPEATABLE.contains(&lower.as_str()) {
        let message = format!("`{name}` would give another result each time");
        return Fault::new(span, message, "not repeatable")
            .help("compare with a column or a number under `[limits]`");
    }
    if MEASURES.contains(&lower.as_str()) {
        return Fault::new(
            span,
            format!("`{name}` makes a measure, not a condition"),
            "not here",
        )
        .help(
            "write it under `[measures]` and read the measure in `[[levels]]`; of two values \
                   of one sample, `greatest` or `least` takes the larger or smaller",
        );
    }
    let names = Function::ALL.map(Function::name);
    let help = nearest(&lower, names).map_or_else(
        || format!("allowed: {}", names.join(", ")),
        |near| format!("did you mean `{near}`?"),
    );
    Fault::new(
        span,
        format!("unknown function `{name}`"),
        "not in the list",
    )
    .help(help)
}

pub(super) fn measure_function(span: Range<usize>, name: &str) -> Fault {
    let lower = name.to_lowercase();
    if LOOK_BACK.contains(&lower.as_str()) {
        let message = format!("`{name}` of a run is not kept");
        return Fault::new(span, message, "not a measure").help(
            "add a prepared column under `[derived]` in fleet.toml and take its max, min or at_worst",
        );
    }
    let help = nearest(&lower, MEASURES).map_or_else(
        || "a measure is max, min, first, last or at_worst of an expression".to_owned(),
        |near| format!("did you mean `{near}`?"),
    );
    Fault::new(span, format!("unknown measure `{name}`"), "not a measure").help(help)
}

pub(super) fn not_a_measure(span: Range<usize>) -> Fault {
    Fault::new(
        span,
        "a measure takes one value from a run of samples",
        "which sample?",
    )
    .help("wrap it: max(…), min(…), first(…), last(…) or at_worst(…)")
}

pub(super) fn one_argument(span: Range<usize>, name: &str) -> Fault {
    Fault::new(span, format!("`{name}` takes one expression"), "here")
        .help("of two values of one sample, `greatest` or `least` takes the larger or smaller")
}

pub(super) fn plain_call(span: Range<usize>) -> Fault {
    Fault::new(span, "a function takes plain arguments only", "here")
        .help("leave out distinct, filter, names and stars")
}

pub(super) fn argument_count(span: Range<usize>, function: Function, given: usize) -> Fault {
    let wanted = match function.arguments() {
        (1, 1) => "one argument".to_owned(),
        (2, 2) => "two arguments".to_owned(),
        (least, most) => format!("{least} to {most} arguments"),
    };
    let message = format!("`{}` takes {wanted}, {given} given", function.name());
    Fault::new(span, message, "here")
}

pub(super) fn operator(span: Range<usize>, sign: &str) -> Fault {
    Fault::new(span, format!("operator `{sign}` is not allowed"), "here").help(ALLOWED)
}

pub(super) fn qualified(span: Range<usize>, written: &str) -> Fault {
    let fault = Fault::new(
        span,
        format!("`{written}` names a table"),
        "one name expected",
    );
    let near = written
        .split_once('.')
        .filter(|(table, _)| nearest(table, ["limits"]).is_some());
    match near {
        Some((_, name)) => fault.help(format!("did you mean `limits.{name}`?")),
        None => fault.help("write a column by its name alone, a limit as `limits.NAME`"),
    }
}

pub(super) fn depth(span: Range<usize>) -> Fault {
    Fault::new(
        span,
        "expression nested too deeply",
        "too many brackets, or too long a chain",
    )
    .help("split it over several rules, or prepare a column under `[derived]` in fleet.toml")
}

pub(super) fn number(span: Range<usize>, digits: &str) -> Fault {
    Fault::new(span, format!("`{digits}` is not a usable number"), "here")
        .help("write plain digits, at most 3e38")
}

pub(super) fn value(span: Range<usize>, value: &Value) -> Fault {
    match value {
        Value::Null => Fault::new(
            span,
            "`null` is not a value to compare with",
            "always unknown",
        )
        .help("test with `is null`; a `case` without `else` is unknown where nothing matches"),
        other => Fault::new(span, format!("`{other}` is not an allowed value"), "here")
            .help("write a number, a text in single quotes, true or false"),
    }
}

pub(super) fn part(span: Range<usize>, part: &Expr) -> Fault {
    let (what, help) = match part {
        Expr::Identifier(name) => {
            let help = format!(
                "a column stands without quotes, a text in single ones: '{}'",
                name.value
            );
            return Fault::new(span, "double quotes are not used here", "here").help(help);
        }
        Expr::Cast { .. } | Expr::Convert { .. } => (
            "a cast",
            "leave it out: numbers are numbers, and texts are only compared with texts",
        ),
        Expr::Subquery(_) | Expr::Exists { .. } | Expr::InSubquery { .. } => (
            "a subquery",
            "a rule reads one sample at a time; questions over results belong in queries/",
        ),
        Expr::Like { .. } | Expr::ILike { .. } | Expr::RLike { .. } | Expr::SimilarTo { .. } => {
            ("a text pattern", "list the texts: in ('…', '…')")
        }
        Expr::IsUnknown(_) | Expr::IsNotUnknown(_) => {
            ("`is unknown`", "write `is null` or `is not null`")
        }
        _ => ("this", ALLOWED),
    };
    Fault::new(span, format!("{what} is not allowed in a rule"), "here").help(help)
}

pub(super) fn rest(span: Range<usize>, token: &Token) -> Fault {
    match token {
        Token::Word(word) if word.value.eq_ignore_ascii_case("as") => {
            Fault::new(span, "an expression has no alias", "nothing may follow")
                .help("leave out `as …`: the key before it is its name")
        }
        Token::Comma => Fault::new(span, "one expression expected", "a second one begins here")
            .help("join conditions with `and` or `or`"),
        other => Fault::new(
            span,
            format!("unexpected `{other}`"),
            "the expression ends before it",
        )
        .help("join parts with an operator, `and` or `or`"),
    }
}
