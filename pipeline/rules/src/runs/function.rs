//! `runs` as DataFusion knows it: its name, the types it takes and gives, its accumulators.

use std::sync::{Arc, LazyLock};

use arrow::datatypes::{DataType, Field, FieldRef};
use datafusion::common::{Result, plan_err};
use datafusion::logical_expr::function::{AccumulatorArgs, StateFieldsArgs};
use datafusion::logical_expr::utils::{AggregateOrderSensitivity, format_state_name};
use datafusion::logical_expr::{
    Accumulator, AggregateUDF, AggregateUDFImpl, GroupsAccumulator, Signature, Volatility,
};

use super::accumulator::{RunsAccumulator, SingleAccumulator};
use super::error::RunsError;
use super::layout::{Layout, result_layouts, result_type};

/// The one instance: registering it again replaces it by itself.
static RUNS: LazyLock<Arc<AggregateUDF>> = LazyLock::new(|| {
    Arc::new(AggregateUDF::from(Runs {
        signature: Signature::user_defined(Volatility::Immutable),
    }))
});

/// The compressing aggregate `runs(k, s0, s1, …)`, see the [module](super).
pub fn runs_udaf() -> Arc<AggregateUDF> {
    Arc::clone(&RUNS)
}

#[derive(Debug, PartialEq, Eq, Hash)]
struct Runs {
    signature: Signature,
}

/// The layouts of the `s` arguments of a call.
fn layouts(arguments: &[DataType]) -> Result<Vec<Layout>, RunsError> {
    match arguments {
        [] | [_] => Err(RunsError::Argument(
            "expected a sample number and at least one struct: runs(k, s0, s1, …)".to_owned(),
        )),
        [_, structs @ ..] => structs
            .iter()
            .enumerate()
            .map(|(i, argument)| Layout::from_argument(&format!("argument s{i}"), argument))
            .collect(),
    }
}

impl AggregateUDFImpl for Runs {
    fn name(&self) -> &str {
        "runs"
    }

    fn signature(&self) -> &Signature {
        &self.signature
    }

    /// Narrower and wider signed integers become the Int32 of `k` (a number that doesn't fit is
    /// an error when it comes); structs are taken as they are or refused.
    fn coerce_types(&self, arguments: &[DataType]) -> Result<Vec<DataType>> {
        layouts(arguments)?;
        match &arguments[0] {
            DataType::Int8 | DataType::Int16 | DataType::Int32 | DataType::Int64 => {}
            other => {
                return plan_err!(
                    "runs: the sample number k must be Int32 (or another signed integer), found \
                     {other}"
                );
            }
        }
        let mut types = arguments.to_vec();
        types[0] = DataType::Int32;
        Ok(types)
    }

    fn return_type(&self, arguments: &[DataType]) -> Result<DataType> {
        Ok(result_type(&layouts(arguments)?))
    }

    fn state_fields(&self, args: StateFieldsArgs) -> Result<Vec<FieldRef>> {
        Ok(result_layouts(args.return_type())?
            .iter()
            .enumerate()
            .map(|(i, layout)| {
                let name = format_state_name(args.name, &format!("r{i}"));
                Arc::new(Field::new(name, layout.column_type(), true))
            })
            .collect())
    }

    fn accumulator(&self, args: AccumulatorArgs) -> Result<Box<dyn Accumulator>> {
        refuse_distinct(&args)?;
        Ok(Box::new(SingleAccumulator::new(args.return_type())?))
    }

    fn groups_accumulator_supported(&self, _args: AccumulatorArgs) -> bool {
        true
    }

    fn create_groups_accumulator(
        &self,
        args: AccumulatorArgs,
    ) -> Result<Box<dyn GroupsAccumulator>> {
        refuse_distinct(&args)?;
        Ok(Box::new(RunsAccumulator::new(args.return_type())?))
    }

    /// Samples carry their number: in which order they come means nothing.
    fn order_sensitivity(&self) -> AggregateOrderSensitivity {
        AggregateOrderSensitivity::Insensitive
    }
}

/// A repeated sample is a fault to report, not one to hide.
fn refuse_distinct(args: &AccumulatorArgs) -> Result<()> {
    match args.is_distinct {
        true => plan_err!("runs: DISTINCT is not allowed: a repeated sample number is a fault"),
        false => Ok(()),
    }
}
