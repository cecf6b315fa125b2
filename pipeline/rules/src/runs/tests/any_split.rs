//! However samples are split, ordered, merged and sent about: the same rows, to the bit.

use std::collections::BTreeMap;

use arrow::array::RecordBatch;
use arrow::ipc::{reader::StreamReader, writer::StreamWriter};
use datafusion::logical_expr::{EmitTo, GroupsAccumulator};
use proptest::prelude::*;

use super::oracle::oracle;
use super::*;
use crate::runs::Decoder;

/// What one worker holds: its own numbering of the groups it has met.
struct Partition {
    groups: Vec<i64>,
    runs: RunsAccumulator,
}

/// One row a group, as sent from one worker to another.
struct State {
    groups: Vec<i64>,
    columns: Vec<ArrayRef>,
}

impl Partition {
    fn new() -> Self {
        Self {
            groups: vec![],
            runs: accumulator(),
        }
    }

    fn indices(&mut self, groups: impl Iterator<Item = i64>) -> Vec<usize> {
        groups
            .map(|group| {
                self.groups
                    .iter()
                    .position(|known| *known == group)
                    .unwrap_or_else(|| {
                        self.groups.push(group);
                        self.groups.len() - 1
                    })
            })
            .collect()
    }

    fn update(&mut self, samples: &[Sample], row_by_row_as_state: bool) {
        let indices = self.indices(samples.iter().map(|s| s.group));
        let arguments = arguments(samples);
        let groups = self.groups.len();
        if row_by_row_as_state {
            let state = self.runs.convert_to_state(&arguments, None).unwrap();
            self.runs.merge_batch(&state, &indices, groups).unwrap();
        } else {
            self.runs
                .update_batch(&arguments, &indices, None, groups)
                .unwrap();
        }
    }

    fn merge(&mut self, state: &State) {
        let indices = self.indices(state.groups.iter().copied());
        self.runs
            .merge_batch(&state.columns, &indices, self.groups.len())
            .unwrap();
    }

    fn state(mut self, through_ipc: bool) -> State {
        let columns = self.runs.state(EmitTo::All).unwrap();
        let columns = if through_ipc { sent(columns) } else { columns };
        State {
            groups: self.groups,
            columns,
        }
    }
}

/// The columns after a journey as an Arrow IPC stream.
fn sent(columns: Vec<ArrayRef>) -> Vec<ArrayRef> {
    let named = columns
        .into_iter()
        .enumerate()
        .map(|(i, column)| (format!("r{i}"), column));
    let batch = RecordBatch::try_from_iter(named).unwrap();
    let mut writer = StreamWriter::try_new(vec![], &batch.schema()).unwrap();
    writer.write(&batch).unwrap();
    let bytes = writer.into_inner().unwrap();
    let mut reader = StreamReader::try_new(&bytes[..], None).unwrap();
    reader.next().unwrap().unwrap().columns().to_vec()
}

/// How samples travel; each list is used over and over.
#[derive(Debug, Clone)]
struct Journey {
    samples: Vec<Sample>,
    batch_rows: Vec<usize>,
    partitions: Vec<usize>,
    as_state: Vec<bool>,
    merges: Vec<(usize, usize)>,
    through_ipc: Vec<bool>,
    emit_first: usize,
}

fn travel(journey: &Journey) -> BTreeMap<i64, Vec<Vec<Run>>> {
    let mut partitions: Vec<Partition> = (0..5).map(|_| Partition::new()).collect();
    let mut rest = &journey.samples[..];
    let mut batch = 0;
    while !rest.is_empty() {
        let rows = journey.batch_rows[batch % journey.batch_rows.len()].min(rest.len());
        let (now, later) = rest.split_at(rows);
        partitions[journey.partitions[batch % journey.partitions.len()]]
            .update(now, journey.as_state[batch % journey.as_state.len()]);
        rest = later;
        batch += 1;
    }
    let ipc = |step: usize| journey.through_ipc[step % journey.through_ipc.len()];
    let mut states: Vec<State> = partitions
        .into_iter()
        .enumerate()
        .map(|(i, p)| p.state(ipc(i)))
        .collect();
    for step in 0.. {
        if states.len() == 1 {
            break;
        }
        let (one, other) = journey.merges[step % journey.merges.len()];
        let one = states.remove(one % states.len());
        let other = states.remove(other % states.len());
        let mut merged = Partition::new();
        merged.merge(&one);
        merged.merge(&other);
        states.push(merged.state(ipc(step)));
    }
    let mut last = Partition::new();
    last.merge(&states[0]);
    let mut results = vec![];
    for emit_to in [
        EmitTo::First(journey.emit_first.min(last.groups.len())),
        EmitTo::All,
    ] {
        let decoder = Decoder::new(&last.runs.evaluate(emit_to).unwrap()).unwrap();
        results.extend((0..decoder.rows()).map(|row| decoder.row(row)));
    }
    last.groups.into_iter().zip(results).collect()
}

