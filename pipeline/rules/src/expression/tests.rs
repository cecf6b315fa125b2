use std::sync::Arc;

use arrow::array::{
    Array, AsArray, BooleanArray, Float32Array, Float64Array, Int8Array, RecordBatch, StringArray,
};
use arrow::datatypes::Float32Type;
use datafusion::common::ToDFSchema;
use datafusion::logical_expr::lit;
use datafusion::prelude::SessionContext;
use proptest::prelude::*;

use super::*;

fn scope() -> Scope {
    let mut scope = Scope {
        noun: "column",
        ..Scope::default()
    };
    for (name, unit) in [("a", "kt"), ("b", "kt"), ("h", "ft"), ("ratio", "ratio")] {
        scope.number(name, Unit::parse(unit));
    }
    scope.number("wide", Unit::unknown());
    scope.number("lever", Unit::parse("index"));
    scope.condition("yes");
    scope.text("kind");
    scope.limits.insert("top_kt".to_owned());
    scope
}

/// Every combination of these, and of the kinds.
const NUMBERS: [Option<f32>; 6] = [None, Some(-2.0), Some(0.0), Some(0.7), Some(1.0), Some(3.5)];

fn batch() -> RecordBatch {
    let rows: Vec<(Option<f32>, Option<f32>)> = NUMBERS
        .iter()
        .flat_map(|a| NUMBERS.iter().map(|b| (*a, *b)))
        .collect();
    let texts = [Some("ils"), Some("rnav"), None];
    let truths = [Some(true), None, Some(false)];
    RecordBatch::try_from_iter([
        (
            "a",
            Arc::new(rows.iter().map(|row| row.0).collect::<Float32Array>()) as _,
        ),
        (
            "b",
            Arc::new(rows.iter().map(|row| row.1).collect::<Float32Array>()) as _,
        ),
        (
            "h",
            Arc::new(rows.iter().map(|row| row.1).collect::<Float32Array>()) as _,
        ),
        (
            "ratio",
            Arc::new(rows.iter().map(|row| row.0).collect::<Float32Array>()) as _,
        ),
        (
            "wide",
            Arc::new(rows.iter().map(|_| Some(0.7)).collect::<Float64Array>()) as _,
        ),
        (
            "lever",
            Arc::new(
                (0..rows.len())
                    .map(|at| Some((at % 5) as i8))
                    .collect::<Int8Array>(),
            ) as _,
        ),
        (
            "kind",
            Arc::new(
                (0..rows.len())
                    .map(|at| texts[at % 3])
                    .collect::<StringArray>(),
            ) as _,
        ),
        (
            "yes",
            Arc::new(
                (0..rows.len())
                    .map(|at| truths[at % 3])
                    .collect::<BooleanArray>(),
            ) as _,
        ),
    ])
    .unwrap()
}

fn by_engine(expression: &Expression, batch: &RecordBatch) -> Vec<Value> {
    let schema = batch.schema().to_dfschema().unwrap();
    let lowered = lower(expression, &schema, &|_| lit(1.0_f32)).unwrap();
    let physical = SessionContext::new()
        .create_physical_expr(lowered, &schema)
        .unwrap();
    let array = physical
        .evaluate(batch)
        .unwrap()
        .into_array(batch.num_rows())
        .unwrap();
    (0..array.len())
        .map(|at| match array.data_type() {
            _ if array.is_null(at) => Value::Unknown,
            arrow::datatypes::DataType::Boolean => Value::Truth(array.as_boolean().value(at)),
            _ => {
                let number = array.as_primitive::<Float32Type>().value(at);
                assert!(number.is_finite() && !(number == 0.0 && number.is_sign_negative()));
                Value::Number(f64::from(number))
            }
        })
        .collect()
}

fn by_hand(expression: &Expression, batch: &RecordBatch) -> Vec<Value> {
    let value = |name: &str, at: usize| {
        let column = batch.column_by_name(name).unwrap();
        if column.is_null(at) {
            return Value::Unknown;
        }
        match name {
            "kind" => Value::Text(column.as_string::<i32>().value(at).to_owned()),
            "yes" => Value::Truth(column.as_boolean().value(at)),
            "lever" => Value::Number(f64::from(
                column
                    .as_primitive::<arrow::datatypes::Int8Type>()
                    .value(at),
            )),
            "wide" => Value::Number(
                column
                    .as_primitive::<arrow::datatypes::Float64Type>()
                    .value(at),
            ),
            _ => Value::Number(f64::from(column.as_primitive::<Float32Type>().value(at))),
        }
    };
    (0..batch.num_rows())
        .map(|at| expression.evaluate(&|name| value(name, at), &|_| 1.0))
        .collect()
}

/// Both ways of evaluating, which must agree.
fn values(sql: &str, kind: Kind) -> Vec<Value> {
    let expression =
        Expression::read(sql, kind, &scope()).unwrap_or_else(|f| panic!("{sql}: {f:?}"));
    let batch = batch();
    let engine = by_engine(&expression, &batch);
    assert_eq!(engine, by_hand(&expression, &batch), "{sql}");
    engine
}

