//! Outcome rules: what does the approach as a whole say? No samples: approach rows and verdicts.

use std::collections::BTreeMap;
use std::sync::Arc;

use datafusion::arrow::array::{Array, ArrayRef, BooleanArray, Float64Array, RecordBatch};
use datafusion::arrow::compute::cast;
use datafusion::arrow::datatypes::{DataType, Field, Schema};
use datafusion::common::DFSchema;
use datafusion::error::DataFusionError;
use datafusion::execution::session_state::SessionState;
use records::rows::ApproachRow;

use super::levels::LevelsError;
use crate::expression::{Expression, lower};
use crate::rule_file::{CheckedRule, limit_case};
use crate::store::rows_to_batch;

/// Verdicts of one rule, approach by approach; `None` = not evaluable.
pub(crate) type Verdicts = Vec<Option<bool>>;

/// What an outcome rule finds on one approach, levels apart.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct OutcomeFound {
    /// Whether its condition holds; `None` where that, its number, or a rule it reads is unknown.
    pub(crate) fired: Option<bool>,
    /// Its number.
    pub(crate) value: Option<f64>,
    /// Columns and rules that it reads and that are unknown here.
    pub(crate) unknown: Vec<String>,
}

/// Approaches as rows and as a table, laid out once for all rules that read them.
pub(crate) struct Approaches<'a> {
    pub(crate) rows: &'a [ApproachRow],
    table: RecordBatch,
}

impl<'a> Approaches<'a> {
    /// Lays the rows out.
    pub(crate) fn new(rows: &'a [ApproachRow]) -> Result<Self, DataFusionError> {
        let table = rows_to_batch("approaches", rows)
            .map_err(|error| DataFusionError::Internal(error.to_string()))?;
        Ok(Self { rows, table })
    }
}

/// Evaluates one outcome rule over all approaches.
pub(crate) fn outcomes(
    rule: &CheckedRule,
    (when, value): (&Expression, Option<&Expression>),
    approaches: &Approaches<'_>,
    verdicts: &BTreeMap<String, Verdicts>,
    state: &SessionState,
) -> Result<Vec<OutcomeFound>, LevelsError> {
    let refuse = |source| LevelsError {
        rule: rule.id.clone(),
        source,
    };
    let internal = |text: &str| refuse(DataFusionError::Internal(text.to_owned()));
    let rows = approaches.rows;
    let batch = table(rule, &approaches.table, verdicts)?;
    let df_schema = DFSchema::try_from(batch.schema()).map_err(refuse)?;
    let evaluate = |expression: &Expression, wanted: &DataType| {
        let expr = lower(expression, &df_schema, &|name| limit_case(rule, name)).map_err(refuse)?;
        let physical = state
            .create_physical_expr(expr, &df_schema)
            .map_err(refuse)?;
        let array = physical
            .evaluate(&batch)
            .and_then(|value| value.into_array(rows.len()))
            .map_err(refuse)?;
        cast(&array, wanted).map_err(|error| refuse(error.into()))
    };
    let fired = evaluate(when, &DataType::Boolean)?;
    let fired = fired
        .as_any()
        .downcast_ref::<BooleanArray>()
        .ok_or_else(|| internal("the condition is not a condition"))?;
    // As wide as samples are, so that the same limit means the same everywhere.
    let number = match value {
        None => None,
        Some(value) => {
            let narrow = evaluate(value, &DataType::Float32)?;
            Some(cast(&narrow, &DataType::Float64).map_err(|error| refuse(error.into()))?)
        }
    };
    let number = number
        .as_ref()
        .and_then(|number| number.as_any().downcast_ref::<Float64Array>());
    let read: Vec<(String, &ArrayRef)> = rule
        .inputs()
        .into_iter()
        .filter_map(|name| Some((name.clone(), batch.column_by_name(&name)?)))
        .collect();
    let found = (0..rows.len()).map(|row| {
        let value = number.and_then(|number| number.is_valid(row).then(|| number.value(row)));
        let of_rules = |name: &String| verdicts.contains_key(name);
        // Whatever the condition yields: a rule it reads must have been evaluable, or a missing channel
        // would leave only the approaches that cannot fire.
        let rules_known = read
            .iter()
            .all(|(name, column)| !of_rules(name) || column.is_valid(row));
        let known = fired.is_valid(row) && rules_known && (number.is_none() || value.is_some());
        OutcomeFound {
            fired: known.then(|| fired.value(row)),
            value,
            unknown: read
                .iter()
                .filter(|(_, column)| column.is_null(row))
                .map(|(name, _)| name.clone())
                .collect(),
        }
    });
    Ok(found.collect())
}

/// The approach rows with a column for each rule that has judged.
fn table(
    rule: &CheckedRule,
    approaches: &RecordBatch,
    verdicts: &BTreeMap<String, Verdicts>,
) -> Result<RecordBatch, LevelsError> {
    let refuse = |source| LevelsError {
        rule: rule.id.clone(),
        source,
    };
    let schema = approaches.schema();
    let mut fields: Vec<Field> = schema.fields().iter().map(|f| f.as_ref().clone()).collect();
    let mut columns: Vec<ArrayRef> = approaches.columns().to_vec();
    for (name, verdicts) in verdicts {
        // Only what it reads: ids of other rules may be names of columns elsewhere.
        if !rule.inputs().contains(name) || schema.column_with_name(name).is_some() {
            continue;
        }
        fields.push(Field::new(name, DataType::Boolean, true));
        columns.push(Arc::new(verdicts.iter().copied().collect::<BooleanArray>()));
    }
    RecordBatch::try_new(Arc::new(Schema::new(fields)), columns)
        .map_err(|error| refuse(error.into()))
}
