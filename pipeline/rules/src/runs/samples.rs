//! The samples of one `s` argument in one batch, read where they lie: nothing is copied.
//!
//! Codes come as numbers, or as a window and flags. Flags stay the bitmaps that the engine made of them: where
//! a run ends is found 64 samples at a time.

use std::borrow::Cow;
use std::ops::Range;

use arrow::array::{Array, AsArray, BooleanArray, Float32Array};
use arrow::buffer::{BooleanBuffer, NullBuffer};
use arrow::datatypes::{Float32Type, Int8Type};

/// The code of samples whose code is null. Outside the range of any Int8.
pub(super) const UNKNOWN: i16 = i16::MIN;
/// The code of samples outside the window.
pub(super) const OUTSIDE: i16 = 0;
/// Bit of the window in a code of flags; the flags have those after it.
pub const WINDOW_BIT: i8 = 1;
/// Bit of flag number `flag`, from 0, in a code of flags.
pub const fn flag_bit(flag: usize) -> i8 {
    WINDOW_BIT << (flag + 1)
}
/// The code where it is not known whether a sample is in the window.
pub const UNSURE_CODE: i8 = 64;
/// Flags besides the window: their bits lie between that of the window and the code for unsure.
pub(super) const MOST_FLAGS: usize = 5;

/// The samples of one `s` argument in one batch.
pub(super) struct Samples<'a> {
    pub(super) codes: Codes<'a>,
    pub(super) values: Vec<Numbers<'a>>,
    pub(super) ends: Vec<AtEnds<'a>>,
    pub(super) carried: Vec<Numbers<'a>>,
}

/// What decides where runs end.
pub(super) enum Codes<'a> {
    /// One code a sample, with [`UNKNOWN`] for null.
    Numbers(Cow<'a, [i16]>),
    /// A window and flags.
    Flags(Flags),
}

impl Codes<'_> {
    /// The code at `start` and one past the last sample before `end` that has it too.
    pub(super) fn run(&self, start: usize, end: usize) -> (i16, usize) {
        match self {
            Self::Numbers(codes) => {
                let code = codes[start];
                let differs = codes[start..end].iter().position(|c| *c != code);
                (code, differs.map_or(end, |at| start + at))
            }
            Self::Flags(flags) => (flags.code(start), flags.change_after(start, end)),
        }
    }

    /// Whether values are followed along runs of this code: outside a window nothing is asked of them.
    pub(super) fn follows(&self, code: i16) -> bool {
        match self {
            Self::Numbers(_) => true,
            Self::Flags(_) => code != OUTSIDE && code != i16::from(UNSURE_CODE),
        }
    }
}

/// A window and flags as words of 64 samples, null being false.
pub(super) struct Flags {
    /// Words a flag.
    words: usize,
    /// The window, whether it is unknown, and each flag inside the window, one after the other.
    bits: Vec<u64>,
    /// Set where a sample's code is not that of the sample before it.
    changes: Vec<u64>,
}

impl Flags {
    /// `window` and `flags` are of the same length; samples that `outer` calls null are unsure.
    pub(super) fn new(
        window: &BooleanArray,
        flags: &[&BooleanArray],
        outer: Option<&NullBuffer>,
    ) -> Self {
        let length = window.len();
        let words = length.div_ceil(64);
        let mut bits = Vec::with_capacity(words * (2 + flags.len()));
        let known = NullBuffer::union(window.nulls(), outer).filter(|n| n.null_count() > 0);
        each_word(window.values(), |_, word| bits.push(word));
        match &known {
            None => bits.resize(2 * words, 0),
            Some(known) => each_word(known.inner(), |at, known| {
                bits[at] &= known;
                bits.push(!known);
            }),
        }
        for flag in flags {
            let from = bits.len();
            each_word(flag.values(), |_, word| bits.push(word));
            if let Some(nulls) = flag.nulls().filter(|nulls| nulls.null_count() > 0) {
                each_word(nulls.inner(), |at, known| bits[from + at] &= known);
            }
            for at in 0..words {
                bits[from + at] &= bits[at];
            }
        }
        let mut changes = vec![0; words];
        if words > 0 {
            for flag in bits.chunks_exact(words) {
                let mut before = 0;
                for (change, word) in changes.iter_mut().zip(flag) {
                    *change |= word ^ (word << 1 | before);
                    before = word >> 63;
                }
            }
        }
        Self {
            words,
            bits,
            changes,
        }
    }

