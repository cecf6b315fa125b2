//! Outcome rules: what does the approach as a whole say? No samples: approach rows and verdicts.

use std::collections::BTreeMap;
use std::sync::Arc;

use datafusion::arrow::array::{Array, ArrayRef, BooleanArray, RecordBatch};
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

/// Evaluates one outcome rule over all approaches; `None` where its condition is unknown.
pub(crate) fn outcomes(
    rule: &CheckedRule,
    when: &Expression,
    rows: &[ApproachRow],
    verdicts: &BTreeMap<String, Verdicts>,
    state: &SessionState,
) -> Result<Verdicts, LevelsError> {
    let refuse = |source| LevelsError {
        rule: rule.id.clone(),
        source,
    };
    let internal = |text: String| refuse(DataFusionError::Internal(text));
    let approaches =
        rows_to_batch("approaches", rows).map_err(|error| internal(error.to_string()))?;
    let schema = approaches.schema();
    let mut fields: Vec<Field> = schema.fields().iter().map(|f| f.as_ref().clone()).collect();
    let mut columns: Vec<ArrayRef> = approaches.columns().to_vec();
    for (name, verdicts) in verdicts {
        fields.push(Field::new(name, DataType::Boolean, true));
        columns.push(Arc::new(verdicts.iter().copied().collect::<BooleanArray>()));
    }
    let schema = Arc::new(Schema::new(fields));
    let df_schema = DFSchema::try_from(schema.clone()).map_err(refuse)?;
    let expr = lower(when, &df_schema, &|name| limit_case(rule, name)).map_err(refuse)?;
    let physical = state
        .create_physical_expr(expr, &df_schema)
        .map_err(refuse)?;
    let batch = RecordBatch::try_new(schema, columns).map_err(|error| refuse(error.into()))?;
    let result = physical
        .evaluate(&batch)
        .and_then(|value| value.into_array(rows.len()))
        .map_err(refuse)?;
    let result = result
        .as_any()
        .downcast_ref::<BooleanArray>()
        .ok_or_else(|| internal("the condition is not a condition".to_owned()))?;
    Ok((0..rows.len())
        .map(|row| result.is_valid(row).then(|| result.value(row)))
        .collect())
}
