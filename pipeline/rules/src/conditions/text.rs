//! Whether a text is a certain one, told by the numbers of a dictionary.

use std::sync::{Arc, LazyLock};

use arrow::array::{Array, ArrayRef, AsArray, BooleanArray, StringArray};
use arrow::buffer::BooleanBuffer;
use arrow::compute::cast;
use arrow::datatypes::{DataType, Int32Type};
use datafusion::common::{Result, ScalarValue, exec_err};
use datafusion::logical_expr::{
    ColumnarValue, ScalarFunctionArgs, ScalarUDF, ScalarUDFImpl, Signature, Volatility,
};

static FUNCTION: LazyLock<Arc<ScalarUDF>> = LazyLock::new(|| {
    Arc::new(ScalarUDF::from(TextIs {
        signature: Signature::any(2, Volatility::Immutable),
    }))
});

pub(super) fn function() -> Arc<ScalarUDF> {
    Arc::clone(&FUNCTION)
}

#[derive(Debug, PartialEq, Eq, Hash)]
struct TextIs {
    signature: Signature,
}

impl ScalarUDFImpl for TextIs {
    fn name(&self) -> &str {
        "text_is"
    }

    fn signature(&self) -> &Signature {
        &self.signature
    }

    fn return_type(&self, _: &[DataType]) -> Result<DataType> {
        Ok(DataType::Boolean)
    }

    fn invoke_with_args(&self, arguments: ScalarFunctionArgs) -> Result<ColumnarValue> {
        let [texts, ColumnarValue::Scalar(wanted)] = arguments.args.as_slice() else {
            return exec_err!("text_is takes texts and one text");
        };
        let (ColumnarValue::Array(texts), Some(Some(wanted))) = (texts, wanted.try_as_str()) else {
            let same = match texts {
                ColumnarValue::Scalar(text) if !text.is_null() && !wanted.is_null() => {
                    Some(text.try_as_str() == wanted.try_as_str())
                }
                _ => None,
            };
            return Ok(ColumnarValue::Scalar(ScalarValue::Boolean(same)));
        };
        Ok(ColumnarValue::Array(Arc::new(text_is(texts, wanted)?)))
    }
}

fn text_is(texts: &ArrayRef, wanted: &str) -> Result<BooleanArray> {
    let numbered = DataType::Dictionary(Box::new(DataType::Int32), Box::new(DataType::Utf8));
    let texts = if *texts.data_type() == numbered {
        Arc::clone(texts)
    } else {
        cast(texts, &numbered)?
    };
    let texts = texts.as_dictionary::<Int32Type>();
    let words: &StringArray = texts.values().as_string();
    let is: Vec<bool> = words.iter().map(|word| word == Some(wanted)).collect();
    let nulls = texts.logical_nulls();
    let rows = texts.len();
    let bits = match is.as_slice() {
        // Most columns of an approach say one thing throughout.
        [only] if *only => BooleanBuffer::new_set(rows),
        is if !is.contains(&true) => BooleanBuffer::new_unset(rows),
        is => {
            let keys = texts.keys().values();
            BooleanBuffer::collect_bool(rows, |row| {
                usize::try_from(keys[row]).is_ok_and(|key| is.get(key).is_some_and(|is| *is))
            })
        }
    };
    Ok(BooleanArray::new(bits, nulls))
}
