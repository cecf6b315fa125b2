//! Two numbers compared, 64 samples to a word.

use std::array;
use std::sync::{Arc, LazyLock};

use arrow::array::{Array, AsArray, BooleanArray, Float32Array};
use arrow::buffer::{BooleanBuffer, Buffer, NullBuffer};
use arrow::datatypes::{DataType, Float32Type};
use datafusion::common::{Result, ScalarValue, exec_err};
use datafusion::logical_expr::{
    ColumnarValue, Operator, ScalarFunctionArgs, ScalarUDF, ScalarUDFImpl, Signature, Volatility,
};

/// The six comparisons.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Comparison {
    /// `=`
    Equal,
    /// `<>`
    Unequal,
    /// `<`
    Less,
    /// `<=`
    LessOrEqual,
    /// `>`
    Greater,
    /// `>=`
    GreaterOrEqual,
}

impl Comparison {
    /// All of them.
    pub(crate) const ALL: [Self; 6] = [
        Self::Equal,
        Self::Unequal,
        Self::Less,
        Self::LessOrEqual,
        Self::Greater,
        Self::GreaterOrEqual,
    ];

    /// The engine's own.
    pub(super) fn operator(self) -> Operator {
        match self {
            Self::Equal => Operator::Eq,
            Self::Unequal => Operator::NotEq,
            Self::Less => Operator::Lt,
            Self::LessOrEqual => Operator::LtEq,
            Self::Greater => Operator::Gt,
            Self::GreaterOrEqual => Operator::GtEq,
        }
    }

    fn name(self) -> &'static str {
        match self {
            Self::Equal => "number_equal",
            Self::Unequal => "number_unequal",
            Self::Less => "number_less",
            Self::LessOrEqual => "number_at_most",
            Self::Greater => "number_greater",
            Self::GreaterOrEqual => "number_at_least",
        }
    }
}

static FUNCTIONS: LazyLock<[Arc<ScalarUDF>; 6]> = LazyLock::new(|| {
    Comparison::ALL.map(|comparison| {
        Arc::new(ScalarUDF::from(Compare {
            comparison,
            signature: Signature::exact(
                vec![DataType::Float32, DataType::Float32],
                Volatility::Immutable,
            ),
        }))
    })
});

/// The function of one comparison.
pub(super) fn function(comparison: Comparison) -> Arc<ScalarUDF> {
    Arc::clone(&FUNCTIONS[comparison as usize])
}

#[derive(Debug, PartialEq, Eq, Hash)]
struct Compare {
    comparison: Comparison,
    signature: Signature,
}

impl ScalarUDFImpl for Compare {
    fn name(&self) -> &str {
        self.comparison.name()
    }

    fn signature(&self) -> &Signature {
        &self.signature
    }

    fn return_type(&self, _: &[DataType]) -> Result<DataType> {
        Ok(DataType::Boolean)
    }

    fn invoke_with_args(&self, arguments: ScalarFunctionArgs) -> Result<ColumnarValue> {
        let rows = arguments.number_rows;
        let [left, right] = arguments.args.as_slice() else {
            return exec_err!("{} takes two numbers", self.name());
        };
        let (left, right) = (Side::new(left)?, Side::new(right)?);
        let compared = match self.comparison {
            Comparison::Equal => compared(&left, &right, rows, |a, b| a == b),
            Comparison::Unequal => compared(&left, &right, rows, |a, b| a != b),
            Comparison::Less => compared(&left, &right, rows, |a, b| a < b),
            Comparison::LessOrEqual => compared(&left, &right, rows, |a, b| a <= b),
            Comparison::Greater => compared(&left, &right, rows, |a, b| a > b),
            Comparison::GreaterOrEqual => compared(&left, &right, rows, |a, b| a >= b),
        };
        if let (Side::One(_), Side::One(_)) = (&left, &right) {
            let only = ScalarValue::try_from_array(&compared, 0)?;
            return Ok(ColumnarValue::Scalar(only));
        }
        Ok(ColumnarValue::Array(Arc::new(compared)))
    }
}

/// One side of a comparison.
enum Side {
    One(Option<f32>),
    Many(Float32Array),
}

impl Side {
    fn new(value: &ColumnarValue) -> Result<Self> {
        match value {
            ColumnarValue::Scalar(ScalarValue::Float32(number)) => Ok(Self::One(*number)),
            ColumnarValue::Array(array) if *array.data_type() == DataType::Float32 => {
                Ok(Self::Many(array.as_primitive::<Float32Type>().clone()))
            }
            other => exec_err!("expected Float32, got {}", other.data_type()),
        }
    }
}

