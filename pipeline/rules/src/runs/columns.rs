//! Between Arrow columns and the plain store: the only place where nulls become NaN and back.

use std::borrow::Cow;
use std::ops::Range;
use std::sync::Arc;

use arrow::array::{
    Array, ArrayRef, ArrowPrimitiveType, AsArray, Float32Array, Int8Array, Int32Array, ListArray,
    PrimitiveArray, StructArray,
};
use arrow::buffer::{NullBuffer, OffsetBuffer};
use arrow::datatypes::{DataType, Float32Type, Int8Type, Int32Type};

use super::error::RunsError;
use super::fragments::{End, EndSlot, Fragments, Head, ValueSlot, Width};
use super::layout::{END_FIELDS, Layout, RUN_HEAD, VALUE_HEAD, coding, list_item};
use super::samples::{AtEnds, Codes, Flags, Numbers, Samples, UNKNOWN};
use super::track::Canonical;

/// Views an array as one of primitives, or says what was found instead.
pub(super) fn primitive<T: ArrowPrimitiveType>(
    array: &dyn Array,
) -> Result<&PrimitiveArray<T>, RunsError> {
    array
        .as_primitive_opt::<T>()
        .ok_or_else(|| mismatch(T::DATA_TYPE, array))
}

pub(super) fn structure(array: &dyn Array) -> Result<&StructArray, RunsError> {
    array
        .as_struct_opt()
        .ok_or_else(|| mismatch("a struct", array))
}

pub(super) fn list(array: &dyn Array) -> Result<&ListArray, RunsError> {
    array
        .as_list_opt::<i32>()
        .ok_or_else(|| mismatch("a list of runs", array))
}

fn mismatch(expected: impl ToString, found: &dyn Array) -> RunsError {
    RunsError::Array {
        expected: expected.to_string(),
        found: found.data_type().to_string(),
    }
}

/// The samples of one `s` argument.
pub(super) fn samples<'a>(
    argument: &'a ArrayRef,
    layout: &Layout,
) -> Result<Samples<'a>, RunsError> {
    let argument = structure(argument)?;
    let outer = argument.nulls();
    let coding =
        coding(argument.fields()).map_err(|text| mismatch(format!("a code ({text})"), argument))?;
    let Width {
        values,
        ends,
        carried,
    } = layout.width();
    // The type of the result does not tell of carried values that have no extreme to go with: they may be there.
    let expected = coding + values + ends + carried;
    if argument.columns().len() < expected {
        return Err(mismatch(format!("{expected} fields"), argument));
    }
    let numbers = |range: Range<usize>| {
        argument.columns()[range]
            .iter()
            .map(|column| Ok(Numbers::new(primitive(column)?, outer)))
            .collect::<Result<Vec<_>, RunsError>>()
    };
    let first = argument.column(0);
    let codes = match first.as_boolean_opt() {
        Some(window) => {
            let flags = argument.columns()[1..coding].iter().map(|flag| {
                flag.as_boolean_opt()
                    .ok_or_else(|| mismatch("a flag", flag))
            });
            let flags = flags.collect::<Result<Vec<_>, _>>()?;
            Codes::Flags(Flags::new(window, &flags, outer))
        }
        None => Codes::Numbers(Cow::Owned(known_codes(primitive(first)?, outer))),
    };
    let ends_at = coding + values;
    let carried_at = ends_at + ends;
    Ok(Samples {
        codes,
        values: numbers(coding..ends_at)?,
        ends: argument.columns()[ends_at..carried_at]
            .iter()
            .map(|column| {
                AtEnds::new(column, outer)
                    .ok_or_else(|| mismatch("Float32, Int8 or Boolean", column))
            })
            .collect::<Result<_, _>>()?,
        carried: numbers(carried_at..carried_at + carried)?,
    })
}

/// Codes with [`UNKNOWN`] for null.
fn known_codes(codes: &Int8Array, outer: Option<&NullBuffer>) -> Vec<i16> {
    let raw = codes.values();
    match nulls_of(codes, outer) {
        None => raw.iter().map(|code| i16::from(*code)).collect(),
        Some(nulls) => {
            let mut known = vec![UNKNOWN; raw.len()];
            for (start, end) in nulls.valid_slices() {
                for row in start..end {
                    known[row] = i16::from(raw[row]);
                }
            }
            known
        }
    }
}

/// Numbers with NaN for null.
fn known_floats<'a>(array: &'a Float32Array, outer: Option<&NullBuffer>) -> Cow<'a, [f32]> {
    let raw = array.values();
    match nulls_of(array, outer) {
        None => Cow::Borrowed(&raw[..]),
        Some(nulls) => {
            let mut known = vec![f32::NAN; raw.len()];
            for (start, end) in nulls.valid_slices() {
                known[start..end].copy_from_slice(&raw[start..end]);
            }
            Cow::Owned(known)
        }
    }
}

/// The nulls of a field: its own and those of the struct around it.
fn nulls_of(array: &dyn Array, outer: Option<&NullBuffer>) -> Option<NullBuffer> {
    NullBuffer::union(array.nulls(), outer).filter(|nulls| nulls.null_count() > 0)
}

