//! A number without its sign.

use std::sync::{Arc, LazyLock};

use arrow::array::AsArray;
use arrow::datatypes::{DataType, Float32Type};
use datafusion::common::{Result, ScalarValue, exec_err};
use datafusion::logical_expr::{
    ColumnarValue, Expr, ScalarFunctionArgs, ScalarUDF, ScalarUDFImpl, Signature, Volatility,
};

static FUNCTION: LazyLock<Arc<ScalarUDF>> = LazyLock::new(|| {
    Arc::new(ScalarUDF::from(Magnitude {
        signature: Signature::exact(vec![DataType::Float32], Volatility::Immutable),
    }))
});

pub(super) fn function() -> Arc<ScalarUDF> {
    Arc::clone(&FUNCTION)
}

/// A Float32 without its sign. The engine's own is in a feature that brings dozens of functions with it.
pub(crate) fn magnitude(number: Expr) -> Expr {
    FUNCTION.call(vec![number])
}

#[derive(Debug, PartialEq, Eq, Hash)]
struct Magnitude {
    signature: Signature,
}

impl ScalarUDFImpl for Magnitude {
    fn name(&self) -> &str {
        "magnitude"
    }

    fn signature(&self) -> &Signature {
        &self.signature
    }

    fn return_type(&self, _: &[DataType]) -> Result<DataType> {
        Ok(DataType::Float32)
    }

    fn invoke_with_args(&self, arguments: ScalarFunctionArgs) -> Result<ColumnarValue> {
        match arguments.args.as_slice() {
            [ColumnarValue::Scalar(ScalarValue::Float32(number))] => Ok(ColumnarValue::Scalar(
                ScalarValue::Float32(number.map(f32::abs)),
            )),
            [ColumnarValue::Array(array)] if *array.data_type() == DataType::Float32 => {
                let numbers = array.as_primitive::<Float32Type>();
                let magnitudes = numbers.unary::<_, Float32Type>(f32::abs);
                Ok(ColumnarValue::Array(Arc::new(magnitudes)))
            }
            _ => exec_err!("magnitude takes one Float32"),
        }
    }
}
