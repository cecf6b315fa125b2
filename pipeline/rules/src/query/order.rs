//! One order of the rows, so that the same query gives the same bytes.

use datafusion::arrow::datatypes::DataType;
use datafusion::common::{Column, DFSchema};
use datafusion::error::DataFusionError;
use datafusion::logical_expr::{Expr, LogicalPlan, LogicalPlanBuilder, Projection, Sort, SortExpr};

use super::sources::is_information;

/// The plan with ties broken: rows that `ORDER BY` leaves open, and rows without `ORDER BY`, come by all columns
/// from left to right. Rows of one table without `ORDER BY` stay in the order of its files, which is fixed: a
/// look at the first rows of a long table must not sort it all.
pub(super) fn settled(plan: LogicalPlan) -> Result<LogicalPlan, DataFusionError> {
    if matches!(
        plan,
        LogicalPlan::Explain(_) | LogicalPlan::Analyze(_) | LogicalPlan::DescribeTable(_)
    ) {
        return Ok(plan);
    }
    match plan {
        LogicalPlan::Limit(mut limit) => {
            limit.input = settled(LogicalPlan::clone(&limit.input))?.into();
            Ok(LogicalPlan::Limit(limit))
        }
        LogicalPlan::Sort(sort) => Ok(LogicalPlan::Sort(without_ties(sort))),
        // Ordered by a column that is not shown.
        LogicalPlan::Projection(Projection { expr, input, .. })
            if matches!(*input, LogicalPlan::Sort(_)) =>
        {
            let input = settled(LogicalPlan::clone(&input))?;
            Ok(LogicalPlan::Projection(Projection::try_new(
                expr,
                input.into(),
            )?))
        }
        plan if is_plain(&plan) => Ok(plan),
        plan => {
            let keys = by_all(plan.schema());
            if keys.is_empty() {
                return Ok(plan);
            }
            LogicalPlanBuilder::from(plan).sort(keys)?.build()
        }
    }
}

fn without_ties(mut sort: Sort) -> Sort {
    let more = by_all(sort.input.schema());
    let named = |key: &SortExpr| sort.expr.iter().any(|own| own.expr == key.expr);
    let more: Vec<SortExpr> = more.into_iter().filter(|key| !named(key)).collect();
    sort.expr.extend(more);
    sort
}

/// Every column that has an order.
fn by_all(schema: &DFSchema) -> Vec<SortExpr> {
    let columns = schema
        .iter()
        .filter(|(_, field)| !is_nested(field.data_type()));
    columns
        .map(|(qualifier, field)| {
            let column = Column::new(qualifier.cloned(), field.name());
            Expr::Column(column).sort(true, false)
        })
        .collect()
}

fn is_nested(kind: &DataType) -> bool {
    kind.is_nested() || matches!(kind, DataType::Dictionary(_, value) if value.is_nested())
}

/// Rows of one scan, picked and computed one by one.
fn is_plain(plan: &LogicalPlan) -> bool {
    match plan {
        // The tables about tables come as they are remembered, which is not fixed.
        LogicalPlan::TableScan(scan) => !is_information(&scan.table_name),
        LogicalPlan::EmptyRelation(_) => true,
        LogicalPlan::Projection(_) | LogicalPlan::Filter(_) | LogicalPlan::SubqueryAlias(_) => {
            plan.inputs().into_iter().all(is_plain)
        }
        _ => false,
    }
}