fn code() -> impl Strategy<Value = Option<i8>> {
    prop_oneof![6 => Just(Some(1)), 2 => Just(Some(0)), 1 => Just(Some(-5)), 1 => Just(None)]
}

/// Few different numbers, so that there are ties.
fn number() -> impl Strategy<Value = Option<f32>> {
    prop_oneof![
        2 => Just(None),
        4 => prop::sample::select(vec![0.0, -0.0, 1.0, 2.5, -7.125, f32::MAX, f32::INFINITY])
            .prop_map(Some),
        1 => any::<f32>().prop_map(|v| (!v.is_nan()).then_some(v)),
    ]
}

/// Up to 90 samples of up to three groups, mostly consecutive.
fn in_order() -> impl Strategy<Value = Vec<Sample>> {
    let gap = prop_oneof![12 => Just(1), 1 => 2..5i32];
    let one = (
        0..3i64,
        gap,
        [code(), code(), code()],
        number(),
        number(),
        number(),
        number(),
    );
    prop::collection::vec(one, 0..90).prop_map(|drawn| {
        let mut next = BTreeMap::new();
        drawn
            .into_iter()
            .map(|(group, gap, codes, a, b, x, y)| {
                let k = next.entry(group).or_insert(-3);
                *k += gap;
                Sample {
                    group,
                    k: *k,
                    codes,
                    a,
                    b,
                    x,
                    y,
                }
            })
            .collect()
    })
}

fn in_any_order() -> impl Strategy<Value = Vec<Sample>> {
    in_order().prop_flat_map(|samples| {
        let mut by_group = samples.clone();
        by_group.sort_by_key(|s| (s.group, s.k));
        prop_oneof![
            Just(by_group.clone()),
            Just(samples.clone()),
            Just(by_group.into_iter().rev().collect::<Vec<_>>()),
            Just(samples).prop_shuffle(),
        ]
    })
}

fn journey() -> impl Strategy<Value = Journey> {
    let some = 1..8usize;
    let batch_rows = prop_oneof![
        1 => Just(vec![1]),
        3 => prop::collection::vec(1..12usize, some.clone()),
        1 => Just(vec![1000]),
    ];
    // One partition; row by row over all of them; anything.
    let partitions = prop_oneof![
        1 => Just(vec![0]),
        2 => Just(vec![0, 1, 2, 3, 4]),
        3 => prop::collection::vec(0..5usize, some.clone()),
    ];
    (
        in_any_order(),
        batch_rows,
        partitions,
        prop::collection::vec(prop::bool::weighted(0.2), some.clone()),
        prop::collection::vec((0..5usize, 0..5usize), some.clone()),
        prop::collection::vec(any::<bool>(), some),
        0..4usize,
    )
        .prop_map(
            |(samples, batch_rows, partitions, as_state, merges, through_ipc, emit_first)| {
                Journey {
                    samples,
                    batch_rows,
                    partitions,
                    as_state,
                    merges,
                    through_ipc,
                    emit_first,
                }
            },
        )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, failure_persistence: None, ..Default::default() })]

    #[test]
    fn any_journey_gives_the_same_rows(journey in journey()) {
        let expected = oracle(&journey.samples);
        let found = travel(&journey);
        prop_assert_eq!(format!("{found:?}"), format!("{expected:?}"));
    }
}

#[test]
fn the_journeys_would_notice_a_lost_sample() {
    let samples = fleet(2, 30);
    let mut journey = Journey {
        samples: samples.clone(),
        batch_rows: vec![4, 1],
        partitions: vec![0, 3, 1],
        as_state: vec![false, true],
        merges: vec![(1, 0)],
        through_ipc: vec![true],
        emit_first: 1,
    };
    let expected = format!("{:?}", oracle(&samples));
    assert_eq!(format!("{:?}", travel(&journey)), expected);
    journey.samples.pop();
    assert_ne!(format!("{:?}", travel(&journey)), expected);
}