fn faults(sql: &str, kind: Kind) -> Vec<ExpressionFault> {
    Expression::read(sql, kind, &scope()).expect_err(sql)
}

#[test]
fn numbers_are_float32_literals() {
    let expression = Expression::read("a >= 0.7 and a > limits.top_kt", Kind::Condition, &scope());
    let schema = batch().schema().to_dfschema().unwrap();
    let lowered = lower(&expression.unwrap(), &schema, &|_| lit(5.0_f32)).unwrap();
    // A cast would be written too.
    assert_eq!(
        lowered.to_string(),
        "all_true(number_at_least(a, Float32(0.7)), number_greater(a, Float32(5)))"
    );
}

#[test]
fn a_stored_seven_tenths_is_seven_tenths() {
    // Rows where `a` is 0.7: the fourth of the six numbers, six rows each.
    assert_eq!(values("a >= 0.7", Kind::Condition)[18], Value::Truth(true));
    assert_eq!(values("a <= 0.7", Kind::Condition)[18], Value::Truth(true));
    assert_eq!(values("wide = 0.7", Kind::Condition)[0], Value::Truth(true));
}

#[test]
fn division_by_zero_is_unknown_whatever_the_sign_of_zero() {
    let quotients = values("a / b", Kind::Number);
    // `b` is 0.0 in every third of six rows.
    assert!((0..6).all(|a| quotients[a * 6 + 2] == Value::Unknown));
    assert_eq!(quotients[5 * 6 + 4], Value::Number(3.5));
    for zero in ["a / (b * -0)", "a / (0 * -1)", "a / -(b - b)"] {
        assert!(
            values(zero, Kind::Number)
                .iter()
                .all(|value| *value == Value::Unknown),
            "{zero}"
        );
    }
}

#[test]
fn null_is_unknown_and_never_true() {
    // Row 0: both unknown; row 1: `a` unknown.
    for sql in [
        "a > 0",
        "not a > 0",
        "a between 0 and 1",
        "a in (0, 1)",
        "a = b",
        "a <> b",
    ] {
        assert_eq!(values(sql, Kind::Condition)[0], Value::Unknown, "{sql}");
    }
    assert_eq!(values("a is null", Kind::Condition)[0], Value::Truth(true));
    assert_eq!(
        values("(a > 0) is true", Kind::Condition)[0],
        Value::Truth(false)
    );
    assert_eq!(
        values("a > 0 or b < 0", Kind::Condition)[1],
        Value::Truth(true)
    );
    assert_eq!(
        values("case when a > 0 then 1 end", Kind::Number)[0],
        Value::Unknown
    );
}

#[test]
fn integers_divide_as_numbers() {
    let halves = values("lever / 2", Kind::Number);
    assert_eq!(halves[1], Value::Number(0.5));
}

#[test]
fn both_evaluations_agree_on_every_construct() {
    let conditions = [
        "kind = 'ils'",
        "'ils' <> kind",
        "kind in ('ils', 'visual')",
        "kind not in ('ils')",
        "yes",
        "not yes and a > b",
        "yes is not true",
        "yes is not false or a <= b",
        "kind is not null",
        "a not between b and 2",
        "a not in (0.7, 3.5)",
        "a = b or yes",
        "a * b < 0",
        "-a >= 0",
        "case when yes then a > b else a < b end",
        "case lever when 1 then true else yes end",
        "abs(a) > 1 and nullif(a, b) is null",
        "0 * a < 0",
    ];
    for sql in conditions {
        values(sql, Kind::Condition);
    }
    let numbers = [
        "least(a, b, 1)",
        "greatest(a, -b)",
        "coalesce(a, b, 9)",
        "nullif(a, 0)",
        "abs(a - b)",
        "case lever when 1 then a when 2 then b else 0 end",
        "a * b / h",
        "-(a + b)",
        "0 * -a",
        "a - limits.top_kt",
        "case when a > b then a else b end",
        "lever * 2 - wide",
    ];
    for sql in numbers {
        values(sql, Kind::Number);
    }
}

#[test]
fn faults_point_at_the_right_characters() {
    let place = |sql: &str| {
        let fault = faults(sql, Kind::Condition).remove(0);
        sql[fault.span].to_owned()
    };
    assert_eq!(place("a > 1 and nope > 2"), "nope");
    assert_eq!(place("kind = 'é' and nope > 2"), "nope");
    assert_eq!(place("a > 1\n and nope > 2"), "nope");
    assert_eq!(place("a > 1 and h - b > 2"), "h - b");
    assert_eq!(place("a > limits.tip_kt"), "limits.tip_kt");
    assert_eq!(place("a > lag(b)"), "lag");
    assert_eq!(place("a > 1 as x"), "as");
    assert_eq!(place("kind = \"ils\""), "\"ils\"");
}

#[test]
fn all_faults_of_an_expression_are_found() {
    let messages: Vec<_> = faults("nope > 1 and other < 2 and h > a", Kind::Condition)
        .into_iter()
        .map(|f| f.message)
        .collect();
    assert_eq!(
        messages,
        [
            "unknown column `nope`",
            "unknown column `other`",
            "`h` is in ft, `a` is in kt: unlike units",
        ]
    );
    // Refusals come before names are looked up.
    assert_eq!(
        faults("lag(a) > 1 and cast(b as int) > 2", Kind::Condition).len(),
        2
    );
}

