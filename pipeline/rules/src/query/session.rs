//! A session over the tables of a review: a text is prepared, what it reads is known, then it is run.

use std::collections::BTreeSet;
use std::num::NonZeroUsize;
use std::sync::Arc;

use datafusion::catalog::{
    CatalogProvider, MemoryCatalogProvider, MemorySchemaProvider, TableProvider,
};
use datafusion::common::TableReference;
use datafusion::error::DataFusionError;
use datafusion::execution::memory_pool::{FairSpillPool, TrackConsumersPool};
use datafusion::execution::runtime_env::{RuntimeEnv, RuntimeEnvBuilder};
use datafusion::logical_expr::{LogicalPlan, LogicalPlanBuilder};
use datafusion::prelude::{SessionConfig, SessionContext};
use datafusion::sql::parser::Statement;
use datafusion::sql::resolve::resolve_table_references;
use datafusion::sql::sqlparser::dialect::GenericDialect;
use datafusion::sql::sqlparser::tokenizer::{Token, Tokenizer};
use futures::StreamExt;

use super::cells::{CellRow, rows};
use super::order::settled;
use super::reads::{Known, ReadTable, reads};
use super::sources::{CATALOGUE, Origin, PLAIN, Source, Sources, is_information};
use super::statement::{self, lists_columns, lists_tables, only_reads};
use super::table::{TableCard, provider};
use super::words::fault_of;
use super::{QueryError, QueryFault};
use crate::detect::EngineOptions;
use crate::expression::bytes_of;
use crate::register::register_all;

const CONSUMERS_NAMED: usize = 5;

/// The tables of a review, and an engine to ask them.
pub struct Session {
    sources: Sources,
    options: EngineOptions,
    environment: Arc<RuntimeEnv>,
    runtime: tokio::runtime::Runtime,
}

/// A query that is checked and planned, and of which is known what it reads.
pub struct Prepared {
    name: String,
    text: String,
    context: SessionContext,
    plan: LogicalPlan,
    /// The tables it reads.
    pub reads: BTreeSet<ReadTable>,
    /// Names of the columns of its result.
    pub columns: Vec<String>,
}

impl Prepared {
    /// The tables it reads whose rows are for the owner only.
    pub fn restricted(&self) -> impl Iterator<Item = &ReadTable> {
        self.reads
            .iter()
            .filter(|table| table.origin.is_restricted())
    }
}

impl Session {
    /// Starts an engine over `sources`.
    ///
    /// # Errors
    /// The system gives no threads or no memory.
    pub fn open(sources: Sources, options: EngineOptions) -> Result<Self, QueryError> {
        let refuse = |detail: String| QueryError::Engine { detail };
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(options.threads.max(1))
            .enable_all()
            .build()
            .map_err(|error| refuse(error.to_string()))?;
        let pool = TrackConsumersPool::new(
            FairSpillPool::new(options.memory_bytes),
            NonZeroUsize::new(CONSUMERS_NAMED).unwrap_or(NonZeroUsize::MIN),
        );
        let environment = RuntimeEnvBuilder::new()
            .with_memory_pool(Arc::new(pool))
            .build_arc()
            .map_err(|error| refuse(error.to_string()))?;
        Ok(Self {
            sources,
            options,
            environment,
            runtime,
        })
    }

    /// What there is to ask: share first, then restricted, then the store.
    ///
    /// # Errors
    /// A file does not read.
    pub fn tables(&self) -> Result<Vec<TableCard>, QueryError> {
        let card = |source: &Source| {
            let bare = TableReference::bare(source.name.as_str());
            let plain = self.sources.named(&bare) == Some(source);
            TableCard::of(source, plain)
        };
        self.sources.iter().map(card).collect()
    }

    /// Checks and plans the text of a query; `name` stands beside its excerpts in messages.
    ///
    /// # Errors
    /// The text is at fault, does more than read, or names a table that is not there; or a file does not read.
    pub fn prepare(&self, name: &str, text: &str) -> Result<Prepared, QueryError> {
        let statement = statement::read(name, text)?;
        let mut context = self.context();
        let known = self.hand_over(&context, &statement, (name, text))?;
        let planned = || {
            register_all(&mut context)?;
            let state = context.state();
            self.runtime.block_on(state.statement_to_plan(statement))
        };
        let fault = |error: DataFusionError| fault_of(name, text, &error);
        let plan = planned().map_err(fault)?;
        only_reads(name, text, &plan)?;
        let reads = reads(&plan, &known).map_err(fault)?;
        let plan = settled(plan).map_err(fault)?;
        let fields = plan.schema().fields().iter();
        let columns = fields.map(|field| field.name().clone()).collect();
        Ok(Prepared {
            name: name.to_owned(),
            text: text.to_owned(),
            context,
            plan,
            reads,
            columns,
        })
    }

    /// Runs a query and hands its rows to `each`, some at a time; at most `limit` of them. Says whether there
    /// were more.
    ///
    /// # Errors
    /// The query fails on the way, or `each` does.
    pub fn run(
        &self,
        query: Prepared,
        limit: Option<usize>,
        each: &mut dyn FnMut(Vec<CellRow>) -> std::io::Result<()>,
    ) -> Result<bool, QueryError> {
        let Prepared {
            name,
            text,
            context,
            plan,
            ..
        } = query;
        let fault = |error: DataFusionError| fault_of(&name, &text, &error);
        let plan = limited(plan, limit).map_err(fault)?;
        self.runtime.block_on(async {
            let frame = context.execute_logical_plan(plan).await.map_err(fault)?;
            let mut stream = frame.execute_stream().await.map_err(fault)?;
            let mut left = limit.unwrap_or(usize::MAX);
            while let Some(batch) = stream.next().await {
                let batch = batch.map_err(fault)?;
                let shown = batch.num_rows().min(left);
                let cells = rows(&batch.slice(0, shown)).map_err(|error| fault(error.into()))?;
                each(cells)?;
                if batch.num_rows() > left {
                    return Ok(true);
                }
                left -= shown;
            }
            Ok(false)
        })
    }

