//! The one query: list the files, one aggregate per approach, no repartition.

use std::path::Path;
use std::sync::Arc;

use datafusion::arrow::array::{ArrayRef, Int64Array};
use datafusion::arrow::datatypes::SchemaRef;
use datafusion::catalog::TableProvider;
use datafusion::common::{Column, DFSchema};
use datafusion::datasource::MemTable;
use datafusion::datasource::file_format::parquet::ParquetFormat;
use datafusion::datasource::listing::{
    ListingOptions, ListingTable, ListingTableConfig, ListingTableUrl,
};
use datafusion::error::DataFusionError;
use datafusion::execution::memory_pool::{FairSpillPool, TrackConsumersPool};
use datafusion::execution::runtime_env::RuntimeEnvBuilder;
use datafusion::execution::session_state::SessionState;
use datafusion::logical_expr::{Expr, LogicalPlan, Partitioning, col};
use datafusion::physical_plan::{ExecutionPlan, displayable};
use datafusion::prelude::{SessionConfig, SessionContext};

use super::DetectError;
use crate::compile::{Compiled, compile};
use crate::register::register_all;
use crate::rule_file::CheckedRule;
use crate::runs::runs_udaf;

/// How the engine may use the machine; none of it changes a result.
#[derive(Debug, Clone, Copy)]
pub struct EngineOptions {
    /// Partitions that are scanned at the same time.
    pub threads: usize,
    /// Rows a batch.
    pub batch_rows: usize,
    /// What aggregates may hold before they spill; decode buffers are not seen by it.
    pub memory_bytes: usize,
}

impl Default for EngineOptions {
    fn default() -> Self {
        Self {
            threads: std::thread::available_parallelism().map_or(1, usize::from),
            batch_rows: 8192,
            memory_bytes: 2 << 30,
        }
    }
}

/// A query engine with the project's functions, and the threads to run it.
pub struct Engine {
    runtime: tokio::runtime::Runtime,
    context: SessionContext,
    options: EngineOptions,
}

/// The plan of a pack, in words and counted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PackPlan {
    /// As the engine writes it, a node a line.
    pub text: String,
    /// Aggregates in it.
    pub aggregates: usize,
    /// Scans in it.
    pub scans: usize,
    /// Arguments of the aggregate: the number of the sample, and what rules share or have of their own.
    pub arguments: usize,
}

/// What a scan returns: approach keys and, row by row, the runs of each slot.
pub(crate) struct Scanned {
    pub(crate) compiled: Compiled,
    pub(crate) batches: Vec<(Int64Array, ArrayRef)>,
}

const CONSUMERS_NAMED: usize = 5;

impl Engine {
    /// Starts an engine.
    ///
    /// # Errors
    /// The system gives no threads.
    pub fn new(options: EngineOptions) -> Result<Self, DetectError> {
        let threads = options.threads.max(1);
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(threads)
            .enable_all()
            .build()
            .map_err(|error| DataFusionError::External(Box::new(error)))?;
        let mut config = SessionConfig::new()
            .with_target_partitions(threads)
            .with_batch_size(options.batch_rows)
            .with_round_robin_repartition(false)
            .with_collect_statistics(false);
        // Common subexpressions are never null by their logic (`IS TRUE`), but the physical plan
        // calls any comparison nullable; the two only differ in that flag.
        config
            .options_mut()
            .execution
            .skip_physical_aggregate_schema_check = true;
        // The plan is one aggregate of hundreds of expressions over one scan: there is nothing for a second pass
        // to find, and every pass takes as long as reading some hundred approaches.
        config.options_mut().optimizer.max_passes = 1;
        let pool = TrackConsumersPool::new(
            FairSpillPool::new(options.memory_bytes),
            std::num::NonZeroUsize::new(CONSUMERS_NAMED).unwrap_or(std::num::NonZeroUsize::MIN),
        );
        let environment = RuntimeEnvBuilder::new()
            .with_memory_pool(Arc::new(pool))
            .build_arc()?;
        let mut context = SessionContext::new_with_config_rt(config, environment);
        register_all(&mut context)?;
        Ok(Self {
            runtime,
            context,
            options,
        })
    }

    pub(super) fn context(&self) -> &SessionContext {
        &self.context
    }

    pub(super) fn runtime(&self) -> &tokio::runtime::Runtime {
        &self.runtime
    }

    pub(crate) fn state(&self) -> SessionState {
        self.context.state()
    }

    /// Threads it may use.
    pub(crate) fn threads(&self) -> usize {
        self.options.threads.max(1)
    }

