//! Several conditions at once.

use std::sync::{Arc, LazyLock};

use arrow::array::{Array, AsArray, BooleanArray};
use arrow::compute::{and_kleene, or_kleene};
use arrow::datatypes::DataType;
use datafusion::common::{Result, ScalarValue, exec_err};
use datafusion::logical_expr::{
    ColumnarValue, ScalarFunctionArgs, ScalarUDF, ScalarUDFImpl, Signature, Volatility,
};

static FUNCTIONS: LazyLock<[Arc<ScalarUDF>; 2]> = LazyLock::new(|| {
    [true, false].map(|all| {
        Arc::new(ScalarUDF::from(Together {
            all,
            signature: Signature::variadic(vec![DataType::Boolean], Volatility::Immutable),
        }))
    })
});

/// `all_true`, or else `any_true`.
pub(super) fn function(all: bool) -> Arc<ScalarUDF> {
    Arc::clone(&FUNCTIONS[usize::from(!all)])
}

#[derive(Debug, PartialEq, Eq, Hash)]
struct Together {
    all: bool,
    signature: Signature,
}

impl ScalarUDFImpl for Together {
    fn name(&self) -> &str {
        if self.all { "all_true" } else { "any_true" }
    }

    fn signature(&self) -> &Signature {
        &self.signature
    }

    fn return_type(&self, _: &[DataType]) -> Result<DataType> {
        Ok(DataType::Boolean)
    }

    fn invoke_with_args(&self, arguments: ScalarFunctionArgs) -> Result<ColumnarValue> {
        let mut arrays: Vec<BooleanArray> = Vec::with_capacity(arguments.args.len());
        // What all conditions that are the same for every sample come to.
        let mut constant = Some(self.all);
        for argument in &arguments.args {
            match argument {
                ColumnarValue::Scalar(ScalarValue::Boolean(truth)) => {
                    constant = self.of_two(constant, *truth);
                }
                ColumnarValue::Array(array) if *array.data_type() == DataType::Boolean => {
                    arrays.push(array.as_boolean().clone());
                }
                other => {
                    return exec_err!(
                        "{} takes conditions, got {}",
                        self.name(),
                        other.data_type()
                    );
                }
            }
        }
        if arrays.is_empty() || constant == Some(!self.all) {
            return Ok(ColumnarValue::Scalar(ScalarValue::Boolean(constant)));
        }
        if constant.is_none() {
            arrays.push(BooleanArray::new_null(arguments.number_rows));
        }
        let mut arrays = arrays.into_iter();
        let Some(first) = arrays.next() else {
            return exec_err!("{} takes at least one condition", self.name());
        };
        let kernel = if self.all { and_kleene } else { or_kleene };
        let together = arrays.try_fold(first, |so_far, next| kernel(&so_far, &next))?;
        Ok(ColumnarValue::Array(Arc::new(together)))
    }
}

impl Together {
    fn of_two(&self, a: Option<bool>, b: Option<bool>) -> Option<bool> {
        let decided = Some(!self.all);
        if a == decided || b == decided {
            decided
        } else if a.is_none() || b.is_none() {
            None
        } else {
            Some(self.all)
        }
    }
}