    fn code(&self, row: usize) -> i16 {
        let (word, bit) = (row / 64, row % 64);
        let set = |flag: usize| (self.bits[flag * self.words + word] >> bit & 1) as i16;
        let mut code = set(0) + i16::from(UNSURE_CODE) * set(1);
        for flag in 2..self.bits.len() / self.words {
            code += set(flag) << (flag - 1);
        }
        code
    }

    /// The first row after `start` whose code is another, `end` at most.
    fn change_after(&self, start: usize, end: usize) -> usize {
        let from = start + 1;
        if from >= end {
            return end;
        }
        let mut at = from / 64;
        let mut word = self.changes[at] & (u64::MAX << (from % 64));
        while word == 0 {
            at += 1;
            if at * 64 >= end {
                return end;
            }
            word = self.changes[at];
        }
        (at * 64 + word.trailing_zeros() as usize).min(end)
    }
}

fn each_word(bits: &BooleanBuffer, mut take: impl FnMut(usize, u64)) {
    let words = bits.len().div_ceil(64);
    let chunks = bits.bit_chunks();
    for (at, word) in chunks.iter_padded().take(words).enumerate() {
        take(at, word);
    }
}

/// Numbers, states or flags of a batch of which single ones are asked for: a flag that is true is 1.
pub(super) struct AtEnds<'a> {
    values: EndValues<'a>,
    nulls: Option<NullBuffer>,
}

enum EndValues<'a> {
    Numbers(&'a [f32]),
    States(&'a [i8]),
    Flags(&'a BooleanBuffer),
}

impl<'a> AtEnds<'a> {
    /// None where an end value cannot be of this type.
    pub(super) fn new(array: &'a dyn Array, outer: Option<&NullBuffer>) -> Option<Self> {
        let values = if let Some(numbers) = array.as_primitive_opt::<Float32Type>() {
            EndValues::Numbers(numbers.values())
        } else if let Some(states) = array.as_primitive_opt::<Int8Type>() {
            EndValues::States(states.values())
        } else {
            EndValues::Flags(array.as_boolean_opt()?.values())
        };
        Some(Self {
            values,
            nulls: NullBuffer::union(array.nulls(), outer).filter(|n| n.null_count() > 0),
        })
    }

    /// NaN for null.
    pub(super) fn at(&self, row: usize) -> f32 {
        match (&self.nulls, &self.values) {
            (Some(nulls), _) if nulls.is_null(row) => f32::NAN,
            (_, EndValues::Numbers(numbers)) => numbers[row],
            (_, EndValues::States(states)) => f32::from(states[row]),
            (_, EndValues::Flags(flags)) => f32::from(u8::from(flags.value(row))),
        }
    }
}

/// Numbers of a batch; null is read as NaN.
pub(super) struct Numbers<'a> {
    values: &'a [f32],
    nulls: Option<NullBuffer>,
}

impl<'a> Numbers<'a> {
    pub(super) fn new(array: &'a Float32Array, outer: Option<&NullBuffer>) -> Self {
        Self {
            values: array.values(),
            nulls: NullBuffer::union(array.nulls(), outer).filter(|n| n.null_count() > 0),
        }
    }

    pub(super) fn at(&self, row: usize) -> f32 {
        match &self.nulls {
            Some(nulls) if nulls.is_null(row) => f32::NAN,
            _ => self.values[row],
        }
    }

    /// Some rows, in `scratch` where any of them is null.
    pub(super) fn rows<'s>(&'s self, rows: Range<usize>, scratch: &'s mut Vec<f32>) -> &'s [f32] {
        let values = &self.values[rows.clone()];
        let Some(nulls) = &self.nulls else {
            return values;
        };
        let known = nulls.slice(rows.start, rows.len());
        if known.null_count() == 0 {
            return values;
        }
        scratch.clear();
        scratch.resize(values.len(), f32::NAN);
        for (start, end) in known.valid_slices() {
            scratch[start..end].copy_from_slice(&values[start..end]);
        }
        scratch
    }
}
