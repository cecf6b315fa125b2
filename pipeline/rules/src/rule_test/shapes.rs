//! The same samples in many batches, partitions and neighbourhoods: none may change a verdict.

use std::sync::Arc;

use datafusion::arrow::array::{ArrayRef, Int64Array, RecordBatch, UInt32Array};
use datafusion::arrow::compute::take;
use datafusion::arrow::error::ArrowError;

/// One way of laying out the samples of a case.
pub(super) struct Layout {
    pub(super) name: &'static str,
    pub(super) partitions: Vec<Vec<RecordBatch>>,
    /// Whether a second approach lies among them.
    pub(super) with_other: bool,
}

pub(super) fn shapes(
    samples: &RecordBatch,
    key: i64,
    other: i64,
) -> Result<Vec<Layout>, ArrowError> {
    let n = samples.num_rows();
    let mut backwards: Vec<Vec<RecordBatch>> = vec![Vec::new(); 3];
    for row in (0..n).rev() {
        backwards[row % 3].push(samples.slice(row, 1));
    }
    let mut in_turns: Vec<Vec<RecordBatch>> = vec![Vec::new(); 2];
    for row in 0..n {
        in_turns[row % 2].push(samples.slice(row, 1));
    }
    let of_three = (0..n)
        .step_by(3)
        .map(|row| samples.slice(row, 3.min(n - row)));
    let half = n / 2;
    let halves = vec![
        vec![samples.slice(0, half)],
        vec![samples.slice(half, n - half)],
    ];
    let plain = |name, partitions| Layout {
        name,
        partitions,
        with_other: false,
    };
    debug_assert_ne!(key, other);
    Ok(vec![
        plain("as one batch", vec![vec![samples.clone()]]),
        plain("in batches of three", vec![of_three.collect()]),
        plain("row by row over three partitions", backwards),
        plain("cut in two", halves),
        plain("dealt out in turns", in_turns),
        Layout {
            name: "beside another approach",
            partitions: vec![beside(samples, other)?],
            with_other: true,
        },
    ])
}

/// Row by row in turns with another approach that is the same flown backwards.
fn beside(samples: &RecordBatch, other: i64) -> Result<Vec<RecordBatch>, ArrowError> {
    let n = samples.num_rows();
    let reversed: UInt32Array = (0..u32::try_from(n).unwrap_or(u32::MAX)).rev().collect();
    let schema = samples.schema();
    let columns: Result<Vec<ArrayRef>, ArrowError> = schema
        .fields()
        .iter()
        .zip(samples.columns())
        .map(|(field, column)| match field.name().as_str() {
            "approach_key" => Ok(Arc::new(Int64Array::from(vec![other; n])) as ArrayRef),
            "k" | "time_s" => Ok(column.clone()),
            _ => take(column, &reversed, None),
        })
        .collect();
    let neighbour = RecordBatch::try_new(schema, columns?)?;
    Ok((0..n)
        .flat_map(|row| [neighbour.slice(row, 1), samples.slice(row, 1)])
        .collect())
}
