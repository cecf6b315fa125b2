//! Fragments of runs in a flat store: no allocation per fragment, none per sample.
//!
//! NaN stands for null inside; Arrow sees real nulls (`columns.rs`). Nothing here knows groups or the
//! order in which samples come.

use std::ops::Range;

use super::samples::Samples;

/// Which samples a fragment spans, and their code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Head {
    pub(super) k_first: i32,
    pub(super) k_last: i32,
    pub(super) code: i16,
}

impl Head {
    /// True when samples from `k` with `code` continue this fragment.
    pub(super) fn continues(&self, k: i32, code: i16) -> bool {
        self.code == code && self.k_last.checked_add(1) == Some(k)
    }
}

/// What is kept of one tracked value; `min` to `max_k` mean something only if `known > 0`.
#[derive(Debug, Clone, Copy)]
pub(super) struct ValueSlot {
    pub(super) first: f32,
    pub(super) last: f32,
    pub(super) min: f32,
    pub(super) max: f32,
    pub(super) min_k: i32,
    pub(super) max_k: i32,
    pub(super) known: i32,
}

const EMPTY: ValueSlot = ValueSlot {
    first: f32::NAN,
    last: f32::NAN,
    min: f32::NAN,
    max: f32::NAN,
    min_k: 0,
    max_k: 0,
    known: 0,
};

/// Which of the two blocks of carried values of a slot.
#[derive(Debug, Clone, Copy)]
pub(super) enum End {
    Min,
    Max,
}

/// A number at the first sample of a run and at the last.
#[derive(Debug, Clone, Copy)]
pub(super) struct EndSlot {
    pub(super) first: f32,
    pub(super) last: f32,
}

const NOT_SEEN: EndSlot = EndSlot {
    first: f32::NAN,
    last: f32::NAN,
};

/// How many values of each kind a fragment has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Width {
    /// Values with their extremes.
    pub(super) values: usize,
    /// Values of which only the ends are kept.
    pub(super) ends: usize,
    /// Values carried to an extreme.
    pub(super) carried: usize,
}

/// Fragments of one `s` argument, of all groups, in the order in which they were begun.
#[derive(Debug, Clone)]
pub(super) struct Fragments {
    pub(super) width: Width,
    pub(super) heads: Vec<Head>,
    /// `width.values` slots a fragment.
    pub(super) slots: Vec<ValueSlot>,
    /// `width.ends` slots a fragment.
    pub(super) ends: Vec<EndSlot>,
    /// For each slot, `width.carried` values at the min, then as many at the max.
    pub(super) at_extremes: Vec<f32>,
    /// Numbers of which some are null, for the time of one look at them.
    scratch: Vec<f32>,
}

impl Fragments {
    pub(super) fn new(width: Width) -> Self {
        Self {
            width,
            heads: vec![],
            slots: vec![],
            ends: vec![],
            at_extremes: vec![],
            scratch: vec![],
        }
    }

    /// Bytes allocated.
    pub(super) fn size(&self) -> usize {
        self.heads.capacity() * size_of::<Head>()
            + self.slots.capacity() * size_of::<ValueSlot>()
            + self.ends.capacity() * size_of::<EndSlot>()
            + (self.at_extremes.capacity() + self.scratch.capacity()) * size_of::<f32>()
    }

    /// Where the carried values of slot `slot` at `end` lie.
    pub(super) fn carried_at(&self, slot: usize, end: End) -> Range<usize> {
        let start = (2 * slot + end as usize) * self.width.carried;
        start..start + self.width.carried
    }

    /// Begins a fragment at sample `k`, with nothing absorbed yet.
    pub(super) fn open(&mut self, k: i32, code: i16) -> usize {
        let at = self.heads.len();
        self.heads.push(Head {
            k_first: k,
            k_last: k,
            code,
        });
        self.slots
            .resize(self.slots.len() + self.width.values, EMPTY);
        self.ends
            .resize(self.ends.len() + self.width.ends, NOT_SEEN);
        let carried = 2 * self.width.values * self.width.carried;
        self.at_extremes
            .resize(self.at_extremes.len() + carried, f32::NAN);
        at
    }

    /// Takes `rows` of a batch into fragment `at`; they are consecutive samples from `k_first`.
    pub(super) fn absorb(
        &mut self,
        at: usize,
        k_first: i32,
        samples: &Samples<'_>,
        rows: Range<usize>,
    ) {
        self.heads[at].k_last = k_of(k_first, rows.len() - 1);
        if !samples.codes.follows(self.heads[at].code) {
            return;
        }
        let opened_here = self.heads[at].k_first == k_first;
        let (first, last) = (rows.start, rows.end - 1);
        for (end, column) in samples.ends.iter().enumerate() {
            let slot = &mut self.ends[at * self.width.ends + end];
            if opened_here {
                slot.first = column.at(first);
            }
            slot.last = column.at(last);
        }
        let mut scratch = std::mem::take(&mut self.scratch);
        for (value, column) in samples.values.iter().enumerate() {
            let at_slot = at * self.width.values + value;
            let column = column.rows(rows.clone(), &mut scratch);
            self.range(at_slot, k_first, opened_here, column, samples, rows.start);
        }
        self.scratch = scratch;
    }