#[test]
fn units_follow_the_arithmetic() {
    let unit = |sql: &str| {
        Expression::read(sql, Kind::Number, &scope())
            .unwrap()
            .unit
            .to_string()
    };
    assert_eq!(unit("a - b + 5"), "kt");
    assert_eq!(unit("ratio * a"), "kt");
    assert_eq!(unit("h / a"), "ft/kt");
    assert_eq!(unit("a / b"), "ratio");
    // A literal may carry a unit itself, as in 300 ft per NM.
    assert_eq!(unit("300 * h"), "unknown");
    assert_eq!(unit("greatest(a, limits.top_kt)"), "kt");
    assert_eq!(unit("case when yes then a else 0 end"), "kt");
    for sql in [
        "h > limits.top_kt",
        "h between a and b",
        "coalesce(a, h) > 1",
        "h = a / b",
    ] {
        assert!(
            faults(sql, Kind::Condition)[0]
                .message
                .contains("unlike units"),
            "{sql}"
        );
    }
}

#[test]
fn what_coalesce_or_is_null_reads_is_not_required() {
    let sql = "coalesce(a, b) > 1 and h > 2 and kind is not null";
    let expression = Expression::read(sql, Kind::Condition, &scope()).unwrap();
    assert_eq!(expression.required.iter().collect::<Vec<_>>(), ["h"]);
    assert_eq!(expression.inputs.len(), 4);
}

#[test]
fn what_people_write_is_not_too_deep() {
    let chain = format!("a > 1{}", " and a > 1".repeat(40));
    let nested = format!("{}a{} > 1", "abs((".repeat(8), "))".repeat(8));
    for sql in [chain, nested] {
        assert!(
            Expression::read(&sql, Kind::Condition, &scope()).is_ok(),
            "{sql}"
        );
    }
}

#[test]
fn long_and_deep_texts_are_refused_without_harm() {
    let deep = format!("{}a > 1{}", "(".repeat(2_000), ")".repeat(2_000));
    let chain = format!("a > 1{}", " and a > 1".repeat(300));
    let long = format!("a > 1{}", " and a > 1".repeat(100_000));
    // The parser gives up on `not` by reading it as a name.
    faults(&format!("{} yes", "not ".repeat(900)), Kind::Condition);
    let minus = format!("a > {} 1", "- ".repeat(1_500));
    let sums = format!("a{} > 1", "+a".repeat(1_900));
    let casts = format!("a{} > 1", "::int".repeat(500));
    let nulls = format!("a{}", " is null".repeat(400));
    let calls = format!("{}a{} > 1", "abs(".repeat(500), ")".repeat(500));
    for sql in [deep, chain, long, minus, sums, casts, nulls, calls] {
        let message = &faults(&sql, Kind::Condition)[0].message;
        assert!(
            message.contains("too deeply") || message.contains("more than"),
            "{message}"
        );
    }
}

fn number_text() -> impl Strategy<Value = String> {
    let leaf = prop_oneof![
        Just("a".to_owned()),
        Just("b".to_owned()),
        Just("lever".to_owned()),
        Just("wide".to_owned()),
        Just("limits.top_kt".to_owned()),
        (-20_i8..20).prop_map(|n| format!("({})", f32::from(n) / 4.0)),
    ];
    leaf.prop_recursive(3, 24, 3, |inner| {
        prop_oneof![
            (
                inner.clone(),
                prop::sample::select(vec!["+", "-", "*", "/"]),
                inner.clone()
            )
                .prop_map(|(x, sign, y)| format!("({x} {sign} {y})")),
            inner.clone().prop_map(|x| format!("abs({x})")),
            (
                inner.clone(),
                prop::sample::select(vec!["least", "greatest", "coalesce", "nullif"]),
                inner.clone()
            )
                .prop_map(|(x, name, y)| format!("{name}({x}, {y})")),
            (inner.clone(), inner.clone(), inner)
                .prop_map(|(x, y, z)| format!("case when {x} > {y} then {z} else {x} end")),
        ]
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 200, ..ProptestConfig::default() })]

    /// An independent evaluation agrees with the engine, bit for bit, on any expression.
    #[test]
    fn engine_and_interpreter_agree(left in number_text(), right in number_text(), at in 0_usize..6) {
        let sign = ["<", "<=", ">", ">=", "=", "<>"][at];
        let mut free = scope();
        for name in ["a", "b", "lever"] {
            free.number(name, Unit::unknown());
        }
        free.limits = ["top_kt".to_owned()].into();
        let sql = format!("{left} {sign} {right}");
        let read = Expression::read(&sql, Kind::Condition, &free);
        prop_assume!(!read.as_ref().is_err_and(|f| f[0].message.contains("unlike units")));
        let expression = read.map_err(|f| TestCaseError::fail(format!("{sql}: {f:?}")))?;
        let batch = batch();
        prop_assert_eq!(by_engine(&expression, &batch), by_hand(&expression, &batch), "{}", sql);
    }
}
