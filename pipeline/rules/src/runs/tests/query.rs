//! Through DataFusion, however it plans: the oracle's rows.

use std::collections::BTreeMap;

use arrow::array::AsArray;
use arrow::compute::concat_batches;
use arrow::datatypes::Int64Type;
use datafusion::common::Result;
use datafusion::datasource::MemTable;
use datafusion::execution::memory_pool::FairSpillPool;
use datafusion::execution::runtime_env::RuntimeEnvBuilder;
use datafusion::functions::core::expr_fn::named_struct;
use datafusion::physical_plan::{ExecutionPlan, collect};
use datafusion::prelude::{Expr, SessionConfig, SessionContext, col, lit};

use super::oracle::oracle;
use super::*;
use crate::register::register_all;
use crate::runs::{Decoder, runs_udaf};

/// The call whose layouts are [`layouts`].
fn call() -> Expr {
    let s0 = named_struct(vec![
        lit("code"),
        col("code0"),
        lit("v_a"),
        col("a"),
        lit("v_b"),
        col("b"),
        lit("c_x"),
        col("x"),
        lit("c_y"),
        col("y"),
    ]);
    let s1 = named_struct(vec![lit("code"), col("code1"), lit("v_b"), col("b")]);
    let s2 = named_struct(vec![lit("code"), col("code2")]);
    runs_udaf().call(vec![col("k"), s0, s1, s2]).alias("result")
}

const SQL_CALL: &str = "runs(k,
    named_struct('code', code0, 'v_a', a, 'v_b', b, 'c_x', x, 'c_y', y),
    named_struct('code', code1, 'v_b', b),
    named_struct('code', code2))";

/// Samples dealt out row by row to partitions, or in stretches, in batches of some rows.
fn dealt(samples: &[Sample], partitions: usize, batch_rows: usize, by_row: bool) -> MemTable {
    let stretch = samples.len().div_ceil(partitions);
    let tables: Vec<Vec<RecordBatch>> = (0..partitions)
        .map(|partition| {
            let own: Vec<_> = samples
                .iter()
                .enumerate()
                .filter(|(row, _)| {
                    partition
                        == if by_row {
                            row % partitions
                        } else {
                            row / stretch
                        }
                })
                .map(|(_, sample)| *sample)
                .collect();
            own.chunks(batch_rows).map(table).collect()
        })
        .collect();
    MemTable::try_new(table(&[]).schema(), tables).unwrap()
}

fn context(config: SessionConfig, table: MemTable) -> SessionContext {
    let mut context = SessionContext::new_with_config(config);
    register_all(&mut context).unwrap();
    context.register_table("samples", Arc::new(table)).unwrap();
    context
}

/// Group keys and runs, from batches with a key column (0 without one) and a last, result column.
fn rows(batches: &[RecordBatch]) -> BTreeMap<i64, Vec<Vec<Run>>> {
    let batch = concat_batches(&batches[0].schema(), batches).unwrap();
    let decoder = Decoder::new(batch.columns().last().unwrap()).unwrap();
    let rows: BTreeMap<_, _> = (0..batch.num_rows())
        .map(|row| {
            let key = match batch.num_columns() {
                1 => 0,
                _ => batch.column(0).as_primitive::<Int64Type>().value(row),
            };
            (key, decoder.row(row))
        })
        .collect();
    assert_eq!(rows.len(), batch.num_rows(), "one row a group");
    rows
}

fn block_on<T>(future: impl Future<Output = Result<T>>) -> T {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .build()
        .unwrap();
    runtime.block_on(future).unwrap()
}

#[test]
fn partitions_batches_and_repartitioning_change_nothing() {
    let samples = fleet(7, 60);
    let expected = format!("{:?}", oracle(&samples));
    for partitions in [1, 2, 7] {
        for batch_rows in [1, 3, 8192] {
            for by_row in [false, true] {
                for (targets, round_robin) in [(1, false), (2, true), (7, false), (7, true)] {
                    let config = SessionConfig::new()
                        .with_batch_size(batch_rows)
                        .with_target_partitions(targets)
                        .with_round_robin_repartition(round_robin);
                    let context = context(config, dealt(&samples, partitions, batch_rows, by_row));
                    let batches = block_on(async {
                        let table = context.table("samples").await?;
                        table
                            .aggregate(vec![col("approach_key")], vec![call()])?
                            .collect()
                            .await
                    });
                    assert_eq!(
                        format!("{:?}", rows(&batches)),
                        expected,
                        "{partitions} partitions, {batch_rows} rows a batch, by row {by_row}, \
                         {targets} targets, round robin {round_robin}"
                    );
                }
            }
        }
    }
}

/// Runs one statement over samples dealt to three partitions.
fn sql(samples: &[Sample], statement: &str) -> Vec<RecordBatch> {
    let config = SessionConfig::new()
        .with_batch_size(8)
        .with_target_partitions(3);
    let context = context(config, dealt(samples, 3, 8, true));
    block_on(async { context.sql(statement).await?.collect().await })
}