    /// An empty context. All of it runs as one stream: sums of fractions depend on the order of adding, and
    /// rows on who is first, so that only one stream gives the same bytes on any machine.
    fn context(&self) -> SessionContext {
        let mut config = SessionConfig::new()
            .with_target_partitions(1)
            .with_batch_size(self.options.batch_rows)
            .with_collect_statistics(false)
            .with_information_schema(true)
            .with_default_catalog_and_schema(CATALOGUE, PLAIN)
            .with_create_default_catalog_and_schema(false);
        config.options_mut().sql_parser.collect_spans = true;
        SessionContext::new_with_config_rt(config, Arc::clone(&self.environment))
    }

    /// Makes the tables that a statement names known to the engine, and no other.
    fn hand_over(
        &self,
        context: &SessionContext,
        statement: &Statement,
        (name, text): (&str, &str),
    ) -> Result<Known, QueryError> {
        let mut book = Book::new();
        let fault = |error: DataFusionError| fault_of(name, text, &error);
        let (references, _) = resolve_table_references(statement, true).map_err(fault)?;
        let mut all = lists_tables(statement);
        let state = context.state();
        for reference in &references {
            if is_information(reference) {
                all = true;
                continue;
            }
            // A function that gives rows is no table, and reads none.
            if reference.schema().is_none()
                && state.table_functions().contains_key(reference.table())
            {
                continue;
            }
            let Some(source) = self.sources.named(reference) else {
                let (message, help) = self.sources.complaint(reference);
                let span = place_of(text, reference.table());
                let fault = QueryFault::new(name, text, message).at(span, "no such table");
                return Err(fault.help(help).into());
            };
            let schema = reference.schema().unwrap_or(PLAIN);
            book.enter(schema, source, (name, text))
                .map_err(|error| match error {
                    QueryError::Fault(fault) => {
                        let span = place_of(text, reference.table());
                        fault.at(span, "has no row").into()
                    }
                    other => other,
                })?;
        }
        let with_files = || {
            self.sources
                .iter()
                .filter(|source| !source.files.is_empty())
        };
        if all {
            for source in with_files() {
                book.enter(source.origin.prefix(), source, (name, text))?;
            }
        }
        if lists_columns(statement) {
            for source in with_files() {
                book.enter(source.origin.prefix(), source, (name, text))?;
                if self
                    .sources
                    .named(&TableReference::bare(source.name.as_str()))
                    == Some(source)
                {
                    book.enter(PLAIN, source, (name, text))?;
                }
            }
        }
        context.register_catalog(CATALOGUE, Arc::new(book.catalogue));
        Ok(book.known)
    }
}

/// The tables that are handed over, each once.
struct Book {
    catalogue: MemoryCatalogProvider,
    known: Known,
}

impl Book {
    fn new() -> Self {
        let catalogue = MemoryCatalogProvider::new();
        let prefixes = Origin::ALL.map(Origin::prefix);
        for schema in prefixes.into_iter().chain([PLAIN]) {
            // A new catalogue takes any name.
            let _ = catalogue.register_schema(schema, Arc::new(MemorySchemaProvider::new()));
        }
        Self {
            catalogue,
            known: Vec::new(),
        }
    }

    fn enter(
        &mut self,
        schema: &str,
        source: &Source,
        query: (&str, &str),
    ) -> Result<(), QueryError> {
        let Some(schema) = self.catalogue.schema(schema) else {
            return Ok(());
        };
        if schema.table_exist(&source.name) {
            return Ok(());
        }
        let table = ReadTable {
            origin: source.origin,
            name: source.name.clone(),
        };
        let provider: Arc<dyn TableProvider> = provider(source, query)?;
        let entered = schema.register_table(source.name.clone(), Arc::clone(&provider));
        entered.map_err(|error| QueryError::Engine {
            detail: error.to_string(),
        })?;
        self.known.push((provider, table));
        Ok(())
    }
}

/// The plan with one row more than wanted, which tells whether there are more.
fn limited(plan: LogicalPlan, limit: Option<usize>) -> Result<LogicalPlan, DataFusionError> {
    match limit {
        Some(limit) if !matches!(plan, LogicalPlan::Explain(_) | LogicalPlan::Analyze(_)) => {
            let one_more = limit.saturating_add(1);
            LogicalPlanBuilder::from(plan)
                .limit(0, Some(one_more))?
                .build()
        }
        _ => Ok(plan),
    }
}

/// Where a name first stands in the text.
fn place_of(text: &str, name: &str) -> Option<std::ops::Range<usize>> {
    let dialect = GenericDialect {};
    let tokens = Tokenizer::new(&dialect, text)
        .tokenize_with_location()
        .ok()?;
    let own = tokens.into_iter().find(|token| {
        matches!(&token.token, Token::Word(word) if word.value.eq_ignore_ascii_case(name))
            || matches!(&token.token, Token::SingleQuotedString(value) if value == name)
    });
    own.map(|token| bytes_of(text, token.span))
}