/// Writes canonical fragments as one list of runs a group.
pub(super) fn write(canonical: &Canonical, layout: &Layout) -> Result<ArrayRef, RunsError> {
    let fragments = &canonical.fragments;
    let total = fragments.heads.len();
    if i32::try_from(total).is_err() {
        return Err(RunsError::TooMany(total));
    }
    let offsets: Vec<i32> = std::iter::once(0)
        .chain(canonical.ends.iter().map(|end| *end as i32))
        .collect();
    let heads = &fragments.heads;
    let mut columns: Vec<ArrayRef> = vec![
        Arc::new(Int32Array::from_iter_values(
            heads.iter().map(|h| h.k_first),
        )),
        Arc::new(Int32Array::from_iter_values(heads.iter().map(|h| h.k_last))),
        Arc::new(
            heads
                .iter()
                .map(|h| i8::try_from(h.code).ok())
                .collect::<Int8Array>(),
        ),
    ];
    let width = fragments.width;
    for value in 0..width.values {
        let slots = || (0..total).map(move |at| at * width.values + value);
        let float = |of: fn(&ValueSlot) -> f32| -> ArrayRef {
            float_column(slots().map(|slot| of(&fragments.slots[slot])))
        };
        let sample = |of: fn(&ValueSlot) -> i32| -> ArrayRef {
            Arc::new(
                slots()
                    .map(|slot| &fragments.slots[slot])
                    .map(|slot| (slot.known > 0).then(|| of(slot)))
                    .collect::<Int32Array>(),
            )
        };
        columns.extend([
            float(|slot| slot.first),
            float(|slot| slot.last),
            float(|slot| slot.min),
            sample(|slot| slot.min_k),
            float(|slot| slot.max),
            sample(|slot| slot.max_k),
            Arc::new(Int32Array::from_iter_values(
                slots().map(|slot| fragments.slots[slot].known),
            )),
        ]);
        for end in [End::Min, End::Max] {
            for carried in 0..width.carried {
                columns.push(float_column(slots().map(|slot| {
                    fragments.at_extremes[fragments.carried_at(slot, end).start + carried]
                })));
            }
        }
    }
    for end in 0..width.ends {
        let slots = || (0..total).map(move |at| &fragments.ends[at * width.ends + end]);
        columns.push(float_column(slots().map(|slot| slot.first)));
        columns.push(float_column(slots().map(|slot| slot.last)));
    }
    let fields = layout.run_fields();
    let runs = StructArray::new(fields.clone(), columns, None);
    let offsets = OffsetBuffer::new(offsets.into());
    Ok(Arc::new(ListArray::new(
        list_item(fields),
        offsets,
        Arc::new(runs),
        None,
    )))
}

/// Numbers with null for NaN.
fn float_column(numbers: impl Iterator<Item = f32>) -> ArrayRef {
    Arc::new(
        numbers
            .map(|number| (!number.is_nan()).then_some(number))
            .collect::<Float32Array>(),
    )
}

/// Reads lists of runs back: the fragments of all rows, and for each row where its own begin and
/// end among them.
pub(super) fn read(
    column: &ArrayRef,
    layout: &Layout,
) -> Result<(Fragments, Vec<Range<usize>>), RunsError> {
    let column = list(column)?;
    let offsets = column.offsets();
    let base = offsets[0] as usize;
    let rows = (0..column.len())
        .map(|row| match column.is_null(row) {
            true => 0..0,
            false => offsets[row] as usize - base..offsets[row + 1] as usize - base,
        })
        .collect();
    let length = offsets[column.len()] as usize - base;
    let runs = column.values().slice(base, length);
    let runs = structure(&runs)?;
    let expected = layout.run_fields();
    if runs.columns().len() != expected.len() {
        return Err(mismatch(DataType::Struct(expected), runs));
    }
    let whole = |at: usize| primitive::<Int32Type>(runs.column(at));
    let float = |at: usize| {
        primitive::<Float32Type>(runs.column(at)).map(|array| known_floats(array, None))
    };
    let codes = known_codes(primitive::<Int8Type>(runs.column(2))?, None);
    let (k_first, k_last) = (whole(0)?.values(), whole(1)?.values());
    let width = layout.width();
    let Width {
        values,
        ends,
        carried,
    } = width;
    let mut fragments = Fragments::new(width);
    for ((k_first, k_last), code) in k_first.iter().zip(k_last).zip(&codes) {
        let at = fragments.open(*k_first, *code);
        fragments.heads[at] = Head {
            k_first: *k_first,
            k_last: *k_last,
            code: *code,
        };
    }
    for value in 0..values {
        let at = RUN_HEAD + value * (VALUE_HEAD + 2 * carried);
        let (first, last, min, max) = (float(at)?, float(at + 1)?, float(at + 2)?, float(at + 4)?);
        let (min_k, max_k, known) = (
            whole(at + 3)?.values(),
            whole(at + 5)?.values(),
            whole(at + 6)?.values(),
        );
        for run in 0..length {
            fragments.slots[run * values + value] = ValueSlot {
                first: first[run],
                last: last[run],
                min: min[run],
                max: max[run],
                min_k: min_k[run],
                max_k: max_k[run],
                known: known[run],
            };
        }
        for (block, end) in [End::Min, End::Max].into_iter().enumerate() {
            for c in 0..carried {
                let column = float(at + VALUE_HEAD + block * carried + c)?;
                for run in 0..length {
                    let to = fragments.carried_at(run * values + value, end).start + c;
                    fragments.at_extremes[to] = column[run];
                }
            }
        }
    }
    for end in 0..ends {
        let at = RUN_HEAD + values * (VALUE_HEAD + 2 * carried) + END_FIELDS * end;
        let (first, last) = (float(at)?, float(at + 1)?);
        for run in 0..length {
            fragments.ends[run * ends + end] = EndSlot {
                first: first[run],
                last: last[run],
            };
        }
    }
    Ok((fragments, rows))
}