#[test]
fn without_groups_there_is_one_row_even_for_nothing() {
    let samples = fleet(1, 50);
    let batches = sql(&samples, &format!("SELECT {SQL_CALL} FROM samples"));
    assert_eq!(exact(&rows(&batches)[&0]), exact(&oracle(&samples)[&0]));
    let batches = sql(
        &samples,
        &format!("SELECT {SQL_CALL} FROM samples WHERE k < 0"),
    );
    assert_eq!(rows(&batches)[&0], vec![vec![], vec![], vec![]]);
}

#[test]
fn a_filter_leaves_samples_out() {
    let samples = fleet(4, 50);
    let kept: Vec<_> = samples.iter().filter(|s| s.k % 4 != 1).copied().collect();
    let filtered = format!("{SQL_CALL} FILTER (WHERE k % 4 <> 1)");
    let batches = sql(
        &samples,
        &format!("SELECT approach_key, {filtered} FROM samples GROUP BY approach_key"),
    );
    assert_eq!(
        format!("{:?}", rows(&batches)),
        format!("{:?}", oracle(&kept))
    );
    let one: Vec<_> = kept.iter().filter(|s| s.group == 0).copied().collect();
    let batches = sql(&samples[..50], &format!("SELECT {filtered} FROM samples"));
    assert_eq!(exact(&rows(&batches)[&0]), exact(&oracle(&one)[&0]));
}

#[test]
fn a_wide_sample_number_is_narrowed_and_distinct_refused() {
    let samples = fleet(2, 30);
    let wide = SQL_CALL.replace("runs(k", "runs(CAST(k AS BIGINT)");
    let statement =
        format!("SELECT approach_key, {wide} FROM samples GROUP BY approach_key ORDER BY 1");
    let batches = sql(&samples, &statement);
    assert_eq!(
        format!("{:?}", rows(&batches)),
        format!("{:?}", oracle(&samples))
    );

    let context = context(SessionConfig::new(), dealt(&samples, 1, 100, false));
    let error = block_on(async {
        let distinct = SQL_CALL.replace("runs(k", "runs(DISTINCT k");
        let frame = context
            .sql(&format!("SELECT {distinct} FROM samples"))
            .await?;
        Ok(frame.collect().await.unwrap_err())
    });
    assert!(
        error.to_string().contains("DISTINCT is not allowed"),
        "{error}"
    );
}

#[test]
fn groups_of_one_sample_skip_the_first_stage_and_sorted_input_streams() {
    let samples = fleet(3000, 1);
    let mut config = SessionConfig::new()
        .with_batch_size(100)
        .with_target_partitions(2);
    config
        .options_mut()
        .execution
        .skip_partial_aggregation_probe_rows_threshold = 200;
    let skipping = context(config, dealt(&samples, 2, 100, true));
    let batches = block_on(async {
        let table = skipping.table("samples").await?;
        table
            .aggregate(vec![col("approach_key")], vec![call()])?
            .collect()
            .await
    });
    assert_eq!(
        format!("{:?}", rows(&batches)),
        format!("{:?}", oracle(&samples))
    );

    let samples = fleet(40, 30);
    let config = SessionConfig::new()
        .with_batch_size(16)
        .with_target_partitions(1);
    let sorted = dealt(&samples, 1, 16, false)
        .with_sort_order(vec![vec![col("approach_key").sort(true, false)]]);
    let streaming = context(config, sorted);
    let batches = block_on(async {
        let table = streaming.table("samples").await?;
        table
            .aggregate(vec![col("approach_key")], vec![call()])?
            .collect()
            .await
    });
    assert!(batches.len() > 1, "groups are given away as they end");
    assert_eq!(
        format!("{:?}", rows(&batches)),
        format!("{:?}", oracle(&samples))
    );
}

fn spills(plan: &Arc<dyn ExecutionPlan>) -> usize {
    let own = plan
        .metrics()
        .and_then(|metrics| metrics.spill_count())
        .unwrap_or(0);
    own + plan.children().into_iter().map(spills).sum::<usize>()
}

#[test]
fn a_small_memory_pool_spills_and_changes_nothing() {
    let samples = fleet(1500, 60);
    let expected = format!("{:?}", oracle(&samples));
    // Small enough to spill several times, large enough for one batch of each stream.
    for (partitions, targets, pool_bytes) in [(1, 1, 2 << 20), (3, 2, 5 << 20)] {
        let pool = FairSpillPool::new(pool_bytes);
        let runtime = RuntimeEnvBuilder::new()
            .with_memory_pool(Arc::new(pool))
            .build_arc()
            .unwrap();
        let config = SessionConfig::new()
            .with_batch_size(256)
            .with_target_partitions(targets);
        let context = SessionContext::new_with_config_rt(config, runtime);
        let table = dealt(&samples, partitions, 256, true);
        context.register_table("samples", Arc::new(table)).unwrap();
        let (batches, spills) = block_on(async {
            let table = context.table("samples").await?;
            let frame = table.aggregate(vec![col("approach_key")], vec![call()])?;
            let tasks = Arc::new(frame.task_ctx());
            let plan = frame.create_physical_plan().await?;
            let batches = collect(Arc::clone(&plan), tasks).await?;
            Ok((batches, spills(&plan)))
        });
        assert!(spills > 0, "the pool is too large to test anything");
        assert_eq!(format!("{:?}", rows(&batches)), expected);
    }
}
