//! Which tables a plan reads: what the access log notes.

use std::collections::BTreeSet;
use std::fmt;
use std::sync::Arc;

use datafusion::catalog::TableProvider;
use datafusion::common::tree_node::TreeNodeRecursion;
use datafusion::datasource::source_as_provider;
use datafusion::error::DataFusionError;
use datafusion::logical_expr::LogicalPlan;

use super::Origin;

/// A table that a query reads; `Display` is its name with prefix.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct ReadTable {
    /// Where it is from.
    pub origin: Origin,
    /// Its name without prefix.
    pub name: String,
}

impl fmt::Display for ReadTable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}", self.origin.prefix(), self.name)
    }
}

/// The tables that were handed to the engine.
pub(super) type Known = Vec<(Arc<dyn TableProvider>, ReadTable)>;

/// Every known table that a plan scans, in joins, subqueries, common table expressions and views too.
///
/// Tables are told by what is scanned and not by name: an alias or a view hides nothing. The plan is the one
/// before optimising, so that a table counts as read even where no row of it can matter.
pub(super) fn reads(
    plan: &LogicalPlan,
    known: &Known,
) -> Result<BTreeSet<ReadTable>, DataFusionError> {
    let mut found = BTreeSet::new();
    collect(plan, known, &mut found)?;
    Ok(found)
}

fn collect(
    plan: &LogicalPlan,
    known: &Known,
    found: &mut BTreeSet<ReadTable>,
) -> Result<(), DataFusionError> {
    plan.apply_with_subqueries(|node| {
        if let LogicalPlan::TableScan(scan) = node {
            let provider = source_as_provider(&scan.source)?;
            let own = known
                .iter()
                .filter(|(one, _)| std::ptr::addr_eq(Arc::as_ptr(one), Arc::as_ptr(&provider)));
            found.extend(own.map(|(_, table)| table.clone()));
            if let Some(view) = provider.get_logical_plan() {
                collect(&view, known, found)?;
            }
        }
        Ok(TreeNodeRecursion::Continue)
    })?;
    Ok(())
}