/// `compare` of both sides, unknown where a side is; of two single numbers, one row.
fn compared(
    left: &Side,
    right: &Side,
    rows: usize,
    compare: impl Fn(f32, f32) -> bool,
) -> BooleanArray {
    match (left, right) {
        (Side::One(Some(left)), Side::One(Some(right))) => {
            let known = !left.is_nan() && !right.is_nan();
            BooleanArray::from(vec![known.then(|| compare(*left, *right))])
        }
        (Side::Many(left), Side::One(Some(right))) if !right.is_nan() => {
            let right = *right;
            let packed = pack(left.values(), |a| compare(a, right));
            packed.known(left.nulls().cloned(), || nan(left))
        }
        (Side::One(Some(left)), Side::Many(right)) if !left.is_nan() => {
            let left = *left;
            let packed = pack(right.values(), |b| compare(left, b));
            packed.known(right.nulls().cloned(), || nan(right))
        }
        (Side::Many(left), Side::Many(right)) => {
            let packed = pack_two(left.values(), right.values(), compare);
            let nulls = NullBuffer::union(left.nulls(), right.nulls());
            packed.known(nulls, || &nan(left) | &nan(right))
        }
        _ => BooleanArray::new_null(rows.max(1)),
    }
}

/// Answers, and whether a number among them was NaN.
struct Packed {
    bits: BooleanBuffer,
    some_nan: bool,
}

impl Packed {
    /// With what is null or NaN unknown.
    fn known(self, nulls: Option<NullBuffer>, nan: impl FnOnce() -> BooleanBuffer) -> BooleanArray {
        if !self.some_nan {
            return BooleanArray::new(self.bits, nulls);
        }
        let numbers = NullBuffer::new(!&nan());
        BooleanArray::new(self.bits, NullBuffer::union(nulls.as_ref(), Some(&numbers)))
    }
}

fn nan(array: &Float32Array) -> BooleanBuffer {
    let values = array.values();
    BooleanBuffer::collect_bool(values.len(), |row| values[row].is_nan())
}

const WORD: usize = 64;

/// `is` of every number, a word at a time.
///
/// The loops run over arrays of a fixed size and do one thing each: only so does the compiler turn them into
/// instructions for many numbers at once.
fn pack(values: &[f32], is: impl Fn(f32) -> bool) -> Packed {
    let mut packer = Packer::new(values.len());
    let mut word = |values: &[f32; WORD]| {
        packer.push(values.map(|value| u8::from(is(value))), nan_in(values));
    };
    let (whole, rest) = values.as_chunks();
    whole.iter().for_each(&mut word);
    if !rest.is_empty() {
        word(&padded(rest));
    }
    packer.end(values.len())
}

fn pack_two(left: &[f32], right: &[f32], is: impl Fn(f32, f32) -> bool) -> Packed {
    let mut packer = Packer::new(left.len());
    let mut word = |left: &[f32; WORD], right: &[f32; WORD]| {
        let answers = array::from_fn(|at| u8::from(is(left[at], right[at])));
        packer.push(answers, nan_in(left) | nan_in(right));
    };
    let ((whole, rest), (other, other_rest)) = (left.as_chunks(), right.as_chunks());
    whole.iter().zip(other).for_each(|(a, b)| word(a, b));
    if !rest.is_empty() {
        word(&padded(rest), &padded(other_rest));
    }
    packer.end(left.len())
}

fn nan_in(values: &[f32; WORD]) -> bool {
    values
        .iter()
        .fold(false, |some, value| some | value.is_nan())
}

fn padded(rest: &[f32]) -> [f32; WORD] {
    let mut values = [0.0; WORD];
    values[..rest.len()].copy_from_slice(rest);
    values
}

/// Words under way.
struct Packer {
    words: Vec<u64>,
    some_nan: bool,
}

impl Packer {
    fn new(rows: usize) -> Self {
        Self {
            words: Vec::with_capacity(rows.div_ceil(WORD)),
            some_nan: false,
        }
    }

    fn push(&mut self, answers: [u8; WORD], some_nan: bool) {
        self.words.push(bits(&answers));
        self.some_nan |= some_nan;
    }

    fn end(self, rows: usize) -> Packed {
        Packed {
            bits: BooleanBuffer::new(Buffer::from_vec(self.words), 0, rows),
            some_nan: self.some_nan,
        }
    }
}

/// One bit for each byte, which is 0 or 1, the first one lowest.
fn bits(bytes: &[u8; WORD]) -> u64 {
    // The product's highest byte gathers bit 0 of eight bytes: byte i is moved by 56 - 7 i, and no two of the
    // moved bits meet.
    const GATHER: u64 = 0x0102_0408_1020_4080;
    let (eights, _) = bytes.as_chunks::<8>();
    let mut word = 0;
    for (at, eight) in eights.iter().enumerate() {
        word |= (u64::from_le_bytes(*eight).wrapping_mul(GATHER) >> 56) << (8 * at);
    }
    // The first sample is the lowest bit of a word whose bytes lie in the order of memory.
    word.to_le()
}
