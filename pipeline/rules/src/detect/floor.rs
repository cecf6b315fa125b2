//! The floor of detect: the columns that a pack reads, read and reduced, and nothing else done with them.

use std::collections::BTreeSet;
use std::path::Path;

use datafusion::arrow::array::AsArray;
use datafusion::arrow::datatypes::{DataType, Int64Type, SchemaRef};
use datafusion::common::DFSchema;
use datafusion::error::DataFusionError;
use datafusion::functions_aggregate::expr_fn::{count, max};
use datafusion::logical_expr::col;

use super::{DetectError, Engine};
use crate::compile::compile;
use crate::rule_file::CheckedRule;

impl Engine {
    /// The columns of the samples that judging by a pack reads.
    ///
    /// # Errors
    /// The pack does not compile.
    pub fn columns_read(
        &self,
        pack: &[CheckedRule],
        schema: &SchemaRef,
    ) -> Result<BTreeSet<String>, DetectError> {
        let compiled = compile(pack, &DFSchema::try_from(schema.clone())?)?;
        let mut names: BTreeSet<String> = ["approach_key", "k"].map(str::to_owned).into();
        for slot in &compiled.slots {
            names.extend(
                slot.column_refs()
                    .into_iter()
                    .map(|column| column.name.clone()),
            );
        }
        Ok(names)
    }

    /// Reads those columns from some store files, in one scan on as many threads as judging uses, and takes the
    /// greatest of each (of texts their number); returns how many samples there were. Judging cannot be cheaper.
    ///
    /// # Errors
    /// The pack does not compile or a file does not read.
    pub fn read_only(
        &self,
        pack: &[CheckedRule],
        schema: &SchemaRef,
        store: &Path,
        files: &[String],
    ) -> Result<u64, DetectError> {
        let columns = self.columns_read(pack, schema)?;
        let reduced = columns.iter().map(|name| {
            let text = schema
                .field_with_name(name)
                .is_ok_and(|field| matches!(field.data_type(), DataType::Dictionary(..)));
            let reduced = if text {
                count(col(name))
            } else {
                max(col(name))
            };
            reduced.alias(name)
        });
        let samples = count(col("k")).alias("samples");
        let plan = self
            .context()
            .read_table(self.table(schema, store, files)?)?
            .aggregate(Vec::new(), reduced.chain([samples]).collect())?;
        let batches = self.runtime().block_on(plan.collect())?;
        let samples = batches.first().and_then(|batch| {
            let column = batch.column_by_name("samples")?;
            let column = column.as_primitive_opt::<Int64Type>()?;
            u64::try_from(column.value(0)).ok()
        });
        let none = || DataFusionError::Internal("no number of samples came back".to_owned());
        Ok(samples.ok_or_else(none)?)
    }
}
