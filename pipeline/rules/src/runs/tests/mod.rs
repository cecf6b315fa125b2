//! Samples to test with, as plain values and as the arrays that the aggregate takes.
//!
//! Three `s` arguments: `s0` tracks `a` and `b` and carries `x` and `y`, `s1` tracks `b`, `s2` has
//! a code only.

mod any_split;
mod core;
mod faults;
mod oracle;
mod query;
mod shell;
mod windows;

use std::sync::Arc;

use arrow::array::{
    Array, ArrayRef, Float32Array, Int8Array, Int32Array, Int64Array, RecordBatch, StructArray,
};
use arrow::buffer::NullBuffer;
use arrow::datatypes::DataType;

use super::layout::{Layout, result_type};
use super::{Run, RunsAccumulator};

/// One sample, as it is meant.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sample {
    pub(super) group: i64,
    pub(super) k: i32,
    pub(super) codes: [Option<i8>; 3],
    pub(super) a: Option<f32>,
    pub(super) b: Option<f32>,
    pub(super) x: Option<f32>,
    pub(super) y: Option<f32>,
}

/// A sample of group 0 with the same code for every `s` and nothing else known.
pub(super) fn sample(k: i32, code: Option<i8>, a: Option<f32>) -> Sample {
    Sample {
        group: 0,
        k,
        codes: [code; 3],
        a,
        b: None,
        x: None,
        y: None,
    }
}

fn names(of: &[&str]) -> Vec<String> {
    of.iter().map(|name| (*name).to_owned()).collect()
}

pub(super) fn layouts() -> Vec<Layout> {
    vec![
        Layout {
            values: names(&["a", "b"]),
            ends: vec![],
            carried: names(&["x", "y"]),
        },
        Layout {
            values: names(&["b"]),
            ends: vec![],
            carried: vec![],
        },
        Layout::default(),
    ]
}

pub(super) fn accumulator() -> RunsAccumulator {
    RunsAccumulator::new(&result_type(&layouts())).unwrap()
}

/// One column; where `k` is odd, what is unknown is presented as NaN instead of null.
fn floats(samples: &[Sample], of: fn(&Sample) -> Option<f32>) -> Float32Array {
    samples
        .iter()
        .map(|s| of(s).or((s.k % 2 == 1).then_some(f32::NAN)))
        .collect()
}

/// The arguments of a call. They are slices out of longer arrays, as arrays may be.
pub(super) fn arguments(samples: &[Sample]) -> Vec<ArrayRef> {
    let stray = Sample {
        x: Some(77.0),
        b: Some(-77.0),
        ..sample(-77, Some(77), Some(77.0))
    };
    let padded: Vec<Sample> = [stray]
        .iter()
        .chain(samples)
        .chain(&[stray, stray])
        .copied()
        .collect();
    let samples = &padded[..];
    let code = |i: usize| -> ArrayRef {
        Arc::new(samples.iter().map(|s| s.codes[i]).collect::<Int8Array>())
    };
    let float = |of| -> ArrayRef { Arc::new(floats(samples, of)) };
    let layouts = layouts();
    let structs = [
        vec![
            code(0),
            float(|s| s.a),
            float(|s| s.b),
            float(|s| s.x),
            float(|s| s.y),
        ],
        vec![code(1), float(|s| s.b)],
        // In the last one what is unknown is a null struct around a code that must not count.
        vec![Arc::new(
            samples
                .iter()
                .map(|s| s.codes[2].unwrap_or(1))
                .collect::<Int8Array>(),
        )],
    ];
    let mut arguments: Vec<ArrayRef> = vec![Arc::new(Int32Array::from_iter_values(
        samples.iter().map(|s| s.k),
    ))];
    for (i, (columns, layout)) in structs.into_iter().zip(&layouts).enumerate() {
        let nulls = (i == 2).then(|| {
            samples
                .iter()
                .map(|s| s.codes[2].is_some())
                .collect::<NullBuffer>()
        });
        arguments.push(Arc::new(StructArray::new(
            layout.argument_fields(),
            columns,
            nulls,
        )));
    }
    let length = padded.len() - 3;
    arguments
        .iter()
        .map(|array| array.slice(1, length))
        .collect()
}

/// The samples as a table: `approach_key`, `k`, `code0` to `code2`, `a`, `b`, `x`, `y`.
pub(super) fn table(samples: &[Sample]) -> RecordBatch {
    let code = |i: usize| -> ArrayRef {
        Arc::new(samples.iter().map(|s| s.codes[i]).collect::<Int8Array>())
    };
    let float = |of| -> ArrayRef { Arc::new(floats(samples, of)) };
    let keys: ArrayRef = Arc::new(Int64Array::from_iter_values(
        samples.iter().map(|s| s.group),
    ));
    let k: ArrayRef = Arc::new(Int32Array::from_iter_values(samples.iter().map(|s| s.k)));
    let nullable = true;
    RecordBatch::try_from_iter_with_nullable([
        ("approach_key", keys, false),
        ("k", k, false),
        ("code0", code(0), nullable),
        ("code1", code(1), nullable),
        ("code2", code(2), nullable),
        ("a", float(|s| s.a), nullable),
        ("b", float(|s| s.b), nullable),
        ("x", float(|s| s.x), nullable),
        ("y", float(|s| s.y), nullable),
    ])
    .unwrap()
}

/// A deterministic set of samples: runs of uneven length, gaps, nulls and ties.
pub(super) fn fleet(groups: i64, length: i32) -> Vec<Sample> {
    let mut state = 0x2545_f491_4f6c_dd1d_u64;
    let mut random = move |below: u64| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 33) % below
    };
    let mut samples = vec![];
    for group in 0..groups {
        let mut codes = [Some(0); 3];
        let mut k = 0;
        for _ in 0..length {
            for code in &mut codes {
                if random(5) == 0 {
                    *code = [None, Some(0), Some(1), Some(-2)][random(4) as usize];
                }
            }
            let mut number =
                || [None, Some(-0.0), Some(0.0), Some(1.5), Some(-3.25)][random(5) as usize];
            let (a, b, x, y) = (number(), number(), number(), number());
            samples.push(Sample {
                group,
                k,
                codes,
                a,
                b,
                x,
                y,
            });
            k += if random(12) == 0 { 2 } else { 1 };
        }
    }
    samples
}

/// Text that tells apart any two different results, to the bit (`-0.0` is not `0.0`).
pub(super) fn exact(runs: &[Vec<Run>]) -> String {
    format!("{runs:?}")
}

/// What one group's samples give when pushed as one batch.
pub(super) fn compress(samples: &[Sample]) -> Vec<Vec<Run>> {
    use datafusion::logical_expr::{EmitTo, GroupsAccumulator};
    let mut runs = accumulator();
    runs.update_batch(&arguments(samples), &vec![0; samples.len()], None, 1)
        .unwrap();
    let result = runs.evaluate(EmitTo::All).unwrap();
    assert!(matches!(result.data_type(), DataType::Struct(_)));
    super::decode(&result, 0).unwrap()
}