    /// Takes the numbers of one value, which begin at `row` of the batch.
    fn range(
        &mut self,
        at_slot: usize,
        k_first: i32,
        opened_here: bool,
        column: &[f32],
        samples: &Samples<'_>,
        row: usize,
    ) {
        let slot = &mut self.slots[at_slot];
        if opened_here {
            slot.first = column[0];
        }
        slot.last = column[column.len() - 1];
        let Some(range) = Range32::of(column) else {
            return;
        };
        let (take_min, take_max) = (
            slot.known == 0 || range.min < slot.min,
            slot.known == 0 || range.max > slot.max,
        );
        slot.known = slot.known.saturating_add(range.known);
        // Only an improvement is worth looking up where it lies.
        if take_min && let Some(at) = column.iter().position(|v| *v == range.min) {
            (slot.min, slot.min_k) = (column[at], k_of(k_first, at));
            self.carry(at_slot, End::Min, samples, row + at);
        }
        let slot = &mut self.slots[at_slot];
        if take_max && let Some(at) = column.iter().position(|v| *v == range.max) {
            (slot.max, slot.max_k) = (column[at], k_of(k_first, at));
            self.carry(at_slot, End::Max, samples, row + at);
        }
    }

    fn carry(&mut self, slot: usize, end: End, samples: &Samples<'_>, row: usize) {
        let range = self.carried_at(slot, end);
        for (kept, column) in self.at_extremes[range].iter_mut().zip(&samples.carried) {
            *kept = column.at(row);
        }
    }

    /// Appends a copy of fragment `from` of `other`.
    pub(super) fn copy(&mut self, other: &Fragments, from: usize) -> usize {
        let at = self.heads.len();
        self.heads.push(other.heads[from]);
        let Width {
            values,
            ends,
            carried,
        } = self.width;
        self.slots
            .extend_from_slice(&other.slots[from * values..(from + 1) * values]);
        self.ends
            .extend_from_slice(&other.ends[from * ends..(from + 1) * ends]);
        let width = 2 * values * carried;
        self.at_extremes
            .extend_from_slice(&other.at_extremes[from * width..(from + 1) * width]);
        at
    }

    /// Joins fragment `from` of `other`, which begins right after fragment `at` ends, to `at`.
    pub(super) fn join(&mut self, at: usize, other: &Fragments, from: usize) {
        self.heads[at].k_last = other.heads[from].k_last;
        let Width { values, ends, .. } = self.width;
        for end in 0..ends {
            self.ends[at * ends + end].last = other.ends[from * ends + end].last;
        }
        for value in 0..values {
            let (at_slot, from_slot) = (at * values + value, from * values + value);
            let later = other.slots[from_slot];
            let slot = &mut self.slots[at_slot];
            slot.last = later.last;
            if later.known == 0 {
                continue;
            }
            // Strictly: among equals the earlier sample, which is ours, stays.
            let take_min = slot.known == 0 || later.min < slot.min;
            let take_max = slot.known == 0 || later.max > slot.max;
            slot.known = slot.known.saturating_add(later.known);
            if take_min {
                (slot.min, slot.min_k) = (later.min, later.min_k);
            }
            if take_max {
                (slot.max, slot.max_k) = (later.max, later.max_k);
            }
            for (take, end) in [(take_min, End::Min), (take_max, End::Max)] {
                if take {
                    let (to, from) = (
                        self.carried_at(at_slot, end),
                        other.carried_at(from_slot, end),
                    );
                    self.at_extremes[to].copy_from_slice(&other.at_extremes[from]);
                }
            }
        }
    }
}

/// Sample number `offset` after `k`; spans guarantee that it exists.
fn k_of(k: i32, offset: usize) -> i32 {
    k.wrapping_add(offset as i32)
}

/// Least and greatest of some numbers, and how many are known.
struct Range32 {
    min: f32,
    max: f32,
    known: i32,
}

impl Range32 {
    /// `None` when all are NaN. In lanes, so that the compiler can use wide instructions.
    fn of(numbers: &[f32]) -> Option<Self> {
        const LANES: usize = 8;
        let mut min = [f32::INFINITY; LANES];
        let mut max = [f32::NEG_INFINITY; LANES];
        let mut known = [0i32; LANES];
        let mut take = |lane: usize, v: f32| {
            // NaN compares false and so is passed over.
            min[lane] = if v < min[lane] { v } else { min[lane] };
            max[lane] = if v > max[lane] { v } else { max[lane] };
            known[lane] += i32::from(!v.is_nan());
        };
        let (chunks, rest) = numbers.as_chunks::<LANES>();
        for chunk in chunks {
            for (lane, v) in chunk.iter().enumerate() {
                take(lane, *v);
            }
        }
        for (lane, v) in rest.iter().enumerate() {
            take(lane, *v);
        }
        let known = known.iter().sum();
        (known > 0).then(|| Self {
            min: min
                .iter()
                .fold(f32::INFINITY, |a, b| if *b < a { *b } else { a }),
            max: max
                .iter()
                .fold(f32::NEG_INFINITY, |a, b| if *b > a { *b } else { a }),
            known,
        })
    }
}
