//! The kernels of judging, each beside what the query engine has for the same or for less: `cargo bench -p rules`.

#![allow(clippy::print_stdout, reason = "a bench prints what it measures")]
#![allow(clippy::unwrap_used, reason = "a bench may fail where it stands")]

#[path = "../../records/benches/timing/mod.rs"]
mod timing;

use std::sync::Arc;

use arrow::array::{
    ArrayRef, AsArray, BooleanArray, DictionaryArray, Float32Array, Int32Array, Int64Array,
    RecordBatch,
};
use arrow::datatypes::Int32Type;
use datafusion::common::DFSchema;
use datafusion::datasource::MemTable;
use datafusion::execution::FunctionRegistry;
use datafusion::logical_expr::{Expr, col, lit};
use datafusion::prelude::{SessionConfig, SessionContext};
use rules::register::register_all;
use rules::runs::Decoder;
use tokio::runtime::Runtime;

use timing::measure;

/// Samples of an approach, and approaches of a batch.
const SAMPLES: i32 = 680;
const APPROACHES: i64 = 12;

/// A batch as scans deliver them: a fall from 3,000 ft with noise, and a column of which a tenth is unknown.
fn approaches() -> RecordBatch {
    let each = || (0..APPROACHES).flat_map(|key| (0..SAMPLES).map(move |k| (key, k)));
    let noise = |key: i64, k: i32| ((key * 7919 + i64::from(k) * 104_729) % 1_000) as f32 / 100.0;
    let height = |(key, k): (i64, i32)| 3_000.0 - 4.4 * k as f32 + noise(key, k);
    let speed = |(key, k): (i64, i32)| {
        let known = (key + i64::from(k)) % 10 != 0;
        known.then(|| 180.0 - 0.06 * k as f32 + noise(key + 1, k))
    };
    let segments = each().map(|(_, k)| if k < SAMPLES - 60 { "approach" } else { "roll" });
    let columns: [(&str, ArrayRef); 5] = [
        (
            "approach_key",
            Arc::new(each().map(|one| one.0).collect::<Int64Array>()),
        ),
        (
            "k",
            Arc::new(each().map(|one| one.1).collect::<Int32Array>()),
        ),
        (
            "height_aal_ft",
            Arc::new(each().map(height).map(Some).collect::<Float32Array>()),
        ),
        (
            "cas_kt",
            Arc::new(each().map(speed).collect::<Float32Array>()),
        ),
        (
            "segment",
            Arc::new(segments.collect::<DictionaryArray<Int32Type>>()),
        ),
    ];
    RecordBatch::try_from_iter(columns).unwrap()
}

fn context() -> SessionContext {
    let mut context =
        SessionContext::new_with_config(SessionConfig::new().with_target_partitions(1));
    register_all(&mut context).unwrap();
    context
}

/// A function of this crate.
fn ours(context: &SessionContext, name: &str, arguments: Vec<Expr>) -> Expr {
    context.udf(name).unwrap().call(arguments)
}

/// Both must say the same; prints how many times as long the engine's takes.
fn against_engine(name: &str, batch: &RecordBatch, ours: Expr, engines: Expr) {
    let context = context();
    let schema = DFSchema::try_from(batch.schema()).unwrap();
    let of = |expression: Expr| {
        let physical = context.create_physical_expr(expression, &schema).unwrap();
        move || {
            let value = physical.evaluate(batch).unwrap();
            value.into_array(batch.num_rows()).unwrap()
        }
    };
    let (ours, engines) = (of(ours), of(engines));
    let told = |array: ArrayRef| array.as_boolean().iter().collect::<BooleanArray>();
    assert_eq!(told(ours()), told(engines()), "{name}");
    let ours = measure(name, || (), |()| ours());
    let engines = measure(&format!("{name}, the engine's own"), || (), |()| engines());
    ratio(ours, engines);
}

fn ratio(ours: Option<f64>, other: Option<f64>) {
    if let (Some(ours), Some(other)) = (ours, other) {
        println!("{:>60.2} times as long", other / ours);
    }
}

fn conditions(batch: &RecordBatch) {
    let context = context();
    against_engine(
        "compare a column with a number",
        batch,
        ours(
            &context,
            "number_less",
            vec![col("height_aal_ft"), lit(1000.0_f32)],
        ),
        col("height_aal_ft").lt(lit(1000.0_f32)),
    );
    against_engine(
        "compare a column with unknowns",
        batch,
        ours(
            &context,
            "number_greater",
            vec![col("cas_kt"), lit(160.0_f32)],
        ),
        col("cas_kt").gt(lit(160.0_f32)),
    );
    against_engine(
        "tell a text",
        batch,
        ours(&context, "text_is", vec![col("segment"), lit("approach")]),
        col("segment").eq(lit("approach")),
    );
    let conditions = || {
        vec![
            col("height_aal_ft").lt(lit(2500.0_f32)),
            col("cas_kt").gt(lit(150.0_f32)),
            col("cas_kt").is_not_null(),
        ]
    };
    let engines = conditions().into_iter().reduce(Expr::and).unwrap();
    against_engine(
        "three conditions at once",
        batch,
        ours(&context, "all_true", conditions()),
        engines,
    );
}

/// `runs` against least, greatest and number of one column: less than what it keeps of every run.
fn aggregates(batch: &RecordBatch) {
    let runtime = Runtime::new().unwrap();
    let context = context();
    let table = MemTable::try_new(batch.schema(), vec![vec![batch.clone()]]).unwrap();
    context.register_table("one", Arc::new(table)).unwrap();
    let query = |text: &'static str| {
        let plan = runtime.block_on(async {
            let frame = context.sql(text).await.unwrap();
            frame.create_physical_plan().await.unwrap()
        });
        let (runtime, context) = (&runtime, &context);
        move || {
            let plan = Arc::clone(&plan).reset_state().unwrap();
            let collected = datafusion::physical_plan::collect(plan, context.task_ctx());
            runtime.block_on(collected).unwrap()
        }
    };
    let runs = query(
        "SELECT approach_key, runs(k, named_struct('window', text_is(segment, 'approach'), \
         'f_0', number_less(height_aal_ft, arrow_cast(1000.0, 'Float32')), 'e_0', cas_kt)) \
         FROM one GROUP BY approach_key",
    );
    let plain = query(
        "SELECT approach_key, min(cas_kt), max(cas_kt), count(height_aal_ft) \
         FROM one GROUP BY approach_key",
    );
    let ours = measure(
        "runs of a window with a flag and an end",
        || (),
        |()| runs(),
    );
    let engines = measure("min, max and count by approach", || (), |()| plain());
    ratio(ours, engines);

    let found = runs();
    let decoder = Decoder::new(found[0].column(1)).unwrap();
    let rows = 0..decoder.rows();
    let looked = |rows: std::ops::Range<usize>| {
        let runs = rows.flat_map(|row| decoder.views(row, 0));
        runs.filter_map(|run| run.last(0))
            .map(f64::from)
            .sum::<f64>()
    };
    let copied = |rows: std::ops::Range<usize>| {
        let runs = rows.flat_map(|row| decoder.runs(row, 0));
        runs.filter_map(|run| run.ends[0].last)
            .map(f64::from)
            .sum::<f64>()
    };
    assert_eq!(looked(rows.clone()), copied(rows.clone()));
    let ours = measure("look at the runs of a batch", || rows.clone(), looked);
    let copies = measure("the same as plain values", || rows.clone(), copied);
    ratio(ours, copies);
}

fn main() {
    let batch = approaches();
    conditions(&batch);
    aggregates(&batch);
}
