//! The functions this crate adds to DataFusion, in one list.
//!
//! Functions travel by name: whatever plans or runs a query (a local session, a cluster's
//! scheduler, its executors) has to be handed the same list, and `register_all` is the only way
//! in. Nothing is registered anywhere else.

use std::sync::Arc;

use datafusion::common::{Result, plan_err};
use datafusion::execution::FunctionRegistry;
use datafusion::logical_expr::{AggregateUDF, ScalarUDF};

use crate::conditions;
use crate::runs::runs_udaf;

/// Every aggregate of this crate, each once.
pub fn aggregates() -> Vec<Arc<AggregateUDF>> {
    vec![runs_udaf()]
}

/// Every scalar function of this crate, each once.
pub fn scalars() -> Vec<Arc<ScalarUDF>> {
    conditions::functions()
}

/// Makes every function of this crate known to a session, a session state or any other registry.
///
/// Doing it again is harmless: a client whose function lists were replaced (as connecting to a
/// cluster does) simply calls it once more.
///
/// # Errors
/// When a name is already taken by a function that is not ours, or the registry takes no
/// functions.
pub fn register_all(registry: &mut dyn FunctionRegistry) -> Result<()> {
    for function in aggregates() {
        let name = function.name().to_owned();
        if let Some(previous) = registry.register_udaf(Arc::clone(&function))?
            && previous != function
        {
            return plan_err!(
                "the aggregate name `{name}` is already taken by another function: \
                 register that one under a different name"
            );
        }
    }
    for function in scalars() {
        let name = function.name().to_owned();
        if let Some(previous) = registry.register_udf(Arc::clone(&function))?
            && previous != function
        {
            return plan_err!(
                "the function name `{name}` is already taken by another function: register that \
                 one under a different name"
            );
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use datafusion::functions_aggregate::count::count_udaf;
    use datafusion::prelude::SessionContext;

    use super::*;

    #[test]
    fn every_name_is_used_once_and_shadows_nothing_built_in() {
        let built_in = SessionContext::new();
        let mut names = BTreeSet::new();
        let (aggregates, scalars) = (aggregates(), scalars());
        let all = aggregates
            .iter()
            .map(|function| (function.name(), function.aliases()))
            .chain(
                scalars
                    .iter()
                    .map(|function| (function.name(), function.aliases())),
            );
        for (name, aliases) in all {
            for name in std::iter::once(name).chain(aliases.iter().map(String::as_str)) {
                assert!(names.insert(name.to_owned()), "`{name}` is listed twice");
                assert!(built_in.udaf(name).is_err(), "`{name}` shadows a built-in");
                assert!(built_in.udf(name).is_err(), "`{name}` shadows a built-in");
            }
        }
        assert!(
            names.contains("runs") && names.contains("number_less"),
            "{names:?}"
        );
    }

    #[test]
    fn registering_twice_is_harmless() {
        let mut context = SessionContext::new();
        register_all(&mut context).unwrap();
        register_all(&mut context).unwrap();
        assert_eq!(context.udaf("runs").unwrap(), runs_udaf());
        for function in scalars() {
            assert_eq!(context.udf(function.name()).unwrap(), function);
        }
    }

    #[test]
    fn a_name_taken_by_another_function_is_refused() {
        let mut context = SessionContext::new();
        let impostor = count_udaf().as_ref().clone().with_aliases(["runs"]);
        context.register_udaf(impostor);
        let error = register_all(&mut context).unwrap_err().to_string();
        assert!(error.contains("`runs` is already taken"), "{error}");

        let mut context = SessionContext::new();
        let own = context.udf("nullif").unwrap();
        let impostor = own.as_ref().clone().with_aliases(["magnitude"]);
        context.register_udf(impostor);
        let error = register_all(&mut context).unwrap_err().to_string();
        assert!(error.contains("`magnitude` is already taken"), "{error}");
    }
}
