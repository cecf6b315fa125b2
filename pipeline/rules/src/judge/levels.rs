//! Which level a candidate reaches: expressions over its measures and the limits that apply.

use std::collections::BTreeMap;
use std::sync::Arc;

use datafusion::arrow::array::{Array, ArrayRef, BooleanArray, Float32Array, RecordBatch};
use datafusion::arrow::compute::cast;
use datafusion::arrow::datatypes::{DataType, Field, Schema};
use datafusion::common::{Column, DFSchema};
use datafusion::error::DataFusionError;
use datafusion::execution::session_state::SessionState;
use datafusion::logical_expr::Expr;
use datafusion::physical_expr::PhysicalExpr;

use super::Found;
use crate::expression::{Expression, lower};
use crate::rule_file::{CheckedRule, Shape};

/// A checked rule met values its expressions cannot work with: a fault of the program.
#[derive(Debug, thiserror::Error)]
#[error("cannot judge rule {rule}: {source}")]
pub struct LevelsError {
    pub(crate) rule: String,
    pub(crate) source: DataFusionError,
}

/// Limits by name, as they apply to one approach.
type Limits = BTreeMap<String, f64>;

/// The levels of one rule, ready to be evaluated over many candidates at once.
pub(crate) struct Levels {
    rule: String,
    schema: Arc<Schema>,
    values: usize,
    limits: Vec<String>,
    levels: Vec<(String, Arc<dyn PhysicalExpr>)>,
}

impl Levels {
    pub(crate) fn new(rule: &CheckedRule, state: &SessionState) -> Result<Self, LevelsError> {
        let refuse = |source| LevelsError {
            rule: rule.id.clone(),
            source,
        };
        let names = names(rule);
        let limits: Vec<String> = rule.limits.keys().cloned().collect();
        let mut fields: Vec<Field> = names
            .iter()
            .map(|name| {
                let kind = if name == "held" {
                    DataType::Boolean
                } else {
                    DataType::Float32
                };
                Field::new(name, kind, true)
            })
            .collect();
        fields.extend(
            limits
                .iter()
                .map(|name| Field::new(limit(name), DataType::Float32, true)),
        );
        let schema = Arc::new(Schema::new(fields));
        let df_schema = DFSchema::try_from(schema.clone()).map_err(refuse)?;
        let mut levels = Vec::new();
        for level in &rule.levels {
            let expr = lower(&level.when, &df_schema, &|name| {
                Expr::Column(Column::from_name(limit(name)))
            })
            .map_err(refuse)?;
            let physical = state
                .create_physical_expr(expr, &df_schema)
                .map_err(refuse)?;
            levels.push((level.name.name().to_owned(), physical));
        }
        Ok(Self {
            rule: rule.id.clone(),
            schema,
            values: names.len(),
            limits,
            levels,
        })
    }

    /// The level of each candidate, `None` where no level matches: no event.
    pub(crate) fn judge(
        &self,
        found: &[(&Found, &Limits)],
        step_s: f64,
    ) -> Result<Vec<Option<String>>, LevelsError> {
        if found.is_empty() {
            return Ok(Vec::new());
        }
        let refuse = |source| LevelsError {
            rule: self.rule.clone(),
            source,
        };
        let batch = self
            .batch(found, step_s)
            .map_err(|error| refuse(error.into()))?;
        let mut result: Vec<Option<String>> = vec![None; found.len()];
        for (name, expr) in &self.levels {
            let verdicts = expr
                .evaluate(&batch)
                .and_then(|value| value.into_array(found.len()))
                .map_err(refuse)?;
            let Some(verdicts) = verdicts.as_any().downcast_ref::<BooleanArray>() else {
                return Err(refuse(DataFusionError::Internal(
                    "a level is not a condition".to_owned(),
                )));
            };
            for (row, level) in result.iter_mut().enumerate() {
                if level.is_none() && verdicts.is_valid(row) && verdicts.value(row) {
                    *level = Some(name.clone());
                }
            }
        }
        Ok(result)
    }

    #[allow(clippy::cast_possible_truncation)] // measures are f32 from the start
    fn batch(
        &self,
        found: &[(&Found, &Limits)],
        step_s: f64,
    ) -> Result<RecordBatch, datafusion::arrow::error::ArrowError> {
        let mut columns: Vec<ArrayRef> = Vec::with_capacity(self.schema.fields().len());
        for index in 0..self.values {
            let values = found.iter().map(|(found, _)| {
                let value = match found.values.get(index) {
                    Some(value) => *value,
                    None => Some((found.end_k - found.start_k) * step_s), // duration_s
                };
                value.map(|value| value as f32)
            });
            let array: ArrayRef = Arc::new(values.collect::<Float32Array>());
            columns.push(cast(&array, self.schema.field(index).data_type())?);
        }
        for name in &self.limits {
            let values = found
                .iter()
                .map(|(_, limits)| limits.get(name).map(|value| *value as f32));
            columns.push(Arc::new(values.collect::<Float32Array>()));
        }
        RecordBatch::try_new(self.schema.clone(), columns)
    }
}

/// Names that levels may use, in the order of `Found::values`; `duration_s` comes after them.
fn names(rule: &CheckedRule) -> Vec<String> {
    match &rule.shape {
        Shape::Gate { criteria, .. } => criteria
            .iter()
            .map(|criterion| criterion.name.clone())
            .chain(["failed", "held", "not_held"].map(str::to_owned))
            .collect(),
        Shape::Outcome { .. } => vec!["worst".to_owned()],
        _ => rule
            .measures
            .iter()
            .map(|measure| measure.name.clone())
            .chain(["duration_s".to_owned()])
            .collect(),
    }
}

fn limit(name: &str) -> String {
    format!("limits.{name}")
}

/// The value of an expression over limits and numbers only.
///
/// # Errors
/// It is not a number, which a checked rule should never meet.
pub(crate) fn constant(
    rule: &CheckedRule,
    expression: &Expression,
    limits: &Limits,
    state: &SessionState,
) -> Result<Option<f64>, LevelsError> {
    let refuse = |source| LevelsError {
        rule: rule.id.clone(),
        source,
    };
    let schema = DFSchema::empty();
    #[allow(clippy::cast_possible_truncation)] // limits are far inside the range of f32
    let expr = lower(expression, &schema, &|name| {
        let value = limits.get(name).map(|value| *value as f32);
        Expr::Literal(datafusion::common::ScalarValue::Float32(value), None)
    })
    .map_err(refuse)?;
    let physical = state.create_physical_expr(expr, &schema).map_err(refuse)?;
    let row = RecordBatch::try_new_with_options(
        Arc::new(Schema::empty()),
        Vec::new(),
        &datafusion::arrow::array::RecordBatchOptions::new().with_row_count(Some(1)),
    )
    .map_err(|error| refuse(error.into()))?;
    let value = physical
        .evaluate(&row)
        .and_then(|value| value.into_array(1))
        .map_err(refuse)?;
    let value = cast(&value, &DataType::Float32).map_err(|error| refuse(error.into()))?;
    let value = value.as_any().downcast_ref::<Float32Array>();
    Ok(value
        .filter(|value| value.is_valid(0))
        .map(|value| f64::from(value.value(0))))
}