    /// Runs of every approach in some store files.
    pub(crate) fn scan(
        &self,
        pack: &[CheckedRule],
        schema: &SchemaRef,
        store: &Path,
        files: &[String],
    ) -> Result<Scanned, DetectError> {
        self.scan_table(pack, schema, self.table(schema, store, files)?)
    }

    /// Runs of every approach in a table of samples.
    pub(crate) fn scan_table(
        &self,
        pack: &[CheckedRule],
        schema: &SchemaRef,
        table: Arc<dyn TableProvider>,
    ) -> Result<Scanned, DetectError> {
        let (compiled, plan) = self.plan(pack, schema, table)?;
        let batches = self.runtime.block_on(async {
            let frame = self.context.execute_logical_plan(plan).await?;
            frame.collect().await
        })?;
        let mut columns = Vec::with_capacity(batches.len());
        for batch in batches {
            let keys = batch
                .column(0)
                .as_any()
                .downcast_ref::<Int64Array>()
                .ok_or_else(|| DataFusionError::Internal("approach_key is not int64".to_owned()))?;
            columns.push((keys.clone(), batch.column(1).clone()));
        }
        Ok(Scanned {
            compiled,
            batches: columns,
        })
    }

    /// Some store files as a table: whole files are dealt out and never split, as each holds whole
    /// approaches.
    pub(super) fn table(
        &self,
        schema: &SchemaRef,
        store: &Path,
        files: &[String],
    ) -> Result<Arc<dyn TableProvider>, DetectError> {
        let urls: Vec<ListingTableUrl> = files
            .iter()
            .map(|file| ListingTableUrl::parse(store.join(file).to_string_lossy()))
            .collect::<Result<_, _>>()?;
        let partitions = self.options.threads.max(1).min(files.len().max(1));
        let listing = ListingOptions::new(Arc::new(ParquetFormat::default()))
            .with_file_extension(".parquet")
            .with_output_partitioning(Some(Partitioning::Hash(
                vec![col("approach_key")],
                partitions,
            )));
        let config = ListingTableConfig::new_with_multi_paths(urls)
            .with_listing_options(listing)
            .with_schema(schema.clone());
        Ok(Arc::new(ListingTable::try_new(config)?))
    }

    /// The logical plan of a batch: one aggregate over one scan.
    fn plan(
        &self,
        pack: &[CheckedRule],
        schema: &SchemaRef,
        table: Arc<dyn TableProvider>,
    ) -> Result<(Compiled, LogicalPlan), DetectError> {
        let compiled = compile(pack, &DFSchema::try_from(schema.clone())?)?;
        let mut arguments = vec![Expr::Column(Column::from_name("k"))];
        arguments.extend(compiled.slots.iter().cloned());
        let aggregate = runs_udaf().call(arguments).alias("runs");
        let plan = self
            .context
            .read_table(table)?
            .aggregate(vec![col("approach_key")], vec![aggregate])?
            .into_unoptimized_plan();
        Ok((compiled, plan))
    }

    /// The physical plan of a pack over samples of this schema, for people.
    ///
    /// # Errors
    /// The pack does not compile.
    pub fn explain_empty(
        &self,
        pack: &[CheckedRule],
        schema: &SchemaRef,
    ) -> Result<PackPlan, DetectError> {
        let table = MemTable::try_new(schema.clone(), vec![Vec::new()])?;
        let (compiled, plan) = self.plan(pack, schema, Arc::new(table))?;
        let state = self.context.state();
        let plan = self.runtime.block_on(state.create_physical_plan(&plan))?;
        let text = displayable(plan.as_ref()).indent(false).to_string();
        let count = |name: &str| text.matches(name).count();
        Ok(PackPlan {
            aggregates: count("AggregateExec"),
            scans: count("DataSourceExec"),
            // `k` comes first.
            arguments: compiled.slots.len() + 1,
            text,
        })
    }

    /// The physical plan of a batch, for a look at its shape.
    ///
    /// # Errors
    /// The pack does not compile or a file is missing.
    pub fn explain(
        &self,
        pack: &[CheckedRule],
        schema: &SchemaRef,
        store: &Path,
        files: &[String],
    ) -> Result<Arc<dyn ExecutionPlan>, DetectError> {
        let (_, plan) = self.plan(pack, schema, self.table(schema, store, files)?)?;
        Ok(self
            .runtime
            .block_on(self.context.state().create_physical_plan(&plan))?)
    }
}
